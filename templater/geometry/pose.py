"""The pose of a shape: a frame that turns, moves and mirrors with it.

Work that decides by small differences is done in this frame, so that a shape drawn elsewhere,
turned or mirrored comes out the same, moved, turned or mirrored likewise.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from templater.model.curves import Point, Ring, Transform

_LONG = 0.12
"""A side this share of the whole outline, or longer, sets the direction; else the farthest point."""


def pose_of(rings: Sequence[Ring]) -> Transform:
    """The rigid move that takes rings to their own frame: centroid at the origin, axis rightwards.

    The axis is the way in from the longest side if that is long, else the way to the farthest point.
    Rings keep the shape on their left. Of the two
    mirror images the one is taken whose moments lean to the positive side. Shapes without area
    stay as they are.
    """
    area, cx, cy = _first_moments(rings)
    if abs(area) < 1e-9:
        return Transform()
    cx, cy = cx / area, cy / area
    dx, dy = _axis(rings, (cx, cy))
    turn = Transform(dx, -dy, dy, dx, -dx * cx - dy * cy, dy * cx - dx * cy)
    turned = [tuple(turn.apply(point) for point in ring) for ring in rings]
    return turn.then(Transform(d=-1.0)) if _leans_down(turned) else turn


def inverse(move: Transform) -> Transform:
    """The way back of a rigid move. Raises ValueError for a move that flattens."""
    over = move.determinant
    if over == 0.0:
        raise ValueError("a move that flattens has no way back")
    a, b, c, d = move.d / over, -move.b / over, -move.c / over, move.a / over
    return Transform(a, b, c, d, -a * move.e - c * move.f, -b * move.e - d * move.f)


def _first_moments(rings: Sequence[Ring]) -> tuple[float, float, float]:
    area = mx = my = 0.0
    for ring in rings:
        x0, y0 = ring[-1]
        for x1, y1 in ring:
            cross = x0 * y1 - x1 * y0
            area += cross / 2.0
            mx += (x0 + x1) * cross / 6.0
            my += (y0 + y1) * cross / 6.0
            x0, y0 = x1, y1
    return area, mx, my


def _axis(rings: Sequence[Ring], centre: Point) -> Point:
    outline = 0.0
    best, side = 0.0, (1.0, 0.0)
    farthest, away = 0.0, (1.0, 0.0)
    for ring in rings:
        x0, y0 = ring[-1]
        for x1, y1 in ring:
            length = math.hypot(x1 - x0, y1 - y0)
            outline += length
            if length > best * (1.0 + 1e-9):
                # The way in from it: a mirror image has that too, while its side runs back.
                best, side = length, ((y0 - y1) / length, (x1 - x0) / length)
            far = math.dist((x1, y1), centre)
            if far > farthest * (1.0 + 1e-9):
                farthest, away = far, ((x1 - centre[0]) / far, (y1 - centre[1]) / far)
            x0, y0 = x1, y1
    return side if best >= _LONG * outline else away


def _leans_down(rings: Sequence[Ring]) -> bool:
    """Whether moments of odd order in y lean to the negative side: ∫xy first, then ∫y, ∫x²y, ∫y³."""
    size = max(abs(value) for ring in rings for point in ring for value in point) or 1.0
    sums = [0.0, 0.0, 0.0]
    for ring in rings:
        x0, y0 = ring[-1][0] / size, ring[-1][1] / size
        for px, py in ring:
            x1, y1 = px / size, py / size
            cross = x0 * y1 - x1 * y0
            mx, my = (x0 + x1) / 3.0, (y0 + y1) / 3.0
            sums[0] += cross * (x0 * y0 + x1 * y1 + 9.0 * mx * my) / 12.0
            sums[1] += cross * mx * mx * my
            sums[2] += cross * my * my * my
            x0, y0 = x1, y1
    return next((total < 0.0 for total in sums if abs(total) > 1e-6), False)
