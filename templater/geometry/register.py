"""Where register marks go round a box, so that a turned or flipped sheet cannot match.

Three marks at three corners make a right-angled triangle. With legs of unlike lengths no move
but standing still brings it onto itself, neither a turn nor a flip.
"""

from __future__ import annotations

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
