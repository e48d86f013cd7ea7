"""What a tape does not pass over on the garment: the cloth that sewn darts take up."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from templater.geometry.flatten import flatten
from templater.geometry.polygons import overlap
from templater.model.curves import Path, Point
from templater.model.ground import Dart

if TYPE_CHECKING:
    from shapely import Polygon

_FLAT_MM = 0.01
_PAST_MM = 10.0
"""A dart's mouth is taken to lie at most this far past the ends of its legs."""
_TOUCH_MM = 0.1


def taken_up_mm(path: Path, from_mm: float, to_mm: float, darts: Sequence[Dart]) -> float:
    """How much of an edge between two places, counted along it, lies within darts."""
    from shapely import LineString, get_parts

    line = LineString(flatten(path, _FLAT_MM))
    low, high = min(from_mm, to_mm), max(from_mm, to_mm)
    taken = 0.0
    for dart in darts:
        for part in get_parts(overlap(line, _wedge(dart))):
            if part.length > _TOUCH_MM:
                ends = sorted(line.project(part.interpolate(at)) for at in (0.0, part.length))
                taken += max(0.0, min(high, ends[1]) - max(low, ends[0]))
    return taken


def runs_over_dart(start: Point, end: Point, darts: Sequence[Dart]) -> bool:
    """Whether a straight tape between two places passes over a dart."""
    from shapely import LineString

    if math.dist(start, end) <= _TOUCH_MM:
        return False
    line = LineString((start, end))
    return any(overlap(line, _wedge(dart)).length > _TOUCH_MM for dart in darts)


def _wedge(dart: Dart) -> Polygon:
    from shapely import Polygon

    ends = []
    for leg in (dart.left, dart.right):
        share = 1.0 + _PAST_MM / math.dist(dart.tip, leg)
        ends.append(tuple(t + share * (e - t) for t, e in zip(dart.tip, leg, strict=True)))
    return Polygon((dart.tip, *ends))
