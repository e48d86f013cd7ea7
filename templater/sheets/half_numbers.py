"""On a part with closed darts: which half is which, and which register marks are whose."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any

from templater.geometry.walk import tape_along
from templater.model.curves import Point, Transform
from templater.model.ground import Edge, EdgeKind, Ground
from templater.model.parts import CutPart, Half, Mark, MarkKind
from templater.model.sheets import Anchor, Drawable, Lettering, Pen

_HEIGHT_MM = 2.5
_FROM_MARK_MM = 6.0
_FROM_LINE_MM = 6.5
_ALONG = (0.5, 0.35, 0.65, 0.2, 0.8, 0.1, 0.9)
_MEETS_MM = 1e-3


def half_numbers(
    part: CutPart, ground: Ground, shown: Sequence[Point], avoid: Any, to_sheet: Transform
) -> Iterator[Drawable]:
    """The number of each half beside the dart's line, and beside its register marks.

    `shown` are the part's register marks as it bears them, in its own frame; nothing where these
    are not its zone's. `avoid`: a polygon round the label.
    """
    own = [mark for mark in part.marks if mark.kind is MarkKind.REGISTER]
    if not part.halves or tuple(mark.at for mark in own) != tuple(shown):
        return
    for half in part.halves:
        spot = _beside_line(part, ground, half, avoid)
        if spot is not None:
            yield _number(half, to_sheet.apply(spot))
        for mark in own:
            if _is_of(mark, half):
                x, y = to_sheet.apply(mark.at)
                yield _number(half, (x, y - _FROM_MARK_MM))


def _is_of(mark: Mark, half: Half) -> bool:
    drawn = mark.drawn_at
    return drawn is not None and math.dist(half.to_part.apply(drawn), mark.at) <= _MEETS_MM


def _number(half: Half, at: Point) -> Lettering:
    low = (round(at[0], 4), round(at[1] - _HEIGHT_MM / 2.0, 4))
    return Lettering(f"half {half.region}", low, _HEIGHT_MM, anchor=Anchor.MIDDLE, pen=Pen.MARK)


def _beside_line(part: CutPart, ground: Ground, half: Half, avoid: Any) -> Point | None:
    """A place in the half beside the line along which it is joined, off the label and the marks."""
    from shapely import Point as At

    edge = _longest_leg(part, ground, half)
    if edge is None:
        return None
    tape = tape_along(edge.path)
    for share in _ALONG:
        (x, y), (dx, dy) = tape.at(share * tape.length_mm)
        # Outlines run with their inside on the left.
        at = half.to_part.apply((x - _FROM_LINE_MM * dy, y + _FROM_LINE_MM * dx))
        off_marks = all(math.dist(at, mark.at) > _FROM_LINE_MM for mark in part.marks)
        if off_marks and avoid.distance(At(at)) > _HEIGHT_MM:
            return at
    return None


def _longest_leg(part: CutPart, ground: Ground, half: Half) -> Edge | None:
    edges = [
        edge
        for ring in ground.zone(part.zone).regions[half.region - 1].rings
        for edge in ring
        if edge.kind is EdgeKind.DART and not edge.visible
    ]
    return max(edges, key=lambda edge: tape_along(edge.path).length_mm, default=None)
