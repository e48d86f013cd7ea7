"""How a sheet is cut into pages: which part of it lies on which page, and what the pages are called.

Rows are lettered from the top, columns numbered from the left: A1, A2 …, B1 … . Neighbouring
pages share a strip as wide as the overlap; they join on the line down its middle. Pages without
anything on them are left out.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from templater.geometry.flatten import flatten
from templater.geometry.measure import box_of, join_boxes
from templater.lettering import text_width_mm
from templater.model.curves import Box, Ring
from templater.model.problems import Problem, Refused, Severity
from templater.model.sheets import Anchor, Circle, Fill, Lettering, Pen, Sheet, Stroke

_FLAT_MM = 0.2
_PAD_MM = 0.5
"""Beyond what is drawn, for the width of its lines."""
_SNUG_MM = 1e-6


@dataclass(frozen=True, slots=True)
class Tile:
    """One page's part of a sheet. `window`: the part of the sheet it shows; row and column from 0."""

    row: int
    column: int
    window: Box

    @property
    def name(self) -> str:
        return f"{row_letters(self.row)}{self.column + 1}"


@dataclass(frozen=True, slots=True)
class Tiling:
    """A sheet's pages, in reading order, the empty ones left out. `landscape`: the paper lies."""

    tiles: tuple[Tile, ...]
    rows: int
    columns: int
    overlap_mm: float
    footer_mm: float
    landscape: bool

    def own(self, tile: Tile) -> Box:
        """The part of the sheet on this page's side of its joins: what is its neighbour's left out."""
        half = self.overlap_mm / 2.0
        x0, y0, x1, y1 = tile.window
        return (
            x0 + (half if tile.column > 0 else 0.0),
            y0 + (half if tile.row < self.rows - 1 else 0.0),
            x1 - (half if tile.column < self.columns - 1 else 0.0),
            y1 - (half if tile.row > 0 else 0.0),
        )

    def at(self, row: int, column: int) -> Tile | None:
        return next((t for t in self.tiles if (t.row, t.column) == (row, column)), None)


