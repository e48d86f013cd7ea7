"""Stones of any shape as bodies: their place, turn and true outline. Imported late."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

from templater.geometry.clearance import convex_gap
from templater.geometry.stone_outlines import stone_outline, turned_outline
from templater.model.curves import Point, Ring
from templater.model.stones import Obstacle, Size

_FINE_MM = 0.002
_COARSE_MM = 0.01


@dataclass(frozen=True, slots=True)
class Body:
    """A stone at a place; rounds are their centre and a radius, others a convex outline."""

    at: Point
    turn_deg: float
    size: Size

    @property
    def ring(self) -> Ring:
        if self.size.is_round:
            return (self.at,)
        return turned_outline(_outline(self.size, _FINE_MM), self.at, self.turn_deg)

    @property
    def radius_mm(self) -> float:
        return self.size.width_mm / 2.0 if self.size.is_round else 0.0

    def gap_to(self, other: Body) -> float:
        """Distance in mm between the two true shapes; 0 where shaped ones overlap."""
        if self.size.is_round and other.size.is_round:
            return math.dist(self.at, other.at) - self.radius_mm - other.radius_mm
        reach = (self.size.length_mm + other.size.length_mm) / 2.0
        if math.dist(self.at, other.at) > 4.0 * reach:
            return math.dist(self.at, other.at) - 1.5 * reach
        return convex_gap(self.ring, other.ring) - self.radius_mm - other.radius_mm

    def reach(self, towards_deg: float) -> float:
        """How far it reaches from its place in a direction."""
        if self.size.is_round:
            return self.radius_mm
        angle = math.radians(towards_deg)
        c, s = math.cos(angle), math.sin(angle)
        return max((x - self.at[0]) * c + (y - self.at[1]) * s for x, y in self.ring)

    def obstacle(self, gap_mm: float) -> Obstacle:
        """What fills flow around."""
        if self.size.is_round:
            return Obstacle((self.at,), self.radius_mm, gap_mm)
        ring = turned_outline(_outline(self.size, _COARSE_MM), self.at, self.turn_deg)
        return Obstacle(ring, 0.0, gap_mm)


@cache
def _outline(size: Size, tolerance_mm: float) -> Ring:
    return stone_outline(size.shape, size.length_mm, size.width_mm, tolerance_mm)
