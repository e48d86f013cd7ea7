"""Printed tables of holes from register mark 1, for those who turn handwheels beside the sheet."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from templater.geometry.hole_sheets import MARGIN_MM
from templater.lettering import text_width_mm
from templater.model.curves import Point
from templater.model.parts import Hole, Pass
from templater.model.sheets import Anchor, Drawable, Lettering, Pen, Sheet, SheetLayer
from templater.model.stones import StoneShape
from templater.sheets.marks import line
from templater.sheets.one_page import Draft, Page, numbered, pages_of
from templater.sheets.words import face_words, joined, pass_kind_words, side_words

if TYPE_CHECKING:
    from templater.job.schema import Job

MOST_HOLES = 500
"""Beyond that nobody turns wheels by a printed table; the csv file holds any number."""
_TEXT_MM = 1.8
_ROW_MM = 3.6
_RULE_EVERY = 5
_GAP_MM = 6.0
_INCH_MM = 25.4
_USE = (
    "Set the table to zero at register mark 1, check it at marks 2 and 3. x runs to the right of "
    "the sheet, y up."
)


def xy_sheets(passes: Iterable[Pass], job: Job) -> tuple[Sheet, ...]:
    """Pages for every pass of at most `MOST_HOLES` round holes, if the job asks for such tables."""
    if "xy" not in job.templates.formats:
        return ()
    page = pages_of(job)[0]
    drafts: list[Draft] = []
    for one in passes:
        holes = [hole for hole in one.holes if hole.shape == StoneShape.ROUND.value]
        if holes and len(holes) <= MOST_HOLES:
            drafts.extend(_pages(one, holes, page, job, len(drafts)))
    return numbered(drafts, "table")


def _pages(one: Pass, holes: list[Hole], page: Page, job: Job, before: int) -> Iterator[Draft]:
    cells = [_cells(hole, one.register[0], job.display) for hole in holes]
    head = ("hole", "x", "y", "width")
    widths = [
        max(text_width_mm(row[k], _TEXT_MM) for row in (head, *cells)) + 3.0 for k in range(4)
    ]
    block = sum(widths) + _GAP_MM
    blocks = max(1, int((page.width_mm - 2.0 * MARGIN_MM + _GAP_MM) / block))
    rows = max(1, int((page.below_block_mm - MARGIN_MM) / _ROW_MM) - 1)
    per_page = blocks * rows
    identity = joined(one.zone, side_words(one.side), face_words(is_reversed=one.reversed))
    heading = joined("x/y table", pass_kind_words(one), job.name)
    unit = "inches" if job.display == "in" else "mm"
    facts = (joined(f"For {one.template}", f"{unit}", _marks_words(one, job.display)), _USE)
    for number, first in enumerate(range(0, len(cells), per_page), start=before + 1):
        shown = cells[first : first + per_page]
        items: list[Drawable] = []
        for column in range(-(-len(shown) // rows)):
            own = shown[column * rows : (column + 1) * rows]
            at = (MARGIN_MM + column * block, page.below_block_mm)
            items += _column(at, (head, *own), widths)
        yield Draft(
            f"print/xy-tables/table-{number}", page.size_mm, heading, identity, facts,
            (SheetLayer("table", tuple(items)),),
        )  # fmt: skip


def _column(
    corner: Point, rows: Iterable[tuple[str, ...]], widths: list[float]
) -> Iterator[Drawable]:
    x0, y = corner
    for number, row in enumerate(rows):
        y = round(y - _ROW_MM, 4)
        x = x0
        for word, width in zip(row, widths, strict=True):
            x = round(x + width, 4)
            yield Lettering(word, (x, y + 1.0), _TEXT_MM, anchor=Anchor.END)
        if number % _RULE_EVERY == 0:
            yield line((x0, y), (x, y), Pen.MARK if number == 0 else Pen.NOTE)


def _cells(hole: Hole, zero: Point, display: str) -> tuple[str, str, str, str]:
    return (
        str(hole.order),
        _length(hole.x_mm - zero[0], display),
        _length(hole.y_mm - zero[1], display),
        _length(hole.diameter_mm, display),
    )


def _length(length_mm: float, display: str) -> str:
    """To a hundredth of a millimetre, or a thousandth of an inch, as scales are divided."""
    text = f"{length_mm / _INCH_MM:.3f}" if display == "in" else f"{length_mm:.2f}"
    return text.removeprefix("-") if float(text) == 0.0 else text.replace("-", "−")


def _marks_words(one: Pass, display: str) -> str:
    zero = one.register[0]
    return ", ".join(
        f"mark {number}: {_length(x - zero[0], display)} / {_length(y - zero[1], display)}"
        for number, (x, y) in enumerate(one.register, start=1)
    )