def row_letters(row: int) -> str:
    """A, B … Z, AA, AB … for rows from 0."""
    letters = ""
    row += 1
    while row:
        row, rest = divmod(row - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters


def content_outlines(sheet: Sheet) -> tuple[tuple[Ring, bool], ...]:
    """What is drawn on the sheet, as polylines to within 0.2 mm and whether each is filled.

    The sheet's own frame does not count: it need not be printed.
    """
    found: list[tuple[Ring, bool]] = []
    for layer in sheet.layers:
        for item in layer.items:
            match item:
                case Stroke():
                    if item.pen is not Pen.FRAME and item.path.segments:
                        ring = flatten(item.path, _FLAT_MM)
                        found.append(((*ring, ring[0]) if item.path.closed else ring, False))
                case Circle():
                    found.append((_square(item), False))
                case Fill():
                    found.append((flatten(item.area.outline, _FLAT_MM), True))
                case Lettering():
                    found.append((_text_box(item), True))
    return tuple(found)


def _square(item: Circle) -> Ring:
    """Its box, closed: a little more than the circle."""
    r = item.diameter_mm / 2.0
    x0, y0, x1, y1 = item.x_mm - r, item.y_mm - r, item.x_mm + r, item.y_mm + r
    return ((x0, y0), (x1, y0), (x1, y1), (x0, y1), (x0, y0))


def _text_box(item: Lettering) -> Ring:
    """The corners round a line of text, turned as it is."""
    width, height = text_width_mm(item.text, item.height_mm), item.height_mm
    start = {Anchor.START: 0.0, Anchor.MIDDLE: -width / 2.0, Anchor.END: -width}[item.anchor]
    x0, x1 = (-start - width, -start) if item.mirrored else (start, start + width)
    turn = math.radians(item.turn_deg)
    cos, sin = math.cos(turn), math.sin(turn)
    low, high = -0.35 * height, 1.35 * height
    return tuple(
        (item.at[0] + x * cos - y * sin, item.at[1] + x * sin + y * cos)
        for x, y in ((x0, low), (x1, low), (x1, high), (x0, high))
    )


def tile_sheet(
    sheet: Sheet,
    upright_mm: tuple[float, float],
    landscape_mm: tuple[float, float],
    overlap_mm: float,
    footer_mm: float = 0.0,
) -> Tiling:
    """The pages of a sheet, on paper laid whichever way takes fewer of them (upright if as many).

    The sizes are what of a page can be printed on, in the sheet's mm, width by height; a footer
    takes its height from both, unless the sheet fits on one page only without it. Raises
    Refused if margin, overlap and footer leave nothing of a page.
    """
    outlines = content_outlines(sheet)
    box = _box(sheet, outlines)
    ways = [
        _tiling(box, outlines, page, overlap_mm, landscape=page is not upright_mm, footer_mm=footer)
        for footer in dict.fromkeys((footer_mm, 0.0))
        for page in (upright_mm, landscape_mm)
        if footer == footer_mm or _holds(page, box)
    ]
    return min(ways, key=lambda way: (len(way.tiles), way.footer_mm == 0.0, way.landscape))


def _holds(page_mm: tuple[float, float], box: Box) -> bool:
    return box[2] - box[0] <= page_mm[0] and box[3] - box[1] <= page_mm[1]


def _box(sheet: Sheet, outlines: Sequence[tuple[Ring, bool]]) -> Box:
    if not outlines:
        return (0.0, 0.0, *sheet.size_mm)
    x0, y0, x1, y1 = join_boxes(box_of(ring) for ring, _ in outlines)
    return (x0 - _PAD_MM, y0 - _PAD_MM, x1 + _PAD_MM, y1 + _PAD_MM)


def _tiling(
    box: Box,
    outlines: Sequence[tuple[Ring, bool]],
    page_mm: tuple[float, float],
    overlap_mm: float,
    *,
    landscape: bool,
    footer_mm: float,
) -> Tiling:
    page_mm = (page_mm[0], page_mm[1] - footer_mm)
    columns, left = _spread(box[0], box[2], page_mm[0], overlap_mm)
    rows, bottom = _spread(box[1], box[3], page_mm[1], overlap_mm)
    tiles = []
    for row in range(rows):
        for column in range(columns):
            x0 = left + column * (page_mm[0] - overlap_mm)
            y0 = bottom + (rows - 1 - row) * (page_mm[1] - overlap_mm)
            tiles.append(Tile(row, column, (x0, y0, x0 + page_mm[0], y0 + page_mm[1])))
    whole = Tiling(tuple(tiles), rows, columns, overlap_mm, footer_mm, landscape)
    return replace(
        whole, tiles=tuple(tile for tile in tiles if _anything_in(whole.own(tile), outlines))
    )


def _spread(low: float, high: float, page_mm: float, overlap_mm: float) -> tuple[int, float]:
    """How many pages cover low to high, and where the first begins so that they lie in the middle."""
    step = page_mm - overlap_mm
    if step <= 0.0:
        raise Refused((_too_small(page_mm, overlap_mm),))
    count = max(1, math.ceil((high - low - overlap_mm - _SNUG_MM) / step))
    total = count * step + overlap_mm
    return count, (low + high - total) / 2.0


def _too_small(page_mm: float, overlap_mm: float) -> Problem:
    return Problem(
        "paper-too-small",
        Severity.ERROR,
        f"the paper leaves {max(page_mm, 0.0):.1f} mm to print on, "
        f"and pages overlap by {overlap_mm:g} mm: there is no room for the drawing",
        "take a larger templates.paper.size, or a smaller margin or overlap",
    )


def _anything_in(own: Box, outlines: Sequence[tuple[Ring, bool]]) -> bool:
    from shapely import LineString, Polygon, box

    area = box(*own)
    for ring, filled in outlines:
        x0, y0, x1, y1 = box_of(ring)
        if x0 > own[2] or x1 < own[0] or y0 > own[3] or y1 < own[1]:
            continue
        shape = Polygon(ring) if filled and len(ring) > 2 else LineString(ring)
        if shape.intersects(area):
            return True
    return False
