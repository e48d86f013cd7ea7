"""A quick lay: shapes set one after the other, largest first, each as low and then as far left as
it goes without touching the others. The same shapes always lie alike.

Shapes are compared as masks of square cells, cut large enough that what fits as masks fits in
truth, by convolution (numpy's FFT; sums of whole numbers, told apart at a half). Imports numpy
and shapely inside functions.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, NamedTuple

from templater.model.curves import Transform

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

_CELLS = 150_000
_FINEST_MM = 0.5


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
    shapes: Sequence[LayShape], width_mm: float, height_mm: float, spacing_mm: float
) -> list[Spot | None]:
    """A spot for every shape on sheets of that usable size, whose lower left corner is the origin.

    Shapes keep `spacing_mm` from each other and lie wholly on the sheet; None for one too large.
    """
    area = width_mm * height_mm
    cell = max(_FINEST_MM, math.sqrt(area / _CELLS))
    order = sorted(range(len(shapes)), key=lambda i: (-shapes[i].geometry.area, i))
    spots: list[Spot | None] = [None] * len(shapes)
    sheets: list[_Sheet] = []
    for index in order:
        masks = [
            _Mask.of(shapes[index], turn, spacing_mm, cell)
            for turn in shapes[index].turns_deg
            if _fits(shapes[index], turn, width_mm, height_mm)
        ]
        if not masks:
            continue
        for number in range(len(sheets) + 1):
            fresh = number == len(sheets)
            sheet = _Sheet(width_mm, height_mm, spacing_mm, cell) if fresh else sheets[number]
            found = sheet.lowest(masks)
            if found is None:
                continue
            mask, row, column = found
            sheet.fill(mask, row, column)
            if fresh:
                sheets.append(sheet)
            spots[index] = Spot(number, mask.move(sheet, row, column))
            break
    return spots


def _fits(shape: LayShape, turn_deg: int, width_mm: float, height_mm: float) -> bool:
    x0, y0, x1, y1 = shape.geometry.bounds
    wide, tall = (y1 - y0, x1 - x0) if turn_deg in {90, 270} else (x1 - x0, y1 - y0)
    return bool(wide <= width_mm and tall <= height_mm)


class _Mask:
    """A turned shape's cells; `x0`, `y0` is the lower left corner of cell (0, 0) in its turned frame."""

    def __init__(self, turn: Transform, x0: float, y0: float, cells: Any) -> None:
        self.turn, self.x0, self.y0, self.cells = turn, x0, y0, cells

    @classmethod
    def of(cls, shape: LayShape, turn_deg: int, spacing_mm: float, cell: float) -> _Mask:
        import numpy as np
        import shapely
        from shapely.affinity import affine_transform

        turn = _TURNS[turn_deg]
        turned = affine_transform(shape.geometry, (turn.a, turn.c, turn.b, turn.d, 0.0, 0.0))
        # A cell counts as covered if its centre is within half a diagonal of the grown shape.
        grown = shapely.buffer(turned, spacing_mm / 2.0 + cell * 0.7072, quad_segs=8)
        left, low, right, high = shapely.bounds(turned)
        x0 = left - spacing_mm / 2.0
        y0 = low - spacing_mm / 2.0
        columns = math.ceil((right - left + spacing_mm) / cell)
        rows = math.ceil((high - low + spacing_mm) / cell)
        xs, ys = np.meshgrid(
            x0 + (np.arange(columns) + 0.5) * cell, y0 + (np.arange(rows) + 0.5) * cell
        )
        shapely.prepare(grown)
        return cls(turn, x0, y0, shapely.contains_xy(grown, xs, ys))

    def move(self, sheet: _Sheet, row: int, column: int) -> Transform:
        dx = round(column * sheet.cell - sheet.pad - self.x0, 4)
        dy = round(row * sheet.cell - sheet.pad - self.y0, 4)
        return Transform(self.turn.a, self.turn.b, self.turn.c, self.turn.d, dx, dy)


class _Sheet:
    """The cells of a sheet that are taken, and their transform, kept up to date."""

    def __init__(self, width_mm: float, height_mm: float, spacing_mm: float, cell: float) -> None:
        import numpy as np

        self.cell, self.pad = cell, spacing_mm / 2.0
        # Masks reach half the spacing beyond their shapes, and so may reach beyond the sheet.
        self.columns = math.floor((width_mm + spacing_mm) / cell + 1e-9)
        self.rows = math.floor((height_mm + spacing_mm) / cell + 1e-9)
        self.taken = np.zeros((self.rows, self.columns))

    def lowest(self, masks: Sequence[_Mask]) -> tuple[_Mask, int, int] | None:
        """The place whose upper edge is lowest, then the leftmost, then the first turn."""
        import numpy as np

        best: tuple[int, int, int] | None = None
        spectrum: Any = None
        for number, mask in enumerate(masks):
            rows, columns = mask.cells.shape
            if rows > self.rows or columns > self.columns:
                continue
            if spectrum is None:
                spectrum = np.fft.rfft2(self.taken)
            padded = np.zeros_like(self.taken)
            padded[:rows, :columns] = mask.cells
            overlap = np.fft.irfft2(spectrum * np.conj(np.fft.rfft2(padded)), s=self.taken.shape)
            free = overlap[: self.rows - rows + 1, : self.columns - columns + 1] < 0.5
            places = np.argwhere(free)
            if len(places) == 0:
                continue
            row, column = (int(value) for value in places[0])
            found = (row + rows, column, number)
            best = found if best is None else min(best, found)
        if best is None:
            return None
        top, column, number = best
        return masks[number], top - masks[number].cells.shape[0], column

    def fill(self, mask: _Mask, row: int, column: int) -> None:
        rows, columns = mask.cells.shape
        self.taken[row : row + rows, column : column + columns] += mask.cells
