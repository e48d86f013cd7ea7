"""Sheets as PDF, one page each at true size."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from templater.model.sheets import Circle, Pen, Sheet
from templater.writing.numbers import snap
from templater.writing.protocol import draw_sheet


def pdf_bytes(sheets: Sequence[Sheet], title: str) -> bytes:
    """The sheets as PDF pages at true size, their layers as the file's layers.

    Layers of one name are one layer through all pages. Raises ValueError for no sheets or for
    a number that is not finite, Refused for a sheet longer than PDF allows (5,080 mm).
    """
    from templater.writing.pdf_canvas import PdfCanvas
    from templater.writing.pdf_finish import finish_pdf

    if not sheets:
        raise ValueError("a PDF needs at least one sheet")
    canvas = PdfCanvas(title)
    canvas.define_circles(circles_of(sheets))
    for sheet in sheets:
        canvas.begin_page(*sheet.size_mm)
        canvas.bookmark(sheet.title, level=0)
        draw_sheet(sheet, canvas)
        canvas.end_page()
    return finish_pdf(canvas)


def circles_of(sheets: Iterable[Sheet]) -> list[tuple[float, Pen]]:
    """The diameters and pens of the sheets' circles, each once, in order of appearance."""
    found: dict[tuple[float, Pen], None] = {}
    for sheet in sheets:
        for layer in sheet.layers:
            for item in layer.items:
                if isinstance(item, Circle):
                    found.setdefault((snap(item.diameter_mm), item.pen))
    return list(found)
