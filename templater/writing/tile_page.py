"""One printed page of a sheet: its part of the drawing, where it joins its neighbours, what it is."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from templater.geometry.polygons import polyline, rectangle
from templater.lettering import fitted, text_width_mm
from templater.model.curves import Area, Point
from templater.model.sheets import Anchor, Lettering, Pen, Sheet
from templater.writing.legends import sheet_legend
from templater.writing.numbers import plain
from templater.writing.paper_setup import PaperSetup
from templater.writing.pens import JOIN, JOIN_MARK
from templater.writing.sheet_content import SheetContent
from templater.writing.tiles import Tile, Tiling

if TYPE_CHECKING:
    from templater.writing.pdf_canvas import PdfCanvas

FOOTER_MM = 8.0
"""The strip below a page's drawing that says what the page is."""
_LINE_REACH_MM = 0.2
_MARK_MM = 3.0
_NUMBER_MM = 1.8
_NUMBER_ROOM_MM = 4.6
"""Along the join from a mark's middle to the middle of its number."""
_TAB_TEXT_MM = 1.8
_LEAST_TAB_MM = 3.2


def draw_tile_page(
    canvas: PdfCanvas,
    sheet: Sheet,
    content: SheetContent,
    tiling: Tiling,
    tile: Tile,
    form: str,
    upright: PaperSetup,
    level: int = 1,
) -> None:
    """One page of a sheet. `form` is the sheet's content, drawn before on this canvas; `level` is that
    of the page in the file's outline.
    """
    setup = upright.turned() if tiling.landscape else upright
    canvas.begin_page(*setup.paper_mm)
    if len(tiling.tiles) > 1:
        canvas.bookmark(tile.name, level)
    else:
        canvas.bookmark(sheet_legend(sheet), level)
    x_scale, y_scale = setup.calibrate
    x0, y0, x1, y1 = tile.window
    margin = setup.margin_mm
    # From here on the page is drawn in the sheet's own mm, corrected for the printer.
    canvas.raw(
        f"q {plain(x_scale, 6)} 0 0 {plain(y_scale, 6)} "
        f"{plain(margin - x0 * x_scale)} {plain(margin - (y0 - tiling.footer_mm) * y_scale)} cm"
    )
    # A line along the window's very edge is to be seen in its full width.
    reach = _LINE_REACH_MM
    wide, high = x1 - x0 + 2.0 * reach, y1 - y0 + 2.0 * reach
    canvas.raw(f"q {plain(x0 - reach)} {plain(y0 - reach)} {plain(wide)} {plain(high)} re W n")
    canvas.place_form(form)
    canvas.raw("Q")
    canvas.begin_layer("page")
    for join in joins_of(tiling, tile):
        _draw_join(canvas, join, content)
    if tiling.footer_mm > 0.0:
        _draw_footer(canvas, sheet, tiling, tile)
    canvas.end_layer()
    canvas.raw("Q")
    canvas.end_page()


@dataclass(frozen=True, slots=True)
class Join:
    """Where a page meets its neighbour: the line, the way out of the page, whether this page is trimmed,
    and the number of the first of its two marks, which are numbered alike on both pages.
    """

    start: Point
    end: Point
    out: Point
    neighbour: str
    trimmed: bool
    tab_mm: float
    first_number: int


def joins_of(tiling: Tiling, tile: Tile) -> list[Join]:
    """The joins of a page with the neighbours that are printed. The right and the lower page of a
    pair is trimmed and laid on the other.
    """
    x0, y0, x1, y1 = tile.window
    ox0, oy0, ox1, oy1 = tiling.own(tile)
    numbers = _first_numbers(tiling)
    row, column, tab = tile.row, tile.column, tiling.overlap_mm / 2.0
    sides = (
        (tiling.at(row, column - 1), (ox0, y0), (ox0, y1), (-1.0, 0.0), True),
        (tiling.at(row, column + 1), (ox1, y0), (ox1, y1), (1.0, 0.0), False),
        (tiling.at(row - 1, column), (x0, oy1), (x1, oy1), (0.0, 1.0), True),
        (tiling.at(row + 1, column), (x0, oy0), (x1, oy0), (0.0, -1.0), False),
    )
    return [
        Join(start, end, out, other.name, trimmed, tab, numbers[frozenset((tile, other))])
        for other, start, end, out, trimmed in sides
        if other is not None
    ]


def _first_numbers(tiling: Tiling) -> dict[frozenset[Tile], int]:
    """For each two pages that meet the number of their first mark: 1, 3, 5 … in reading order."""
    numbers: dict[frozenset[Tile], int] = {}
    for tile in tiling.tiles:
        for row, column in ((tile.row, tile.column + 1), (tile.row + 1, tile.column)):
            other = tiling.at(row, column)
            if other is not None:
                numbers[frozenset((tile, other))] = 2 * len(numbers) + 1
    return numbers


