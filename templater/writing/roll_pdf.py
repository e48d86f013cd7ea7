"""Sheets printed true size on a plotter's roll: whole, side by side across it, as long as need be.

A sheet that fits the roll only sideways is turned; one wider than the roll both ways is printed in
strips, to be joined like pages.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from templater.geometry.shelves import Shelved, shelve
from templater.lettering import fitted
from templater.model.curves import Box
from templater.model.sheets import Lettering, Sheet
from templater.writing.legends import sheet_legend
from templater.writing.numbers import plain
from templater.writing.paper_setup import PaperSetup
from templater.writing.pdf import circles_of
from templater.writing.protocol import draw_sheet
from templater.writing.sheet_content import SheetContent
from templater.writing.tile_page import FOOTER_MM, draw_tile_page
from templater.writing.tiles import tile_sheet

if TYPE_CHECKING:
    from templater.writing.pdf_canvas import PdfCanvas

SPACING_MM = 10.0
"""Between sheets on a roll: room to cut them apart."""
_LEGEND_MM = 5.0
_AROUND_MM = 0.3
"""Lines along a sheet's outermost edge are to be seen in their full width."""


@dataclass(frozen=True, slots=True)
class Roll:
    """A plotter's roll: its width, the margin that it cannot reach, its correction across and along."""

    width_mm: float
    margin_mm: float
    calibrate: tuple[float, float]

    @property
    def usable_mm(self) -> float:
        """What of the width can be printed on, in true mm (after correction)."""
        return (self.width_mm - 2.0 * self.margin_mm) / self.calibrate[0]


@dataclass(frozen=True, slots=True)
class _Whole:
    """A sheet that goes on the roll in one piece: what of it is printed, and whether it is turned."""

    index: int
    sheet: Sheet
    box: Box
    turned: bool

    @property
    def size_mm(self) -> tuple[float, float]:
        wide, high = self.box[2] - self.box[0], self.box[3] - self.box[1]
        wide, high = (high, wide) if self.turned else (wide, high)
        return wide, high + _LEGEND_MM


def roll_pdf_bytes(
    sheets: Sequence[Sheet], roll: Roll, overlap_mm: float, display: str = "mm", title: str = "Roll"
) -> bytes:
    """The sheets on one page as wide as the roll, or several where PDF allows no longer one, then
    the strips of those that are too wide. Raises ValueError for no sheets.
    """
    from templater.writing.pdf_canvas import MOST_MM, PdfCanvas
    from templater.writing.pdf_finish import finish_pdf

    if not sheets:
        raise ValueError("a PDF needs at least one sheet")
    contents = [SheetContent(sheet) for sheet in sheets]
    canvas = PdfCanvas(title)
    canvas.define_circles(circles_of(sheets))
    for index, (sheet, content) in enumerate(zip(sheets, contents, strict=True)):
        canvas.begin_form(_form(index), _wider(content.box, 1.0))
        draw_sheet(sheet, canvas)
        canvas.end_form()
    longest = (MOST_MM - 2.0 * roll.margin_mm) / roll.calibrate[1]
    wholes = [
        whole
        for index, sheet in enumerate(sheets)
        if (whole := _fitting(index, sheet, contents[index].box, roll.usable_mm, longest))
    ]
    places, lengths = shelve([w.size_mm for w in wholes], roll.usable_mm, SPACING_MM, longest)
    for stretch, length in enumerate(lengths):
        page_mm = length * roll.calibrate[1] + 2.0 * roll.margin_mm
        canvas.begin_page(roll.width_mm, page_mm)
        canvas.bookmark(title, level=0)
        for whole, place in zip(wholes, places, strict=True):
            if place.stretch == stretch:
                _draw_whole(canvas, whole, place, roll, page_mm)
        canvas.end_page()
    in_one_piece = {whole.index for whole in wholes}
    for index, sheet in enumerate(sheets):
        if index not in in_one_piece:
            _draw_strips(canvas, index, sheet, contents[index], roll, overlap_mm, display)
    return finish_pdf(canvas)


def _fitting(
    index: int, sheet: Sheet, content: Box, usable_mm: float, longest_mm: float
) -> _Whole | None:
    """The sheet as it fits the roll, upright by choice; None if it does not."""
    for turned in (False, True):
        whole = _Whole(index, sheet, _wider(content, _AROUND_MM), turned)
        wide, long = whole.size_mm
        if wide <= usable_mm and long <= longest_mm:
            return whole
    return None


def _draw_whole(
    canvas: PdfCanvas, whole: _Whole, place: Shelved, roll: Roll, page_mm: float
) -> None:
    """A sheet on the roll, drawn in its own mm, and its name below it."""
    across, along = roll.calibrate
    x0, y0, _, y1 = whole.box
    wide, high = whole.size_mm
    left = roll.margin_mm + place.from_left_mm * across
    low = page_mm - roll.margin_mm - (place.from_top_mm + high) * along
    canvas.raw(f"q {plain(across, 6)} 0 0 {plain(along, 6)} {plain(left)} {plain(low)} cm")
    canvas.begin_layer("page")
    text, height = fitted(sheet_legend(whole.sheet), wide, (2.5, 1.8, 1.5, 1.2))
    canvas.lettering(Lettering(text, (0.0, 1.0), height))
    canvas.end_layer()
    move = (0.0, 1.0, -1.0, 0.0, y1, _LEGEND_MM - x0) if whole.turned else None
    a, b, c, d, e, f = move or (1.0, 0.0, 0.0, 1.0, -x0, _LEGEND_MM - y0)
    canvas.raw(f"{plain(a)} {plain(b)} {plain(c)} {plain(d)} {plain(e)} {plain(f)} cm")
    canvas.place_form(_form(whole.index))
    canvas.raw("Q")


def _draw_strips(
    canvas: PdfCanvas,
    index: int,
    sheet: Sheet,
    content: SheetContent,
    roll: Roll,
    overlap_mm: float,
    display: str,
) -> None:
    """A sheet wider than the roll, a strip a page. Raises Refused where nothing is left of a strip."""
    long = content.box[3] - content.box[1] + FOOTER_MM + 1.0
    strip = (roll.usable_mm, long)
    tiling = tile_sheet(content, strip, strip, overlap_mm, FOOTER_MM)
    paper = (roll.width_mm, long * roll.calibrate[1] + 2.0 * roll.margin_mm)
    setup = PaperSetup(paper, roll.margin_mm, roll.calibrate, display)
    for tile in tiling.tiles:
        draw_tile_page(canvas, sheet, content, tiling, tile, _form(index), setup, level=0)


def _wider(box: Box, by_mm: float) -> Box:
    return (box[0] - by_mm, box[1] - by_mm, box[2] + by_mm, box[3] + by_mm)


def _form(index: int) -> str:
    return f"sheet{index + 1}"
