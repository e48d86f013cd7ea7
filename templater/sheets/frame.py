"""The block at a sheet's head in its double frame, and the bars beside and below it."""

from __future__ import annotations

from collections.abc import Sequence

from templater.geometry.hole_sheets import HEADER_MM, MARGIN_MM, SIDE_BAND_MM
from templater.geometry.polygons import rectangle
from templater.lettering import fits
from templater.model.sheets import Anchor, Bar, Drawable, Lettering, Pen, Stroke
from templater.sheets.marks import bar_along, bar_up, fitting_bar

BLOCK_MM = 32.0
"""The framed block's height; the rest of the header is for the long bar."""
_PAD_MM = 2.0
_HEIGHTS = (5.0, 3.5, 2.5, 1.8)
SMALLEST_TEXT_MM = 1.8


def fitted(text: str, width_mm: float, heights_mm: Sequence[float] = _HEIGHTS) -> tuple[str, float]:
    """The text at the first height at which it fits; at the last one cut short with an ellipsis."""
    for height in heights_mm:
        if fits(text, height, width_mm):
            return text, height
    shown = text
    while shown and not fits(f"{shown}…", heights_mm[-1], width_mm):
        shown = shown[:-1]
    return f"{shown.rstrip()}…", heights_mm[-1]


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
    size_mm: tuple[float, float],
    heading: str,
    identity: str,
    facts: Sequence[str],
    corner: str,
) -> tuple[Drawable, ...]:
    """The framed block: heading and identity large, up to three lines of facts small.

    `corner` ("sheet 1 of 3") stands at the heading's right end.
    """
    width, height = size_mm
    x0, x1 = MARGIN_MM, width - MARGIN_MM
    y1 = height - MARGIN_MM
    y0 = y1 - BLOCK_MM
    items: list[Drawable] = [
        Stroke(rectangle(x0, y0, x1, y1), Pen.FRAME),
        Stroke(rectangle(x0 + 0.8, y0 + 0.8, x1 - 0.8, y1 - 0.8), Pen.FRAME),
    ]
    left, room = x0 + _PAD_MM, x1 - x0 - 2.0 * _PAD_MM
    corner_text, corner_height = fitted(corner, room * 0.25, (3.5, 2.5, 1.8))
    baseline = y1 - _PAD_MM - 5.0
    items.append(Lettering(corner_text, (x1 - _PAD_MM, baseline), corner_height, anchor=Anchor.END))
    text, size = fitted(heading, room * 0.73)
    items.append(Lettering(text, (left, baseline), size))
    baseline -= 7.0
    text, size = fitted(identity, room)
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


def side_bars(
    size_mm: tuple[float, float], display: str
) -> tuple[tuple[Bar, ...], tuple[Drawable, ...]]:
    """The longest bars that fit below the block and up the left side."""
    width, height = size_mm
    bars: list[Bar] = []
    items: list[Drawable] = []
    along = fitting_bar(width - 2.0 * MARGIN_MM - SIDE_BAND_MM, display)
    if along is not None:
        at = (round(MARGIN_MM + SIDE_BAND_MM, 4), round(height - MARGIN_MM - BLOCK_MM - 4.0, 4))
        bar, drawn = bar_along(at, along, display)
        bars.append(bar)
        items.extend(drawn)
    up = fitting_bar(height - 2.0 * MARGIN_MM - HEADER_MM - 2.0, display)
    if up is not None:
        bar, drawn = bar_up((MARGIN_MM + 6.5, MARGIN_MM + 2.0), up, display)
        bars.append(bar)
        items.extend(drawn)
    return tuple(bars), tuple(items)