def _draw_join(canvas: PdfCanvas, join: Join, content: SheetContent) -> None:
    canvas.styled(polyline((join.start, join.end), closed=False), JOIN)
    reach = _MARK_MM
    for number, (x, y) in enumerate(join_marks(join, content), start=join.first_number):
        diamond = ((x + reach, y), (x, y + reach), (x - reach, y), (x, y - reach))
        canvas.styled(polyline(diamond, closed=True), JOIN_MARK)
        # On this page's own side of the line, so that joined pages show it twice, face to face.
        (ox, oy), along, inwards = join.out, _NUMBER_ROOM_MM, _NUMBER_MM
        at = (x + along * abs(oy) - inwards * ox, y + along * abs(ox) - inwards * oy)
        text = Lettering(str(number), (at[0], at[1] - _NUMBER_MM / 2.0), _NUMBER_MM)
        canvas.lettering(replace(text, anchor=Anchor.MIDDLE))
    if join.tab_mm >= _LEAST_TAB_MM:
        _draw_tab_text(canvas, join, content)


def join_marks(join: Join, content: SheetContent) -> tuple[Point, ...]:
    """Where the join's two diamonds stand on the sheet: the same on both pages that meet there."""
    long = _NUMBER_ROOM_MM + _NUMBER_MM
    half = (_MARK_MM, long) if join.out[0] else (long, _MARK_MM)
    return tuple(_clear_of(content, join, middle, 0.18, half, 0.0) for middle in (0.25, 0.75))


def _draw_tab_text(canvas: PdfCanvas, join: Join, content: SheetContent) -> None:
    """Beyond the join, on a white patch: what it hides is whole on the neighbour."""
    words = (
        f"✂ trim here, lay on {join.neighbour}" if join.trimmed else f"{join.neighbour} lies here"
    )
    turn = 90.0 if join.out[0] else 0.0
    text, height = fitted(words, 60.0, (_TAB_TEXT_MM,))
    half_long, half_high = text_width_mm(text, height) / 2.0 + 1.0, height / 2.0 + 0.6
    half = (half_high, half_long) if turn else (half_long, half_high)
    x, y = _clear_of(content, join, 0.5, 0.12, half, join.tab_mm / 2.0)
    patch = rectangle(x - half[0], y - half[1], x + half[0], y + half[1])
    canvas.fill(Area(patch), "#ffffff")
    at = (x + height / 2.0, y) if turn else (x, y - height / 2.0)
    canvas.lettering(Lettering(text, at, height, turn, Anchor.MIDDLE))


def _clear_of(
    content: SheetContent,
    join: Join,
    middle: float,
    spread: float,
    half_mm: tuple[float, float],
    out_mm: float,
) -> Point:
    """A place along the join, by choice at the share `middle`, where a box of this half size is
    clear of the drawing; at `middle` if none within `spread` of it is. Both pages find the same.
    """
    steps = 12
    shifts = sorted(range(-steps, steps + 1), key=lambda step: (abs(step), step))
    places = []
    for step in shifts:
        x, y = _along(join, middle + spread * step / steps)
        # Rounded, so that both pages judge the very same places.
        places.append((round(x + join.out[0] * out_mm, 6), round(y + join.out[1] * out_mm, 6)))
    for x, y in places:
        if not content.touches((x - half_mm[0], y - half_mm[1], x + half_mm[0], y + half_mm[1])):
            return (x, y)
    return places[0]


def _along(join: Join, share: float) -> Point:
    (x0, y0), (x1, y1) = join.start, join.end
    return (x0 + share * (x1 - x0), y0 + share * (y1 - y0))


def _draw_footer(canvas: PdfCanvas, sheet: Sheet, tiling: Tiling, tile: Tile) -> None:
    x0, y0, x1, _ = tile.window
    line = polyline(((x0, y0), (x1, y0)), closed=False)
    canvas.stroke(line, Pen.FRAME)
    width = x1 - x0
    name = tile.name if len(tiling.tiles) > 1 else ""
    lead = text_width_mm(name, 4.0) + 3.0 if name else 0.0
    if name:
        canvas.lettering(Lettering(name, (x0, y0 - 6.2), 4.0))
    text, height = fitted(sheet_legend(sheet), width - lead, (2.5, 1.8, 1.5))
    canvas.lettering(Lettering(text, (x0 + lead, y0 - 3.4), height))
    hint, height = fitted(_hint(tiling, tile), width - lead, (1.8, 1.5, 1.2))
    canvas.lettering(Lettering(hint, (x0 + lead, y0 - 7.0), height))


def _hint(tiling: Tiling, tile: Tile) -> str:
    around = (
        ("left", tiling.at(tile.row, tile.column - 1)),
        ("right", tiling.at(tile.row, tile.column + 1)),
        ("above", tiling.at(tile.row - 1, tile.column)),
        ("below", tiling.at(tile.row + 1, tile.column)),
    )
    names = ", ".join(f"{where} {other.name}" for where, other in around if other is not None)
    advice = "Print at 100 %; measure the bars on the map page first."
    return f"{advice} Joins {names}." if names else advice
