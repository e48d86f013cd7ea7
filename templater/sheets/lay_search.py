"""A lay made tighter: on fewer sheets, or a strip made shorter bit by bit, shapes pushed apart again.

The effort and the random state follow from the number of shapes: the same shapes always lie alike,
compiled or plain. Imports numpy and the kernels in functions.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from templater.sheets.lay_shapes import (
    Form,
    Lie,
    Room,
    cell_across,
    cells_of,
    extent,
    whole_cells,
)

if TYPE_CHECKING:
    from templater.geometry.kernels.separate import Lines

EFFORT = 40_000_000
"""Steps of sliding for each shape: a dozen take about a second where kernels are compiled."""
_MOST_EFFORT = 4_000_000_000
_CELLS_ACROSS = 100
"""Cells along the side of a square as large as the shapes are at the mean."""
_MOST_ACROSS = 1500
_FINEST_MM = 0.05
_SHORTER = 0.04
_EASIER = 0.7
_LEAST_SHORTER = 0.001
_FULL = 0.9
"""No lay of odd shapes fills more of its sheets: fewer are not tried."""


def search_cell(forms: Sequence[tuple[Form, ...]], room: Room) -> float:
    """The side of the search's cells in mm."""
    mean = sum(float(one[0].geometry.area) for one in forms) / len(forms)
    across = (room.width_mm + room.spacing_mm) / _MOST_ACROSS
    return cell_across(max(_FINEST_MM, math.sqrt(mean) / _CELLS_ACROSS, across), room)


def tightened(
    forms: Sequence[tuple[Form, ...]],
    lies: Sequence[Lie],
    room: Room,
    *,
    shorten: bool,
    effort: int = EFFORT,
) -> list[Lie]:
    """The lay on fewer sheets if it goes; with `shorten` a lay on one sheet made as short as it goes.

    Every shape must have a form. `effort` is for each shape. Gives the lay it was given where
    nothing better is found.
    """
    sheets, top = extent(forms, lies)
    # Each shape and half the spacing round it, on sheets that reach half the spacing farther.
    area = sum(float(one[0].geometry.buffer(room.spacing_mm / 2.0).area) for one in forms)
    across, up = room.width_mm + room.spacing_mm, room.height_mm + room.spacing_mm
    fewest = max(math.ceil(area / (across * up * _FULL)), 1)
    tallest = max(min(form.tall_mm for form in one) for one in forms)
    shorten = shorten and top > max(tallest, area / across - room.spacing_mm)
    if sheets <= fewest and not (sheets == 1 and shorten):
        return list(lies)
    grid = _Grid(forms, room, lies, min(effort * len(forms), _MOST_EFFORT))
    while grid.sheets > fewest and grid.may_try(grid.rows):
        grid.fits(grid.sheets - 1, grid.rows)
    if grid.sheets == 1 and shorten:
        _shorten(grid, area)
    found = grid.lies()
    return found if extent(forms, found) < (sheets, top) else list(lies)


def _shorten(grid: _Grid, area_mm2: float) -> None:
    """Ever shorter strips, by steps that shrink where shapes could not be pushed apart."""
    step = _SHORTER
    while step > _LEAST_SHORTER:
        top = grid.top()
        rows = min(math.floor(top * (1.0 - step)), top - 1)
        roomy = rows * grid.columns * grid.cell**2 >= area_mm2
        if not (roomy and grid.may_try(rows) and grid.fits(1, rows)):
            step *= _EASIER


