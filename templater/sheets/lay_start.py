"""The lay to begin with: shapes set one after the other, each as low and then as far left as it goes.

Places are looked for on masks of cells by convolution (numpy's FFT; sums of whole numbers, told
apart at a half). Imports numpy in functions.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any, NamedTuple

from templater.sheets.lay_shapes import (
    Form,
    Lie,
    Room,
    cell_across,
    cells_of,
    extent,
    whole_cells,
)

_CELLS = 150_000
_FINEST_MM = 0.5


def first_lay(forms: Sequence[tuple[Form, ...]], room: Room) -> list[Lie]:
    """A lie for every shape; each must have a form.

    Orders that are tried: by area, by box, by longest side. The fewest sheets win, then the lowest
    last sheet, then the order tried first.
    """
    cell = start_cell(forms, room)
    kept: dict[int, list[_Mask]] = {}
    for one in forms:
        if id(one) not in kept:
            kept[id(one)] = [_mask(form, room, cell) for form in one]
    masks = [kept[id(one)] for one in forms]
    lays = [_lay_in_order(masks, room, cell, order) for order in _orders(forms)]
    return min(lays, key=lambda lies: extent(forms, lies))


def start_cell(forms: Sequence[tuple[Form, ...]], room: Room) -> float:
    """The side of the cells in mm: so many of them to what is likely to be used of the room."""
    used = 2.2 * sum(one[0].wide_mm * one[0].tall_mm for one in forms)
    used = min(room.width_mm * room.height_mm, used)
    return cell_across(max(_FINEST_MM, math.sqrt(used / _CELLS)), room)


def _orders(forms: Sequence[tuple[Form, ...]]) -> list[tuple[int, ...]]:
    """Largest first in several senses, each order once."""
    some = range(len(forms))
    area = [float(one[0].geometry.area) for one in forms]
    sides = [(one[0].wide_mm, one[0].tall_mm) for one in forms]
    orders = (
        sorted(some, key=lambda i: (-area[i], i)),
        sorted(some, key=lambda i: (-sides[i][0] * sides[i][1], i)),
        sorted(some, key=lambda i: (-max(sides[i]), i)),
    )
    return list(dict.fromkeys(tuple(order) for order in orders))


class _Mask(NamedTuple):
    """A form's cells, the highest row they may begin in, and their spectra by the size of the room
    they were made for.
    """

    cells: Any
    highest: int
    spectra: dict[tuple[int, int], Any]


def _mask(form: Form, room: Room, cell: float) -> _Mask:
    highest = math.floor((room.height_mm - form.tall_mm) / cell + 1e-9)
    return _Mask(cells_of(form, room, cell), highest, {})


def _lay_in_order(
    masks: Sequence[Sequence[_Mask]], room: Room, cell: float, order: Sequence[int]
) -> list[Lie]:
    lies: dict[int, Lie] = {}
    sheets: list[_Sheet] = []
    for index in order:
        number = 0
        while index not in lies:
            if number == len(sheets):
                sheets.append(_Sheet(room, cell))
            place = sheets[number].take(masks[index])
            if place is not None:
                form, row, column = place
                lies[index] = Lie(number, form, column * cell, row * cell)
            number += 1
    return [lies[index] for index in range(len(lies))]


class _Sheet:
    """The cells of a sheet that are taken, up to the highest row used."""

    def __init__(self, room: Room, cell: float) -> None:
        import numpy as np

        self.columns = whole_cells(room.width_mm, room, cell)
        # The last row may reach beyond the sheet, so that shapes as high as it have room beside
        # each other; where a shape may begin is told by its true height.
        self.rows = math.ceil((room.height_mm + room.spacing_mm) / cell - 1e-9)
        self.taken: Any = np.zeros((0, self.columns))

    def take(self, masks: Sequence[_Mask]) -> tuple[int, int, int] | None:
        """Lays the form whose middle comes lowest, then leftmost, then the first: its number, row
        and column.
        """
        tallest = max(mask.cells.shape[0] for mask in masks)
        spectrum = self._spectrum(tallest)
        best: tuple[tuple[int, int, int], int] | None = None
        for number, mask in enumerate(masks):
            found = self._lowest(mask, spectrum)
            if found is not None:
                row, column = found
                key = (2 * row + mask.cells.shape[0], column, number)
                best = (key, row) if best is None or key < best[0] else best
        if best is None:
            return None
        (_, column, number), row = best
        self._fill(masks[number].cells, row, column)
        return number, row, column

    def _spectrum(self, rows: int) -> Any:
        """Of what is taken, with room above it for `rows` more: above that a shape lies free."""
        import numpy as np

        tall = min(len(self.taken) + rows, self.rows)
        room = np.zeros((_fast(tall), _fast(self.columns)))
        room[: len(self.taken), : self.columns] = self.taken
        return np.fft.rfft2(room), room.shape, tall

    def _lowest(self, mask: _Mask, spectrum: Any) -> tuple[int, int] | None:
        """The lowest, then leftmost place where the mask meets no cell taken."""
        import numpy as np

        if len(self.taken) == 0:
            return 0, 0
        of_room, shape, tall = spectrum
        rows, columns = mask.cells.shape
        if shape not in mask.spectra:
            padded = np.zeros(shape)
            padded[:rows, :columns] = mask.cells
            mask.spectra[shape] = np.conj(np.fft.rfft2(padded))
        overlap = np.fft.irfft2(of_room * mask.spectra[shape], s=shape)
        highest = min(tall - rows, mask.highest)
        free = overlap[: highest + 1, : self.columns - columns + 1] < 0.5
        places = np.flatnonzero(free)
        if len(places) == 0:
            return None
        row, column = divmod(int(places[0]), free.shape[1])
        return row, column

    def _fill(self, cells: Any, row: int, column: int) -> None:
        import numpy as np

        high, right = row + cells.shape[0], column + cells.shape[1]
        if high > len(self.taken):
            more = np.zeros((high - len(self.taken), self.columns))
            self.taken = np.vstack([self.taken, more])
        taken = self.taken[row:high, column:right]
        np.maximum(taken, cells, out=taken)


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
