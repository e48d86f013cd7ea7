"""Convex polygons just outside the true outlines of stones, to keep them apart by their true shapes.

What a polygon adds errs on the safe side by at most the tolerance given.
"""

from __future__ import annotations

import math

from templater.geometry.flatten import arc_centre
from templater.geometry.stone_shapes import stone_path
from templater.model.curves import Arc, Line, Point, Ring
from templater.model.stones import StoneShape


def stone_outline(
    shape: StoneShape, length_mm: float, width_mm: float, tolerance_mm: float
) -> Ring:
    """A convex polygon around a shaped stone that lies along x, tip to the right, box centred.

    No point of it is farther than `tolerance_mm` outside the true outline (pointed ends excepted:
    they are kept as they are). A round is given as a polygon too.
    """
    if shape is StoneShape.OVAL:
        return _ellipse(length_mm / 2.0, width_mm / 2.0, tolerance_mm)
    points: list[Point] = []
    for segment in stone_path(shape, length_mm, width_mm).segments:
        points.append(segment.start)
        if isinstance(segment, Arc):
            points += _tangents(segment, tolerance_mm)
        else:
            assert isinstance(segment, Line)
    return tuple(points)


def turned_outline(outline: Ring, at: Point, turn_deg: float) -> Ring:
    """An outline turned about the origin, then moved there."""
    angle = math.radians(turn_deg)
    c, s = math.cos(angle), math.sin(angle)
    return tuple((at[0] + c * x - s * y, at[1] + s * x + c * y) for x, y in outline)


def _tangents(arc: Arc, tolerance_mm: float) -> list[Point]:
    """Where tangents outside an arc that turns left meet."""
    (cx, cy), radius, sweep = arc_centre(arc)
    most = 2.0 * math.acos(radius / (radius + tolerance_mm))
    count = max(1, math.ceil(abs(sweep) / most))
    part = sweep / count
    outer = radius / math.cos(part / 2.0)
    first = math.atan2(arc.start[1] - cy, arc.start[0] - cx)
    angles = [first + (i + 0.5) * part for i in range(count)]
    return [(cx + outer * math.cos(a), cy + outer * math.sin(a)) for a in angles]


def _ellipse(a: float, b: float, tolerance_mm: float) -> Ring:
    """A circle's tangent polygon, drawn out: tangents stay tangents."""
    count = max(8, math.ceil(math.pi / math.acos(a / (a + tolerance_mm))))
    outer = 1.0 / math.cos(math.pi / count)
    angles = [(i + 0.5) * 2.0 * math.pi / count for i in range(count)]
    return tuple((a * outer * math.cos(t), b * outer * math.sin(t)) for t in angles)
