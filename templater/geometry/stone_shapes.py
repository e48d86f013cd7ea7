"""The outlines of shaped stones as true curves, for the holes that take them.

A stone lies along x, its tip to the right, its box centred on the origin. Navettes are two arcs,
ovals ellipses, teardrops a circle with two tangents to the tip: common practice, no source.
"""

from __future__ import annotations

import math

from templater.geometry.moves import moved_path
from templater.geometry.polygons import circle, polyline, rectangle
from templater.model.curves import Arc, Cubic, Line, Path, Point, Transform
from templater.model.stones import StoneShape

# Four cubics of this handle stay within 0.03 % of the radius of a circle.
_HANDLE = 4.0 / 3.0 * (math.sqrt(2.0) - 1.0)


def stone_path(shape: StoneShape, length_mm: float, width_mm: float) -> Path:
    """The closed outline, anticlockwise, of a stone `length_mm` by `width_mm`."""
    half_l, half_w = length_mm / 2.0, width_mm / 2.0
    match shape:
        case StoneShape.ROUND:
            return circle((0.0, 0.0), width_mm)
        case StoneShape.NAVETTE:
            bulge = half_w / half_l
            tip, tail = (half_l, 0.0), (-half_l, 0.0)
            return Path((Arc(tip, tail, bulge), Arc(tail, tip, bulge)), closed=True)
        case StoneShape.OVAL:
            return _ellipse(half_l, half_w)
        case StoneShape.RECTANGLE | StoneShape.SQUARE:
            return rectangle(-half_l, -half_w, half_l, half_w)
        case StoneShape.TRIANGLE:
            return polyline([(half_l, 0.0), (-half_l, half_w), (-half_l, -half_w)], closed=True)
        case StoneShape.TEARDROP:
            return _teardrop(half_l, half_w)


def placed_stone_path(
    shape: StoneShape, length_mm: float, width_mm: float, at: Point, turn_deg: float
) -> Path:
    """The outline turned and moved to its place."""
    angle = math.radians(turn_deg)
    c, s = math.cos(angle), math.sin(angle)
    return moved_path(stone_path(shape, length_mm, width_mm), Transform(c, s, -s, c, at[0], at[1]))


def _ellipse(a: float, b: float) -> Path:
    k = _HANDLE
    quarters = (
        ((a, 0.0), (a, k * b), (k * a, b), (0.0, b)),
        ((0.0, b), (-k * a, b), (-a, k * b), (-a, 0.0)),
        ((-a, 0.0), (-a, -k * b), (-k * a, -b), (0.0, -b)),
        ((0.0, -b), (k * a, -b), (a, -k * b), (a, 0.0)),
    )
    return Path(tuple(Cubic(*quarter) for quarter in quarters), closed=True)


def _teardrop(half_l: float, half_w: float) -> Path:
    """A circle as wide as the stone at its tail, and the two tangents from the tip."""
    centre_x = half_w - half_l
    reach = half_l - centre_x
    if reach <= half_w * (1.0 + 1e-9):
        return circle((0.0, 0.0), 2.0 * half_w)
    x = centre_x + half_w * half_w / reach
    y = half_w * math.sqrt(1.0 - (half_w / reach) ** 2)
    tip, upper, lower = (half_l, 0.0), (x, y), (x, -y)
    sweep = 2.0 * math.pi - 2.0 * math.acos(half_w / reach)
    return Path(
        (Line(tip, upper), Arc(upper, lower, math.tan(sweep / 4.0)), Line(lower, tip)), closed=True
    )
