"""Sheets printed true size on the maker's paper: a map page first, then the pages to be joined.

A sheet that takes many pages has a map page of its own; runs of sheets that take few share one. Every map page bears the test bars, true size, clear of everything else.
"""

from __future__ import annotations

from collections.abc import Sequence

from templater.model.curves import Box
from templater.model.sheets import Sheet
from templater.writing.map_page import MappedSheet, draw_map_page
from templater.writing.paper_setup import PaperSetup
from templater.writing.pdf import circles_of
from templater.writing.protocol import draw_sheet
from templater.writing.sheet_content import SheetContent
from templater.writing.tile_page import FOOTER_MM, draw_tile_page
from templater.writing.tiles import Tiling, tile_sheet

_ROOM_ON_A_MAP = 12


def tiled_pdf_bytes(
    sheets: Sequence[Sheet],
    paper_mm: tuple[float, float],
    margin_mm: float,
    overlap_mm: float,
    calibrate: tuple[float, float] = (1.0, 1.0),
    display: str = "mm",
    title: str = "Printed sheets",
) -> bytes:
    """The sheets in printed pages, with map pages and test bars.

    `calibrate` multiplies what is drawn in x and y of the paper as given (a bar of 150 mm that
    prints 148.5 mm long asks for 150/148.5). `display` "in" draws the test bars in inches. Raises
    ValueError for no sheets, Refused for a paper too small for margins, footer and overlap.
    """
    from templater.writing.pdf_canvas import PdfCanvas
    from templater.writing.pdf_finish import finish_pdf

    if not sheets:
        raise ValueError("a PDF needs at least one sheet")
    setup = PaperSetup(paper_mm, margin_mm, calibrate, display)
    contents = [SheetContent(sheet) for sheet in sheets]
    pages = (setup.usable_mm, setup.turned().usable_mm)
    tilings = [tile_sheet(content, *pages, overlap_mm, FOOTER_MM) for content in contents]
    canvas = PdfCanvas(title)
    canvas.define_circles(circles_of(sheets))
    for index, (sheet, tiling) in enumerate(zip(sheets, tilings, strict=True)):
        canvas.begin_form(_form(index), _form_box(tiling))
        draw_sheet(sheet, canvas)
        canvas.end_form()
    for run in _runs(tilings):
        draw_map_page(canvas, [MappedSheet(sheets[i], tilings[i]) for i in run], setup, title)
        for i in run:
            for tile in tilings[i].tiles:
                draw_tile_page(canvas, sheets[i], contents[i], tilings[i], tile, _form(i), setup)
    return finish_pdf(canvas)


def _form(index: int) -> str:
    return f"sheet{index + 1}"


def _form_box(tiling: Tiling) -> Box:
    x0, y0, x1, y1 = zip(*(tile.window for tile in tiling.tiles), strict=True)
    return (min(x0) - 1.0, min(y0) - 1.0, max(x1) + 1.0, max(y1) + 1.0)


def _runs(tilings: Sequence[Tiling]) -> list[list[int]]:
    """The sheets that share a map page: neighbours of few pages, a few at a time."""
    runs: list[list[int]] = []
    room = 0
    for index, tiling in enumerate(tilings):
        needs = _room_on_a_map(len(tiling.tiles))
        if not runs or needs > room:
            runs.append([])
            room = _ROOM_ON_A_MAP
        runs[-1].append(index)
        room -= needs
    return runs


def _room_on_a_map(pages: int) -> int:
    """A twelfth of a map page for one page, a fourth up to four, the whole for more."""
    if pages == 1:
        return 1
    return 3 if pages <= 4 else _ROOM_ON_A_MAP
