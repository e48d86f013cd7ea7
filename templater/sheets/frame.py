"""The block over what is on a sheet in its double frame, and the bars beside and below it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from templater.geometry.hole_sheets import HEADER_MM, SIDE_BAND_MM
from templater.geometry.polygons import rectangle
from templater.lettering import fits, fitted
from templater.model.sheets import Anchor, Bar, Drawable, Lettering, Pen, Stroke
from templater.sheets.marks import bar_along, bar_up, fitting_bar

BLOCK_MM = 32.0
"""The framed block's height; the rest of the header is for the long bar."""
WIDEST_MM = 186.0
"""The block is no wider, so that with the margins it fits across A4 and letter paper alike."""
_PAD_MM = 2.0
_HEIGHTS = (5.0, 3.5, 2.5, 1.8)
SMALLEST_TEXT_MM = 1.8


@dataclass(frozen=True, slots=True)
class Head:
    """Where a sheet's block lies: its lower left corner and width. `margin_mm` is the sheet's."""

    left_mm: float
    low_mm: float
    width_mm: float
    margin_mm: float

    @property
    def bars_mm(self) -> float:
        """The width in which the bar below the block has room."""
        return self.width_mm - SIDE_BAND_MM


def head_over(
    top_mm: float, size_mm: tuple[float, float], margin_mm: float, beside_mm: float = 0.0
) -> Head:
    """The block right above what reaches up to `top_mm`, on a sheet of that size; `beside_mm` is
    left free at its right within the width of a page.
    """
    width = min(WIDEST_MM, size_mm[0] - 2.0 * margin_mm) - beside_mm
    highest = size_mm[1] - margin_mm - BLOCK_MM
    low = min(top_mm + HEADER_MM - BLOCK_MM, highest)
    return Head(margin_mm, round(low, 4), round(width, 4), margin_mm)


def wrapped(text: str, width_mm: float, height_mm: float, most: int) -> tuple[str, ...]:
    """The text in at most `most` lines broken at blanks; the last one cut short if it must be."""
    lines: list[str] = []
    words = text.split()
    while words and len(lines) < most - 1:
        count = len(words)
        while count > 1 and not fits(" ".join(words[:count]), height_mm, width_mm):
            count -= 1
        lines.append(" ".join(words[:count]))
        words = words[count:]
    if words:
        lines.append(fitted(" ".join(words), width_mm, (height_mm,))[0])
    return tuple(lines)


def title_block(
    head: Head, heading: str, identity: str, facts: Sequence[str], corner: str
) -> tuple[Drawable, ...]:
    """The framed block: heading and identity large, up to three lines of facts small.

    `corner` ("sheet 1 of 3") stands at the heading's right end.
    """
    x0, x1 = head.left_mm, round(head.left_mm + head.width_mm, 4)
    y0, y1 = head.low_mm, round(head.low_mm + BLOCK_MM, 4)
    items: list[Drawable] = [
        Stroke(rectangle(x0, y0, x1, y1), Pen.FRAME),
        Stroke(rectangle(x0 + 0.8, y0 + 0.8, x1 - 0.8, y1 - 0.8), Pen.FRAME),
    ]
    left, room = x0 + _PAD_MM, x1 - x0 - 2.0 * _PAD_MM
    corner_text, corner_height = fitted(corner, room * 0.25, (3.5, 2.5, 1.8))
    baseline = y1 - _PAD_MM - 5.0
    items.append(Lettering(corner_text, (x1 - _PAD_MM, baseline), corner_height, anchor=Anchor.END))
    text, size = fitted(heading, room * 0.73, _HEIGHTS)
    items.append(Lettering(text, (left, baseline), size))
    baseline -= 7.0
    text, size = fitted(identity, room, _HEIGHTS)
    items.append(Lettering(text, (left, baseline), size))
    baseline -= 2.2
    for height in (2.5, SMALLEST_TEXT_MM):
        lines = [line for fact in facts if fact for line in wrapped(fact, room, height, 9)]
        pitch = 1.5 * height
        most = int((baseline - y0 - 1.8) / pitch)
        if len(lines) <= most:
            break
    for number, line in enumerate(lines[:most], start=1):
        items.append(Lettering(line, (left, baseline - number * pitch), height))
    return tuple(items)


def side_bars(head: Head, display: str) -> tuple[tuple[Bar, ...], tuple[Drawable, ...]]:
    """The longest bars that fit below the block and up the left side."""
    bars: list[Bar] = []
    items: list[Drawable] = []
    along = fitting_bar(head.bars_mm, display)
    if along is not None:
        at = (round(head.left_mm + SIDE_BAND_MM, 4), round(head.low_mm - 4.0, 4))
        bar, drawn = bar_along(at, along, display)
        bars.append(bar)
        items.extend(drawn)
    up = fitting_bar(head.low_mm - head.margin_mm - 4.0, display)
    if up is not None:
        bar, drawn = bar_up((head.left_mm + 6.5, head.margin_mm + 2.0), up, display)
        bars.append(bar)
        items.extend(drawn)
    return tuple(bars), tuple(items)
