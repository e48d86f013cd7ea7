"""Boundaries as straight bits with clearances, so that flattening never costs any.

Chords that cut into the stones' side are safe as they are, all others have the tolerance added to
their clearance.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

from templater.geometry.flatten import flatten
from templater.geometry.polygons import differing
from templater.model.curves import Arc, Box, Cubic, Line, Path, Point, Ring, Segment

if TYPE_CHECKING:
    from shapely import MultiPolygon, Polygon

FLAT_MM = 0.0005

Bit = tuple[Point, Point, float]
"""A straight bit of boundary and the clearance a stone keeps from it."""


def bits(segments: Iterable[Segment], clearance_mm: float, *, safe_left: bool) -> list[Bit]:
    """Segments as straight bits. `safe_left`: stones lie to the left only, so that chords of curves
    that turn left lose nothing.
    """
    bits: list[Bit] = []
    for segment in segments:
        points = flatten(Path((segment,), closed=False), FLAT_MM)
        exact = isinstance(segment, Line) or (safe_left and _turns_left(segment))
        grown = clearance_mm if exact else clearance_mm + FLAT_MM
        bits += [(start, end, grown) for start, end in pairwise(points) if start != end]
    return bits


def _turns_left(segment: Segment) -> bool:
    """Whether a curve bends to the left all along, so that its chords lie on its left."""
    match segment:
        case Line():
            return True
        case Arc():
            return segment.bulge >= 0.0
        case Cubic():
            corners = (segment.start, segment.control1, segment.control2, segment.end)
            return all(_cross(*triple) >= 0.0 for triple in _triples((*corners, corners[0])))


def _triples(points: Sequence[Point]) -> Iterable[tuple[Point, Point, Point]]:
    return zip(points, points[1:], points[2:], strict=False)


def _cross(a: Point, b: Point, c: Point) -> float:
    return (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0])


def meet(one: Box, other: Box, within_mm: float) -> bool:
    return (
        one[0] <= other[2] + within_mm
        and other[0] <= one[2] + within_mm
        and one[1] <= other[3] + within_mm
        and other[1] <= one[3] + within_mm
    )


def polygon(rings: Sequence[Ring]) -> Polygon:
    from shapely import Polygon

    return Polygon(rings[0], rings[1:])


def even_odd(rings: Sequence[Ring]) -> Polygon | MultiPolygon:
    """The rings as one shape, inside by the even-odd rule."""
    from shapely import Polygon

    shape = Polygon()
    for ring in rings:
        shape = differing(shape, Polygon(ring))
    return shape