class _Grid:
    """Shapes on cells for the kernel, and the best lay so far."""

    def __init__(
        self, forms: Sequence[tuple[Form, ...]], room: Room, lies: Sequence[Lie], effort: int
    ) -> None:
        from templater.geometry.kernels.compiled import counters, whole_column, wide_counters
        from templater.geometry.kernels.separate import UNIT, Crowd, Desk
        from templater.geometry.rng import rng_state

        self.cell = cell = search_cell(forms, room)
        self.columns = whole_cells(room.width_mm, room, cell)
        self.rows = whole_cells(room.height_mm, room, cell)
        self.sheets = 1 + max(lie.sheet for lie in lies)
        begins: dict[int, int] = {}
        masks: list[Any] = []
        for one in forms:
            if id(one) not in begins:
                begins[id(one)] = len(masks)
                masks += [cells_of(form, room, cell) for form in one]
        self._begins = [begins[id(one)] for one in forms]
        self._wide = [int(mask.shape[1]) for mask in masks]
        self._tall = [int(mask.shape[0]) for mask in masks]
        self._best = [
            (lie.sheet, begin + lie.form, round(lie.x_mm / cell), round(lie.y_mm / cell))
            for begin, lie in zip(self._begins, lies, strict=True)
        ]
        count = len(forms)
        self._crowd = Crowd(
            begins=whole_column(self._begins),
            turns=whole_column([len(one) for one in forms]),
            wide=whole_column(self._wide),
            tall=whole_column(self._tall),
            rows=_lines(masks),
            columns=_lines([mask.T for mask in masks]),
            form=counters(count),
            x=counters(count),
            y=counters(count),
            weight=wide_counters(count * count, UNIT),
            overlap=counters(count * count),
        )
        longest = max(self.columns, (self.sheets - 1) * self.rows, self.top())
        self._desk = Desk(
            bend=wide_counters(longest + 2 * max(*self._wide, *self._tall) + 1),
            order=counters(count),
            answer=counters(3),
            state=wide_counters(2),
            effort=wide_counters(1, effort),
        )
        self._desk.state[0], self._desk.state[1] = rng_state("lay", count)

    def may_try(self, rows: int) -> bool:
        """Whether effort is left, and none of the shapes as they lie is higher than so many rows."""
        high = max(self._tall[form] for _, form, _, _ in self._best)
        return bool(self._desk.effort[0] > 0) and high <= rows

    def top(self) -> int:
        """The first row that is free above the best lay so far, on its highest sheet."""
        return max(y + self._tall[form] for _, form, _, y in self._best)

    def fits(self, sheets: int, rows: int) -> bool:
        """Whether shapes could be pushed apart on so many sheets of so many rows; kept if so."""
        from templater.geometry.kernels.separate import UNIT, separate

        crowd = self._crowd
        for i, (sheet, form, x, y) in enumerate(self._best):
            crowd.form[i] = form
            crowd.x[i] = min(x, self.columns - self._wide[form])
            crowd.y[i] = min(y, rows - self._tall[form]) + sheet % sheets * rows
        for k in range(len(self._best) ** 2):
            crowd.weight[k] = UNIT
        if separate(crowd, self._desk, self.columns, sheets, rows):
            return False
        self.sheets = sheets
        self._best = [
            (int(y) // rows, int(form), int(x), int(y) % rows)
            for form, x, y in zip(crowd.form, crowd.x, crowd.y, strict=True)
        ]
        return True

    def lies(self) -> list[Lie]:
        """The best lay so far in mm."""
        return [
            Lie(sheet, form - begin, x * self.cell, y * self.cell)
            for begin, (sheet, form, x, y) in zip(self._begins, self._best, strict=True)
        ]


def _lines(masks: Sequence[Any]) -> Lines:
    """Masks as runs of cells along their lines."""
    import numpy as np

    from templater.geometry.kernels.compiled import whole_column
    from templater.geometry.kernels.separate import Lines

    first, at, begin, end = [], [0], [], []
    for mask in masks:
        first.append(len(at) - 1)
        edged = np.pad(mask.astype(np.int8), ((0, 0), (1, 1)))
        for line in np.diff(edged, axis=1):
            begin += np.flatnonzero(line == 1).tolist()
            end += np.flatnonzero(line == -1).tolist()
            at.append(len(begin))
    return Lines(*(whole_column(numbers) for numbers in (first, at, begin, end)))
