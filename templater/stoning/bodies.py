"""Stones of any shape as bodies: their place, turn and true outline. Imported late."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

import numpy as np
import shapely

from templater.geometry.stone_outlines import stone_outline, turned_outline
from templater.model.curves import Point, Ring
from templater.model.stones import Obstacle, Size

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

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

    @property
    def shape(self) -> BaseGeometry:
        """The outline as a polygon, or the centre of a round as a point."""
        if self.size.is_round:
            return shapely.Point(self.at)
        angle = math.radians(self.turn_deg)
        c, s = math.cos(angle), math.sin(angle)
        turned = _corners(self.size) @ np.array([[c, s], [-s, c]]) + np.array(self.at)
        return shapely.polygons(turned)

    def gap_to(self, other: Body) -> float:
        """Distance in mm between the two true shapes; 0 where shaped ones overlap."""
        apart = math.dist(self.at, other.at)
        if self.size.is_round and other.size.is_round:
            return apart - self.radius_mm - other.radius_mm
        return float(self.shape.distance(other.shape)) - self.radius_mm - other.radius_mm

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


@cache
def _corners(size: Size) -> NDArray[np.float64]:
    ring = _outline(size, _FINE_MM)
    return np.array([*ring, ring[0]])
