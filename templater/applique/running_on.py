"""Where a turned edge meets a zone above: its allowance runs on beneath that zone by the underlap.

Folded under along the edge, what runs on lies on its own mirror image, so it need not be covered as
it is cut: the fold and the mirror image must be. Imports shapely inside functions.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from templater.applique.unfold import EdgeRing, rings_area
from templater.geometry.polygons import polyline, sound, to_polygon, united, without
from templater.geometry.smooth import end_direction, start_direction
from templater.model.curves import Area, Point
from templater.model.ground import Edge, EdgeKind

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

_SPARE_MM2 = 0.05
_SHARPEST_SINE = 0.5
"""At corners that turn by less than 30° or more than 150° the fold would run on by two underlaps and
more."""
_BEYOND_MM = 1.0
"""So far beyond the end of an underlap, which may be curved; it ends where it does."""


@dataclass(frozen=True, slots=True)
class _Meeting:
    """A convex corner between a turned edge and an underlap. `fold` is the direction in which the
    turned edge would run on, `lap` that of the other edge away from the corner.
    """

    at: Point
    fold: Point
    lap: Point
    out: Point
    turned_mm: float
    lap_mm: float

    @property
    def sine(self) -> float:
        return -(self.out[0] * self.lap[0] + self.out[1] * self.lap[1])

    @property
    def cosine(self) -> float:
        return self.fold[0] * self.lap[0] + self.fold[1] * self.lap[1]

    @property
    def fold_mm(self) -> float:
        """How far the fold runs on to the end of the underlap."""
        return self.lap_mm / self.sine

    @property
    def tip_mm(self) -> float:
        """How far along the fold both cut lines cross."""
        return (self.lap_mm - self.turned_mm * self.cosine) / self.sine

    def is_plain(self, mitre_limit: float) -> bool:
        """Whether both cut lines run on to a mitre between them that is not trimmed."""
        if self.sine < _SHARPEST_SINE or self.tip_mm < 0.0:
            return False
        far_mm = math.hypot(self.tip_mm, self.turned_mm)
        mean_mm = (self.turned_mm + self.lap_mm) / 2.0
        return self.lap_mm * self.cosine <= self.turned_mm and far_mm <= mitre_limit * mean_mm

    def place(self, ahead_mm: float, beyond_mm: float) -> Point:
        """So far along the fold and so far outside it."""
        return (
            self.at[0] + ahead_mm * self.fold[0] + beyond_mm * self.out[0],
            self.at[1] + ahead_mm * self.fold[1] + beyond_mm * self.out[1],
        )

    def corner(self, side: float) -> Area:
        """What runs on beyond the fold (side 1), or its mirror image (side -1)."""
        ends = (self.tip_mm + _BEYOND_MM, self.fold_mm + _BEYOND_MM)
        wide_mm = side * self.turned_mm
        places = ((0.0, 0.0), (0.0, wide_mm), (ends[0], wide_mm), (ends[1], 0.0))
        return Area(polyline([self.place(*each) for each in places], closed=True))


def running_on(
    rings: Sequence[EdgeRing],
    covers: Sequence[Area],
    mitre_limit: float,
    tolerance_mm: float,
    back_mm: float,
) -> tuple[Area, ...]:
    """The mitred corners between turned edges and underlaps that may be cut whole, as the zones
    above hide what is folded there. `covers`: what these hide of an underlap, `back_mm` inside their
    outer edges.
    """
    met = [each for each in _meetings(rings) if each.is_plain(mitre_limit)]
    if not covers or not met:
        return ()
    hidden = united([sound(to_polygon(area, tolerance_mm)) for area in covers])
    own = sound(to_polygon(rings_area(rings), tolerance_mm))
    kept = united([hidden.buffer(back_mm), own])
    return tuple(each.corner(1.0) for each in met if _is_hidden(each, hidden, kept))


def _meetings(rings: Sequence[EdgeRing]) -> Iterator[_Meeting]:
    for ring in rings:
        for before, after in pairwise((*ring, ring[0])):
            (ax, ay), (bx, by) = (
                end_direction(before.path.segments[-1]),
                start_direction(after.path.segments[0]),
            )
            at = after.path.start
            if _is_turned(before) and _is_lap(after):
                widths = before.allowance_mm, after.allowance_mm
                yield _Meeting(at, (ax, ay), (bx, by), (ay, -ax), *widths)
            elif _is_lap(before) and _is_turned(after):
                widths = after.allowance_mm, before.allowance_mm
                yield _Meeting(at, (-bx, -by), (-ax, -ay), (by, -bx), *widths)


def _is_turned(edge: Edge) -> bool:
    return edge.kind is EdgeKind.FREE and edge.allowance_mm > 0.0


def _is_lap(edge: Edge) -> bool:
    return edge.kind is EdgeKind.NEIGHBOUR and edge.allowance_mm > 0.0


def _is_hidden(met: _Meeting, hidden: BaseGeometry, kept: BaseGeometry) -> bool:
    """Whether the fold's end and what is folded there lie beneath the zones above."""
    import shapely

    if not shapely.contains_xy(hidden, *met.place(met.fold_mm, 0.0)):
        return False
    return bool(without(to_polygon(met.corner(-1.0), 0.01), kept).area <= _SPARE_MM2)
