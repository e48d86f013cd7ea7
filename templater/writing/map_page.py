"""The map page: sheets reduced, with the names of their pages, beside test bars of true size."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import PurePosixPath
from typing import TYPE_CHECKING

from templater.geometry.measure import join_boxes
from templater.geometry.moves import moved_path
from templater.geometry.polygons import rectangle
from templater.lettering import fitted
from templater.model.curves import Area, Box, Path, Transform
from templater.model.sheets import Anchor, Circle, Lettering, Pen, Sheet
from templater.writing.legends import sheet_legend
from templater.writing.measure_bars import SQUARE_FROM_BARS_MM, bars_for, draw_bars
from templater.writing.numbers import plain
from templater.writing.paper_setup import PaperSetup
from templater.writing.pens import JOIN_MARK, PENS
from templater.writing.protocol import draw_sheet
from templater.writing.tiles import Tiling

if TYPE_CHECKING:
    from templater.writing.pdf_canvas import PdfCanvas

_HEADER_MM = 25.0
_CORNER_MM = (6.0, 8.0)
_SPACE_MM = 6.0
_CAPTION_MM = 5.0
_LINE_MM = 0.13
_LARGEST_SCALE = 0.5


@dataclass(frozen=True, slots=True)
class MappedSheet:
    """A sheet and the pages it is printed on."""

    sheet: Sheet
    tiling: Tiling

    @property
    def window(self) -> Box:
        return join_boxes(tile.window for tile in self.tiling.tiles)


def draw_map_page(
    canvas: PdfCanvas, mapped: Sequence[MappedSheet], setup: PaperSetup, title: str
) -> None:
    """A page of its own, upright. The test bars stand lower left, the maps where most room is left."""
    canvas.begin_page(*setup.paper_mm)
    canvas.bookmark(_heading(mapped, title), level=0)
    x_scale, y_scale = setup.calibrate
    margin = plain(setup.margin_mm)
    canvas.raw(f"q {plain(x_scale, 6)} 0 0 {plain(y_scale, 6)} {margin} {margin} cm")
    canvas.begin_layer("page")
    width, height = setup.usable_mm
    _draw_header(canvas, mapped, setup, title)
    cx, cy = _CORNER_MM
    bars = bars_for((width - cx - 1.0, height - cy - _HEADER_MM), inches=setup.display == "in")
    draw_bars(canvas, _CORNER_MM, bars)
    square = SQUARE_FROM_BARS_MM + bars.square_mm + _SPACE_MM
    rooms = (
        (cx + square, cy + SQUARE_FROM_BARS_MM, width, height - _HEADER_MM),
        (cx + SQUARE_FROM_BARS_MM, cy + square, width, height - _HEADER_MM),
        (0.0, cy + bars.up_mm + _SPACE_MM, width, height - _HEADER_MM),
    )
    canvas.end_layer()
    ways = [_cells(room, mapped) for room in rooms]
    cells = max(ways, key=lambda cells: _least_scale(cells, mapped))
    for one, cell in zip(mapped, cells, strict=True):
        _draw_map(canvas, one, cell)
    canvas.raw("Q")
    canvas.end_page()


def _draw_header(
    canvas: PdfCanvas, mapped: Sequence[MappedSheet], setup: PaperSetup, title: str
) -> None:
    width, height = setup.usable_mm
    first, size = fitted(_heading(mapped, title), width, (5.0, 3.5, 2.5))
    canvas.lettering(Lettering(first, (0.0, height - 6.0), size))
    lines = (
        "Print at 100 %, with no fitting to the page. Measure the bars before you cut anything.",
        _calibration_in_words(setup),
        _pages_in_words(mapped),
    )
    size = min(fitted(line, width, (2.5, 1.8, 1.5))[1] for line in lines)
    for number, line in enumerate(lines):
        shown, _ = fitted(line, width, (size,))
        canvas.lettering(Lettering(shown, (0.0, height - 12.0 - 4.2 * number), size))


def _calibration_in_words(setup: PaperSetup) -> str:
    if setup.calibrate == (1.0, 1.0):
        return "If they are off: paper.calibrate = [drawn ÷ measured across, drawn ÷ measured up]."
    x, y = (plain(factor, 4) for factor in setup.calibrate)
    return (
        f"Corrected by paper.calibrate = [{x}, {y}]. "
        "If the bars are still off, multiply these by drawn ÷ measured."
    )


def _heading(mapped: Sequence[MappedSheet], title: str) -> str:
    sheets = [one.sheet for one in mapped]
    first, last = sheets[0], sheets[-1]
    if first is last:
        return sheet_legend(first)
    numbers = list(range(first.number, first.number + len(sheets)))
    if [sheet.number for sheet in sheets] == numbers and len({sheet.of for sheet in sheets}) == 1:
        return f"{title}, sheets {first.number} to {last.number} of {last.of}"
    return f"{title}, {_file(first)} to {_file(last)}"


def _file(sheet: Sheet) -> str:
    return PurePosixPath(sheet.name).name


def _pages_in_words(mapped: Sequence[MappedSheet]) -> str:
    count = sum(len(one.tiling.tiles) for one in mapped)
    if len(mapped) > 1 and count == len(mapped):
        return f"{count} sheets follow, each on one page."
    if len(mapped) > 1:
        return f"{len(mapped)} sheets follow on {count} pages, joined as in the maps."
    if count == 1:
        return "One page follows."
    names = [tile.name for tile in mapped[0].tiling.tiles]
    return f"{count} pages follow: {names[0]} to {names[-1]}, joined as in the map."


def _cells(room: Box, mapped: Sequence[MappedSheet]) -> list[Box]:
    """The room in equal cells, row by row from the top, as many abreast as makes the maps largest."""
    ways = [_grid(room, len(mapped), columns) for columns in range(1, len(mapped) + 1)]
    return max(ways, key=lambda cells: _least_scale(cells, mapped))


def _grid(room: Box, count: int, columns: int) -> list[Box]:
    x0, y0, x1, y1 = room
    rows = -(-count // columns)
    across, down = (x1 - x0 + _SPACE_MM) / columns, (y1 - y0) / rows
    return [
        (
            x0 + across * (i % columns),
            y1 - down * (i // columns + 1),
            x0 + across * (i % columns + 1) - _SPACE_MM,
            y1 - down * (i // columns),
        )
        for i in range(count)
    ]


def _least_scale(cells: Sequence[Box], mapped: Sequence[MappedSheet]) -> float:
    return min(_map_scale(cell, one) for one, cell in zip(mapped, cells, strict=True))


def _map_scale(cell: Box, one: MappedSheet) -> float:
    x0, y0, x1, y1 = one.window
    across = (cell[2] - cell[0]) / (x1 - x0)
    up = (cell[3] - cell[1] - _CAPTION_MM) / (y1 - y0)
    return max(0.01, min(across, up, _LARGEST_SCALE))


def _draw_map(canvas: PdfCanvas, one: MappedSheet, cell: Box) -> None:
    """The sheet reduced, lower left in its cell's top, page names over it and a caption under it."""
    scale = _map_scale(cell, one)
    x0, y1 = one.window[0], one.window[3]
    left, top = cell[0], cell[3]
    move = Transform(scale, 0.0, 0.0, scale, left - x0 * scale, top - y1 * scale)
    wide, high = ((one.window[i + 2] - one.window[i]) * scale for i in (0, 1))
    low = top - high
    canvas.raw(f"q {plain(left)} {plain(low)} {plain(wide)} {plain(high)} re W n")
    canvas.faint(0.55)
    draw_sheet(one.sheet, _MapWriter(canvas, move))
    canvas.raw("Q")
    canvas.faint(1.0)
    canvas.begin_layer("page")
    many = len(one.tiling.tiles) > 1
    for tile in one.tiling.tiles:
        a0, b0 = move.apply(one.tiling.own(tile)[:2])
        a1, b1 = move.apply(one.tiling.own(tile)[2:])
        canvas.styled(rectangle(a0, b0, a1, b1), JOIN_MARK)
        if many:
            size = min(0.4 * (b1 - b0), 0.25 * (a1 - a0), 10.0)
            at = ((a0 + a1) / 2.0, (b0 + b1) / 2.0 - size / 2.0)
            canvas.lettering(Lettering(tile.name, at, size, 0.0, Anchor.MIDDLE))
    caption = f"{one.sheet.number}  {_file(one.sheet)}"
    text, size = fitted(caption, cell[2] - cell[0], (2.5, 1.8, 1.5, 1.2))
    canvas.lettering(Lettering(text, (left, low - 1.0 - size), size))
    canvas.end_layer()


class _MapWriter:
    """Draws a sheet reduced: lines thin but seen, texts left out."""

    def __init__(self, canvas: PdfCanvas, move: Transform) -> None:
        self._canvas = canvas
        self._move = move

    def begin_layer(self, name: str) -> None:
        self._canvas.begin_layer(name)

    def end_layer(self) -> None:
        self._canvas.end_layer()

    def stroke(self, path: Path, pen: Pen) -> None:
        style = replace(PENS[pen], width_mm=_LINE_MM)
        self._canvas.styled(moved_path(path, self._move), style)

    def circle(self, circle: Circle) -> None:
        scale = self._move.a
        x, y = self._move.apply((circle.x_mm, circle.y_mm))
        self._canvas.raw(f"q {plain(scale)} 0 0 {plain(scale)} {plain(x)} {plain(y)} cm")
        self._canvas.place_circle(circle.diameter_mm, circle.pen)
        self._canvas.raw("Q")

    def fill(self, area: Area, colour: str) -> None:
        moved = Area(
            moved_path(area.outline, self._move),
            tuple(moved_path(hole, self._move) for hole in area.holes),
        )
        self._canvas.fill(moved, colour)

    def lettering(self, lettering: Lettering) -> None:
        """Too small to read."""
