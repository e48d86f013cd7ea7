"""How a sheet is cut into pages: which part of it lies on which page, and what the pages are called.

Rows are lettered from the top, columns numbered from the left: A1, A2 …, B1 … . Neighbouring
pages share a strip as wide as the overlap; they join on the line down its middle. Pages without
anything on them are left out, and as far as that costs no page joins spare words, bars and titles.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace

from templater.model.curves import Box, Point
from templater.model.problems import Problem, Refused, Severity
from templater.writing.sheet_content import SheetContent

_SNUG_MM = 1e-3
"""What fits but for this much fits."""
_SHARES = (0.5, 0.25, 0.75, 0.0, 1.0)
"""Of the spare paper, what lies before the sheet: the middle by choice, or towards either end,
which may leave more pages bare."""
_FINE_SHARES = tuple(sorted((k / 32.0 for k in range(33)), key=lambda share: abs(share - 0.5)))


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


def tile_sheet(
    content: SheetContent,
    upright_mm: tuple[float, float],
    landscape_mm: tuple[float, float],
    overlap_mm: float,
    footer_mm: float = 0.0,
) -> Tiling:
    """The pages of a sheet's content, on paper laid whichever way takes fewer of them (upright if as many).

    The sizes are what of a page can be printed on, in the sheet's mm, width by height; a footer
    takes its height from both, unless the sheet fits on one page only without it. Raises
    Refused if margin, overlap and footer leave nothing of a page.
    """
    ways = [
        _tiling(content, page, overlap_mm, landscape=page is not upright_mm, footer_mm=footer)
        for footer in dict.fromkeys((footer_mm, 0.0))
        for page in (upright_mm, landscape_mm)
        if footer == footer_mm or _holds(page, content.box)
    ]
    return min(ways, key=lambda way: (len(way.tiles), way.footer_mm == 0.0, way.landscape))


def _holds(page_mm: tuple[float, float], box: Box) -> bool:
    return box[2] - box[0] <= page_mm[0] + _SNUG_MM and box[3] - box[1] <= page_mm[1] + _SNUG_MM


def _tiling(
    content: SheetContent,
    page_mm: tuple[float, float],
    overlap_mm: float,
    *,
    landscape: bool,
    footer_mm: float,
) -> Tiling:
    page_mm = (page_mm[0], page_mm[1] - footer_mm)
    x0, y0, x1, y1 = content.box
    columns = _Spread(x0, x1, page_mm[0], overlap_mm, [(a, b) for a, _, b, _ in content.wholes])
    rows = _Spread(y0, y1, page_mm[1], overlap_mm, [(a, b) for _, a, _, b in content.wholes])
    bare = Tiling((), rows.count, columns.count, overlap_mm, footer_mm, landscape)
    ways = [
        (_laid(bare, content, page_mm, (left, low)), columns.parted(left) + rows.parted(low))
        for low in rows.starts()
        for left in columns.starts()
    ]
    return min(ways, key=lambda way: (len(way[0].tiles), way[1]))[0]  # the first, if alike


def _laid(
    bare: Tiling, content: SheetContent, page_mm: tuple[float, float], corner: Point
) -> Tiling:
    """The pages from this lower left corner on, those with nothing on them left out."""
    tiles = []
    for row in range(bare.rows):
        for column in range(bare.columns):
            x0 = corner[0] + column * (page_mm[0] - bare.overlap_mm)
            y0 = corner[1] + (bare.rows - 1 - row) * (page_mm[1] - bare.overlap_mm)
            tiles.append(Tile(row, column, (x0, y0, x0 + page_mm[0], y0 + page_mm[1])))
    full = [tile for tile in tiles if content.touches(bare.own(tile))]
    return replace(bare, tiles=tuple(full or tiles[:1]))


class _Spread:
    """How many pages cover low to high one way, and where the first of them may begin.

    `wholes` are the stretches that are better not parted. Raises Refused if nothing of a page is left.
    """

    def __init__(
        self,
        low: float,
        high: float,
        page_mm: float,
        overlap_mm: float,
        wholes: Sequence[tuple[float, float]],
    ) -> None:
        self._step = page_mm - overlap_mm
        if self._step <= 0.0:
            raise Refused((_too_small(page_mm, overlap_mm),))
        self.count = max(1, math.ceil((high - low - overlap_mm - _SNUG_MM) / self._step))
        self._low = low
        self._spare = max(0.0, self.count * self._step + overlap_mm - (high - low))
        self._half_overlap = overlap_mm / 2.0
        self._wholes = wholes

    def starts(self) -> tuple[float, ...]:
        """The middle first; where a finer step parts fewer of the wholes than any of these, that too."""
        if self.count == 1:
            return (self._start(0.5),)
        coarse = [self._start(share) for share in _SHARES]
        best = min(map(self._start, _FINE_SHARES), key=self.parted)
        spares = self.parted(best) < min(map(self.parted, coarse))
        return (*coarse, best) if spares else tuple(coarse)

    def _start(self, share: float) -> float:
        return self._low - self._spare * share

    def parted(self, start: float) -> int:
        """How many wholes lie across a join of pages that begin here."""
        joins = [start + k * self._step + self._half_overlap for k in range(1, self.count)]
        beyond = [*joins, math.inf]
        return sum(beyond[bisect_right(joins, a)] < b for a, b in self._wholes)


def _too_small(page_mm: float, overlap_mm: float) -> Problem:
    return Problem(
        "paper-too-small",
        Severity.ERROR,
        f"the paper leaves {max(page_mm, 0.0):.1f} mm to print on, "
        f"and pages overlap by {overlap_mm:g} mm: there is no room for the drawing",
        "take a larger templates.paper.size, or a smaller margin or overlap",
    )
