"""Shapes that lie by their cells, slid down and to the left as far as their true outlines go.

Imports shapely in functions.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from templater.sheets.lay_shapes import Form, Lie, Room

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

_PASSES = 3
_HALVINGS = 9
_SNAP_MM = 2e-4


def slid(
    forms: Sequence[tuple[Form, ...]], lies: Sequence[Lie], room: Room, reach_mm: float
) -> list[Lie]:
    """The lay with every shape moved down and left, none farther than `reach_mm` in one go.

    Shapes keep the room's spacing and 0.0002 mm for the snapping of what is written.
    """
    slid_lies = list(lies)
    sheets = sorted({lie.sheet for lie in lies})
    for sheet in sheets:
        yard = _Yard(
            {
                i: (one[lie.form], lie.x_mm, lie.y_mm)
                for i, (one, lie) in enumerate(zip(forms, lies, strict=True))
                if lie.sheet == sheet
            },
            room.spacing_mm + _SNAP_MM,
        )
        for _ in range(_PASSES):
            yard.settle(reach_mm)
        for i, (_, x, y) in yard.lying.items():
            slid_lies[i] = lies[i]._replace(x_mm=round(x, 4), y_mm=round(y, 4))
    return slid_lies


class _Yard:
    """What lies on one sheet."""

    def __init__(self, lying: dict[int, tuple[Form, float, float]], apart_mm: float) -> None:
        self.lying = lying
        self.apart_mm = apart_mm

    def settle(self, reach_mm: float) -> None:
        """Moves every shape down and left once, the lowest first."""
        for i in sorted(self.lying, key=lambda i: (self.lying[i][2], self.lying[i][1], i)):
            form, x, y = self.lying[i]
            others = self._others(i, reach_mm)
            y -= self._free_way(form, others, (x, y), (0.0, -1.0), min(y, reach_mm))
            x -= self._free_way(form, others, (x, y), (-1.0, 0.0), min(x, reach_mm))
            self.lying[i] = (form, x, y)

    def _others(self, i: int, reach_mm: float) -> list[BaseGeometry]:
        """The outlines that a shape could meet on a way that long."""
        from shapely.affinity import translate

        form, x, y = self.lying[i]
        near = self.apart_mm
        return [
            translate(other.geometry, u, v)
            for j, (other, u, v) in self.lying.items()
            if j != i
            and u < x + form.wide_mm + near
            and u + other.wide_mm > x - reach_mm - near
            and v < y + form.tall_mm + near
            and v + other.tall_mm > y - reach_mm - near
        ]

    def _free_way(
        self,
        form: Form,
        others: Sequence[BaseGeometry],
        at: tuple[float, float],
        way: tuple[float, float],
        most: float,
    ) -> float:
        """How far the shape may go that way, found by halving."""
        if most <= 0.0 or self._is_free(form, others, at, way, most):
            return max(most, 0.0)
        low, high = 0.0, most
        for _ in range(_HALVINGS):
            middle = (low + high) / 2.0
            if self._is_free(form, others, at, way, middle):
                low = middle
            else:
                high = middle
        return low

    def _is_free(
        self,
        form: Form,
        others: Sequence[BaseGeometry],
        at: tuple[float, float],
        way: tuple[float, float],
        far: float,
    ) -> bool:
        import shapely
        from shapely.affinity import translate

        moved = translate(form.geometry, at[0] + way[0] * far, at[1] + way[1] * far)
        return not bool(shapely.dwithin(moved, others, self.apart_mm).any()) if others else True
