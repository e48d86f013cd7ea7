"""Where register marks go round a box, so that a turned or flipped sheet cannot match.

Three marks at three corners make a right-angled triangle. With legs of unlike lengths no move
but standing still brings it onto itself, neither a turn nor a flip.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import permutations

from templater.model.curves import Box, Point

UNLIKE_MM = 8.0
"""By how much the legs differ at least; half of it in a box too small to differ by all of it."""


def corner_marks(box: Box, out_mm: float, *, mirrored: bool = False) -> tuple[Point, ...]:
    """Three mark centres on the box widened by `out_mm`: both lower corners, and the upper left one.

    The upper one is shifted along its side where the legs would be alike. `mirrored`: the upper
    right corner instead, for the mirror image of such a box. Positions are snapped to 0.0001 mm.
    """
    x0, y0, x1, y1 = (
        round(box[0] - out_mm, 4),
        round(box[1] - out_mm, 4),
        round(box[2] + out_mm, 4),
        round(box[3] + out_mm, 4),
    )
    wide, tall = x1 - x0, y1 - y0
    if abs(wide - tall) < UNLIKE_MM:
        room = tall >= 5.0 * UNLIKE_MM
        drop = wide - UNLIKE_MM if room else wide + UNLIKE_MM / 2.0
        tall = min(drop, tall - UNLIKE_MM) if room else max(drop, tall + UNLIKE_MM / 2.0)
    upper = round(y0 + tall, 4)
    return ((x0, y0), (x1, y0), (x1 if mirrored else x0, upper))


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
