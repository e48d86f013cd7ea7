"""A quick lay: shapes set one after the other, each as low and then as far left as it goes without
touching the others; several orders are tried and the best is kept. The same shapes always lie alike.

Places are looked for on masks of square cells, cut large enough that what fits as masks fits in
truth, by convolution (numpy's FFT; sums of whole numbers, told apart at a half). Then the shape is
slid down and to the left as far as its true outline goes. Imports numpy and shapely in functions.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, NamedTuple

from templater.geometry.rng import Rng
from templater.model.curves import Transform

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

_CELLS = 150_000
_FINEST_MM = 0.5
_HALVINGS = 9
_SNAP_MM = 2e-4


@dataclass(frozen=True, slots=True)
class LayShape:
    """A shape to lay, as it lies unturned, and the turns allowed (0, 90, 180, 270 degrees)."""

    geometry: BaseGeometry
    turns_deg: tuple[int, ...]


class Spot(NamedTuple):
    """Where a shape lies: the sheet's number from 0, and the move from the shape's own frame."""

    sheet: int
    move: Transform


_TURNS = {
    0: Transform(),
    90: Transform(0.0, 1.0, -1.0, 0.0),
    180: Transform(-1.0, 0.0, 0.0, -1.0),
    270: Transform(0.0, -1.0, 1.0, 0.0),
}


def quick_lay(
    shapes: Sequence[LayShape],
    width_mm: float,
    height_mm: float,
    spacing_mm: float,
    tries: int = 6,
) -> list[Spot | None]:
    """A spot for every shape on sheets of that usable size, whose lower left corner is the origin.

    Shapes keep `spacing_mm` from each other and lie wholly on the sheet; None for one too large.
    Up to `tries` orders are tried, from the sixth on changes of the best so far: the fewest sheets
    win, then the lowest last sheet.
    """
    used = min(width_mm * height_mm, 2.2 * sum(_box_area(shape) for shape in shapes))
    cell = max(_FINEST_MM, math.sqrt(max(used, 1.0) / _CELLS))
    table = _Table(shapes, width_mm, height_mm, spacing_mm, cell)
    if not shapes:
        return []
    rng = Rng("lay", len(shapes))
    orders = _orders(shapes)
    best_order, best_spots, best_score = orders[0], *_lay_in_order(table, orders[0])
    for number in range(1, tries if len(shapes) > 1 else 1):
        order = orders[number] if number < len(orders) else _exchanged(best_order, rng)
        spots, score = _lay_in_order(table, order)
        if score < best_score:
            best_order, best_spots, best_score = order, spots, score
    return best_spots


def _box_area(shape: LayShape) -> float:
    x0, y0, x1, y1 = shape.geometry.bounds
    return float((x1 - x0) * (y1 - y0))


def _orders(shapes: Sequence[LayShape]) -> list[list[int]]:
    """Largest first in several senses."""

    def sides(i: int) -> tuple[float, float]:
        x0, y0, x1, y1 = shapes[i].geometry.bounds
        return float(x1 - x0), float(y1 - y0)

    everything = range(len(shapes))
    return [
        sorted(everything, key=lambda i: (-shapes[i].geometry.area, i)),
        sorted(everything, key=lambda i: (-sides(i)[0] * sides(i)[1], i)),
        sorted(everything, key=lambda i: (-max(sides(i)), i)),
        sorted(everything, key=lambda i: (-sides(i)[1], -sides(i)[0], i)),
        sorted(everything, key=lambda i: (-sides(i)[0], -sides(i)[1], i)),
    ]


def _exchanged(order: Sequence[int], rng: Rng) -> list[int]:
    """The order with one shape moved to another place, or two exchanged."""
    changed = list(order)
    i, j = rng.below(len(changed)), rng.below(len(changed))
    if rng.below(2) == 0:
        changed.insert(j, changed.pop(i))
    else:
        changed[i], changed[j] = changed[j], changed[i]
    return changed


def _lay_in_order(
    table: _Table, order: Sequence[int]
) -> tuple[list[Spot | None], tuple[int, float]]:
    spots: list[Spot | None] = [None] * len(order)
    sheets: list[_Sheet] = []
    for index in order:
        turned = table.turned(index)
        if not turned:
            continue
        for number in range(len(sheets) + 1):
            if number == len(sheets):
                sheets.append(_Sheet(table))
            move = sheets[number].take(turned)
            if move is not None:
                spots[index] = Spot(number, move)
                break
    return spots, (len(sheets), sheets[-1].top_mm if sheets else 0.0)


class _Turned(NamedTuple):
    """A shape in one of its turns, its box at the origin: how it got there, its outline, its cells.

    Cell (0, 0) begins half the spacing below and to the left of the box.
    """

    move: Transform
    geometry: BaseGeometry
    size_mm: tuple[float, float]
    cells: Any
    spectra: dict[tuple[int, int], Any]


class _Table:
    """What is common to all orders: the room, and every shape in every turn that fits it."""

    def __init__(
        self,
        shapes: Sequence[LayShape],
        width_mm: float,
        height_mm: float,
        spacing_mm: float,
        cell: float,
    ) -> None:
        self.width_mm, self.height_mm = width_mm, height_mm
        self.spacing_mm, self.cell = spacing_mm, cell
        self._shapes = shapes
        self._kept: dict[int, list[_Turned]] = {}

    def turned(self, index: int) -> list[_Turned]:
        if index not in self._kept:
            shape = self._shapes[index]
            every = (self._turn(shape.geometry, turn) for turn in shape.turns_deg)
            self._kept[index] = [one for one in every if one is not None]
        return self._kept[index]

    def _turn(self, geometry: BaseGeometry, turn_deg: int) -> _Turned | None:
        from shapely.affinity import affine_transform, translate

        turn = _TURNS[turn_deg]
        turned = affine_transform(geometry, (turn.a, turn.c, turn.b, turn.d, 0.0, 0.0))
        x0, y0, x1, y1 = turned.bounds
        if x1 - x0 > self.width_mm or y1 - y0 > self.height_mm:
            return None
        move = Transform(turn.a, turn.b, turn.c, turn.d, -x0, -y0)
        at_origin = translate(turned, -x0, -y0)
        cells, _, _ = self.cells_of(at_origin)
        return _Turned(move, at_origin, (x1 - x0, y1 - y0), cells, {})

    def cells_of(self, geometry: BaseGeometry) -> tuple[Any, int, int]:
        """Cells a geometry takes, and the row and column of their lower left one.

        Row and column 0 begin half the spacing below and left of the origin. A cell counts if its
        centre is within half a cell's diagonal of the grown shape.
        """
        import numpy as np
        import shapely

        pad, cell = self.spacing_mm / 2.0, self.cell
        grown = shapely.buffer(geometry, pad + cell * 0.7072, quad_segs=8)
        x0, y0, x1, y1 = geometry.bounds
        left, low = (max(math.floor(start / cell + 1e-9), 0) for start in (x0, y0))
        right, high = (math.ceil((end + 2.0 * pad) / cell) for end in (x1, y1))
        xs, ys = np.meshgrid(
            (np.arange(left, right) + 0.5) * cell - pad, (np.arange(low, high) + 0.5) * cell - pad
        )
        shapely.prepare(grown)
        return shapely.contains_xy(grown, xs, ys), low, left


def _fast(length: int) -> int:
    """The next length that has no prime factor above 5: quick to transform, and few of them."""
    while True:
        rest = length
        for prime in (2, 3, 5):
            while rest % prime == 0:
                rest //= prime
        if rest == 1:
            return length
        length += 1


class _Sheet:
    """What lies on a sheet: true outlines, and the cells that are taken."""

    def __init__(self, table: _Table) -> None:
        import numpy as np

        self.table = table
        self.top_mm = 0.0
        # Cells reach half the spacing beyond their shapes, and so may reach beyond the sheet.
        self.columns = math.floor((table.width_mm + table.spacing_mm) / table.cell + 1e-9)
        self.rows = math.floor((table.height_mm + table.spacing_mm) / table.cell + 1e-9)
        self.used = 0
        self.taken: Any = np.zeros((0, self.columns))
        self.laid: list[BaseGeometry] = []

    def take(self, choices: Sequence[_Turned]) -> Transform | None:
        """Lays the turn whose middle comes lowest, then leftmost, then the first."""
        from shapely.affinity import translate

        best: tuple[tuple[int, int, int], _Turned] | None = None
        fitting = [one for one in choices if self._fits(one.cells)]
        spectrum = self._spectrum(max((one.cells.shape[0] for one in fitting), default=0))
        for number, one in enumerate(fitting):
            found = self._lowest(one, spectrum)
            if found is not None:
                row, column = found
                key = (2 * row + one.cells.shape[0], column, number)
                best = (key, one) if best is None or key < best[0] else best
        if best is None:
            return None
        (height, column, _), one = best
        cell = self.table.cell
        at = (column * cell, (height - one.cells.shape[0]) // 2 * cell)
        x, y = self._slid(one, at)
        x, y = round(x, 4), round(y, 4)
        geometry = translate(one.geometry, x, y)
        self.laid.append(geometry)
        self.top_mm = max(self.top_mm, y + one.size_mm[1])
        self._fill(*self.table.cells_of(geometry))
        m = one.move
        return Transform(m.a, m.b, m.c, m.d, round(m.e + x, 4), round(m.f + y, 4))

    def _fits(self, cells: Any) -> bool:
        rows, columns = cells.shape
        return bool(rows <= self.rows and columns <= self.columns)

    def _spectrum(self, rows: int) -> Any:
        """Of what is taken, with room above it for `rows` more: above that a shape lies free."""
        import numpy as np

        tall = min(self.used + rows, self.rows)
        room = np.zeros((_fast(tall), _fast(self.columns)))
        room[: min(self.used, tall), : self.columns] = self.taken[:tall]
        return np.fft.rfft2(room), room.shape, tall

    def _lowest(self, one: _Turned, spectrum: Any) -> tuple[int, int] | None:
        """The lowest, then leftmost place where the shape's cells meet none taken."""
        import numpy as np

        if self.used == 0:
            return 0, 0
        of_room, shape, tall = spectrum
        rows, columns = one.cells.shape
        if shape not in one.spectra:
            mask = np.zeros(shape)
            mask[:rows, :columns] = one.cells
            one.spectra[shape] = np.conj(np.fft.rfft2(mask))
        overlap = np.fft.irfft2(of_room * one.spectra[shape], s=shape)
        free = overlap[: tall - rows + 1, : self.columns - columns + 1] < 0.5
        places = np.flatnonzero(free)
        if len(places) == 0:
            return None
        row, column = divmod(int(places[0]), free.shape[1])
        return row, column

    def _slid(self, one: _Turned, at: tuple[float, float]) -> tuple[float, float]:
        """From a place that fits, down and left as far as the true outline goes."""
        x, y = at
        for _ in range(2):
            y -= self._free_way(one, (x, y), (0.0, -1.0), y)
            x -= self._free_way(one, (x, y), (-1.0, 0.0), x)
        return x, y

    def _free_way(
        self, one: _Turned, at: tuple[float, float], way: tuple[float, float], most: float
    ) -> float:
        """How far the shape may go that way, up to a few cells, found by halving."""
        most = min(most, 4.0 * self.table.cell)
        if most <= 0.0 or self._is_free(one, (at[0] + way[0] * most, at[1] + way[1] * most)):
            return max(most, 0.0)
        low, high = 0.0, most
        for _ in range(_HALVINGS):
            middle = (low + high) / 2.0
            if self._is_free(one, (at[0] + way[0] * middle, at[1] + way[1] * middle)):
                low = middle
            else:
                high = middle
        return low

    def _is_free(self, one: _Turned, at: tuple[float, float]) -> bool:
        import shapely
        from shapely.affinity import translate

        if not self.laid:
            return True
        moved = translate(one.geometry, *at)
        apart = shapely.distance(moved, self.laid).min()
        return bool(apart >= self.table.spacing_mm + _SNAP_MM)

    def _fill(self, cells: Any, low: int, left: int) -> None:
        import numpy as np

        high = min(low + cells.shape[0], self.rows)
        right = min(left + cells.shape[1], self.columns)
        if high > self.used:
            more = np.zeros((high - self.used, self.columns))
            self.taken = np.vstack([self.taken, more])
            self.used = high
        taken = self.taken[low:high, left:right]
        np.maximum(taken, cells[: high - low, : right - left], out=taken)
