"""A sheet's round holes as a table of places from a register mark, for a drill stand or a press with
two handwheels: mark 1 is set to zero, the others show whether the sheet lies straight.

One record a point: the marks, the sheet's lower left corner (by which the table can be laid back
on the sheet), and the holes by their number in the order of work. x runs to the right, y up.
"""

from __future__ import annotations

from collections.abc import Iterator

from templater.model.curves import Point
from templater.model.sheets import Circle, Drawable, Pen, Sheet
from templater.writing.numbers import snap
from templater.writing.tables import table

XY_HEAD = "point,x_mm,y_mm,width_mm,stone_id"


def xy_bytes(sheet: Sheet) -> bytes:
    """The table. Shaped holes are left out, their numbers too. Raises ValueError without a mark."""
    if not sheet.register:
        raise ValueError(f"{sheet.name} has no register mark to count from")
    return table(XY_HEAD, _rows(sheet))


def _rows(sheet: Sheet) -> Iterator[tuple[str, ...]]:
    zero = sheet.register[0]
    for number, mark in enumerate(sheet.register, start=1):
        yield (f"mark {number}", *_from(zero, mark), "", "")
    yield ("corner", *_from(zero, (0.0, 0.0)), "", "")
    for number, item in _holes(sheet):
        if isinstance(item, Circle):
            at = _from(zero, (item.x_mm, item.y_mm))
            yield (str(number), *at, f"{snap(item.diameter_mm):.4f}", item.tag)


def _from(zero: Point, at: Point) -> tuple[str, str]:
    return (f"{snap(at[0] - zero[0]):.4f}", f"{snap(at[1] - zero[1]):.4f}")


def _holes(sheet: Sheet) -> Iterator[tuple[int, Drawable]]:
    """The holes with their numbers, which are those of holes.csv."""
    holes = [
        item
        for layer in sheet.layers
        for item in layer.items
        if getattr(item, "pen", None) is Pen.HOLE
    ]
    yield from enumerate(holes, start=1)
