"""Where register marks go round a box, so that a turned or flipped sheet cannot match.

Three marks make a triangle. With sides of unlike lengths no move but standing still brings it onto
itself, neither a turn nor a flip.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import permutations

from templater.model.curves import Box, Point

UNLIKE_MM = 8.0
"""How far the upper mark may lie beyond the box where its own corner would not do."""
_APART_MM = 6.0
_RAISED_MM = (0.0, 10.0, 20.0, 40.0)
_DROPPED_MM = (0.0, 8.0, 16.0, 32.0, -UNLIKE_MM)
_SLID_MM = (10.0, 20.0, 40.0)


def corner_marks(box: Box, out_mm: float) -> tuple[Point, ...]:
    """Three mark centres on the box widened by `out_mm`: both lower corners, and the upper left one.

    The right one is raised, the upper one shifted along its side or
    the top, until the three distances
    between them differ by 6 mm or, in a small box, as much as they can. Snapped to 0.0001 mm.
    """
    x0, y0, x1, y1 = box[0] - out_mm, box[1] - out_mm, box[2] + out_mm, box[3] + out_mm
    tall, wide = y1 - y0, x1 - x0
    uppers = [(x0, y1 - dropped) for dropped in _DROPPED_MM if dropped <= 0.6 * tall]
    uppers += [(x0 + slid, y1) for slid in _SLID_MM if slid <= 0.6 * wide]
    choices = [
        tuple((round(x, 4), round(y, 4)) for x, y in ((x0, y0), (x1, y0 + raised), upper))
        for raised in _RAISED_MM
        if raised <= 0.6 * tall
        for upper in uppers
    ]
    good = (marks for marks in choices if _least_difference(marks) >= _APART_MM)
    return next(good, None) or max(choices, key=_least_difference)


def _least_difference(marks: Sequence[Point]) -> float:
    a, b, c = marks
    sides = sorted((math.dist(a, b), math.dist(b, c), math.dist(c, a)))
    return min(sides[1] - sides[0], sides[2] - sides[1])


def tells_turned(marks: Sequence[Point], near_mm: float = 2.0) -> bool:
    """Whether no turn and no flip brings all marks within `near_mm` of marks; False below three."""
    if len(marks) < 3:
        return False
    a, b = max(permutations(marks, 2), key=lambda pair: math.dist(*pair))
    length = math.dist(a, b)
    for c, d in permutations(marks, 2):
        if abs(math.dist(c, d) - length) > 2.0 * near_mm:
            continue
        for flip in (1.0, -1.0):
            if (c, d, flip) != (a, b, 1.0) and _meets(marks, (a, b), (c, d), flip, near_mm):
                return False
    return True


def _meets(
    marks: Sequence[Point],
    pair: tuple[Point, Point],
    other: tuple[Point, Point],
    flip: float,
    near_mm: float,
) -> bool:
    """Whether the move that takes `pair` to `other` (flipped over it for -1) takes marks to marks."""
    (ax, ay), (bx, by) = pair
    (cx, cy), (dx, dy) = other
    first, second = math.dist(*pair), math.dist(*other)
    ux, uy = (bx - ax) / first, (by - ay) / first
    vx, vy = (dx - cx) / second, (dy - cy) / second
    for x, y in marks:
        along = (x - ax) * ux + (y - ay) * uy
        across = flip * ((y - ay) * ux - (x - ax) * uy)
        at = (cx + along * vx - across * vy, cy + along * vy + across * vx)
        if min(math.dist(at, mark) for mark in marks) > near_mm:
            return False
    return True
