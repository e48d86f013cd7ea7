"""A test strip, to be cut before anything else: each size at several clearances."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from templater.geometry.hole_sheets import HEADER_MM, SIDE_BAND_MM, margin_for
from templater.geometry.polygons import rectangle
from templater.geometry.stone_shapes import placed_stone_path
from templater.lettering import fitted
from templater.model.curves import Point
from templater.model.sheets import (
    Anchor,
    Circle,
    Drawable,
    Lettering,
    Pen,
    Sheet,
    SheetLayer,
    Stroke,
)
from templater.model.stones import Size
from templater.sheets.frame import SMALLEST_TEXT_MM, head_over, side_bars, title_block
from templater.sheets.words import CAUTION_CUT, USE_STRIP, joined, length_words

if TYPE_CHECKING:
    from templater.job.schema import Job

STEPS_MM = (-0.2, -0.1, 0.0, 0.1, 0.2)
WIDTH_MM = 190.0
_LABEL_MM = 34.0
_APART_MM = 4.0
_TEXT_MM = 2.5


def strip_sheet(sizes: Mapping[str, Size], job: Job) -> Sheet:
    """Rows by size, largest first; columns by clearance, the job's (each size's own) in the middle.

    Holes are as stencils have them: the largest stone and the clearance, less the kerf.
    """
    stencil = job.templates.stencil
    order = sorted(sizes.values(), key=lambda size: (-size.width_mm, -size.length_mm, size.name))
    wanted = {size.name: stencil.clearance_of(size.name) for size in order}
    most, alike = max(wanted.values()), len(set(wanted.values())) == 1
    steps = [step for step in STEPS_MM if round(most + step, 4) >= 0.0]
    pitch = max(max(size.largest_length_mm for size in order) + 2.0 * _APART_MM, 24.0)
    rows = [size.largest_width_mm + most + STEPS_MM[-1] + _APART_MM for size in order]
    margin = margin_for(job.templates.paper.margin)
    left, low = margin + SIDE_BAND_MM, margin
    width = max(WIDTH_MM, left + _LABEL_MM + pitch * len(steps) + _APART_MM + margin)
    inner = sum(rows) + 2.0 * _APART_MM + 3.0 * _TEXT_MM
    size_mm = (float(int(width) + 1), float(int(low + inner + HEADER_MM + margin + 2.0) + 1))
    holes: list[Drawable] = []
    words: list[Drawable] = []
    top = low + inner
    for column, step in enumerate(steps):
        at = (left + _LABEL_MM + (column + 0.5) * pitch, top - 1.5 * _TEXT_MM - 1.0)
        said = _more(most + step, job.display) if alike else _more(step, job.display, "its own")
        words.append(Lettering(said, at, _TEXT_MM, anchor=Anchor.MIDDLE))
    y = top - 3.0 * _TEXT_MM
    for size, height in zip(order, rows, strict=True):
        y -= height / 2.0
        name = size.name if alike else f"{size.name} {_more(wanted[size.name], job.display)}"
        name, high = fitted(name, _LABEL_MM, (_TEXT_MM, SMALLEST_TEXT_MM))
        words.append(Lettering(name, (left + _APART_MM, y - high / 2.0), high))
        for column, step in enumerate(steps):
            x = left + _LABEL_MM + (column + 0.5) * pitch
            clearance = round(wanted[size.name] + step, 4)
            if clearance >= 0.0:
                holes.append(_hole(size, clearance - stencil.kerf, (round(x, 4), round(y, 4))))
        y -= height / 2.0
    frame = rectangle(left, low, round(size_mm[0] - margin, 4), round(top, 4))
    head = head_over(top, size_mm, margin)
    bars, bar_items = side_bars(head, job.display)
    heading = joined("Test strip: cut this first", job.name)
    facts = (USE_STRIP, CAUTION_CUT)
    identity = "each size at several clearances"
    block = title_block(head, heading, identity, facts, "sheet 1 of 1")
    return Sheet(
        name="stencils/test-strip",
        title=joined(heading, identity),
        size_mm=size_mm,
        kind="strip",
        register=(),
        bars=bars,
        number=1,
        of=1,
        layers=(
            SheetLayer("holes", tuple(holes)),
            SheetLayer("cut", (Stroke(frame, Pen.CUT),)),
            SheetLayer("bars", bar_items),
            SheetLayer("text", (*block, *words)),
        ),
    )


def _more(length_mm: float, display: str, of: str = "") -> str:
    """Such as "+ 0.3 mm", or "its own − 0.1 mm"; "its own" for nothing more."""
    if of and length_mm == 0.0:
        return of
    sign = "−" if length_mm < 0.0 else "+"
    return f"{of} {sign} {length_words(abs(length_mm), display)}".strip()


def _hole(size: Size, grown_mm: float, at: Point) -> Drawable:
    width = round(size.largest_width_mm + grown_mm, 4)
    if size.is_round:
        return Circle(at[0], at[1], width, Pen.HOLE)
    length = round(size.largest_length_mm + grown_mm, 4)
    return Stroke(placed_stone_path(size.shape, length, width, at, 0.0), Pen.HOLE)
