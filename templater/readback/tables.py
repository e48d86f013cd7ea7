"""stones.csv, holes.csv and shopping.csv, read strictly: RFC 4180, UTF-8, the columns as promised."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Callable
from typing import TypeVar

from templater.model.facts import HoleRow, ShoppingRow, StoneRow
from templater.model.problems import Problem, Refused
from templater.readback.faults import fault

Row = TypeVar("Row")

STONE_COLUMNS = (
    "zone", "side", "x_mm", "y_mm", "angle_deg", "size", "length_mm", "width_mm",
    "colour", "finish", "piece", "kind", "id",
)  # fmt: skip
HOLE_COLUMNS = (
    "template", "pass", "order", "x_mm", "y_mm", "diameter_mm", "punch_mm", "kind", "stone_id",
)  # fmt: skip
SHOPPING_COLUMNS = ("size", "colour", "finish", "count", "spare", "gross")

_MOST_FAULTS = 10


def read_stones(data: bytes, file: str = "stones.csv") -> tuple[StoneRow, ...]:
    """Every stone, in the file's order. Raises Refused with each malformed line."""
    return _read(data, file, STONE_COLUMNS, _stone)


def read_holes(data: bytes, file: str = "holes.csv") -> tuple[HoleRow, ...]:
    """Every hole, in the file's order. Raises Refused with each malformed line."""
    return _read(data, file, HOLE_COLUMNS, _hole)


def read_shopping(data: bytes, file: str = "shopping.csv") -> tuple[ShoppingRow, ...]:
    """Every line to buy, in the file's order. Raises Refused with each malformed line."""
    return _read(data, file, SHOPPING_COLUMNS, _shopping)


def _stone(cells: list[str]) -> StoneRow:
    zone, side, x, y, angle, size, length, width, colour, finish, piece, kind, name = cells
    return StoneRow(
        zone, side, _number(x), _number(y), _number(angle), size, _number(length), _number(width),
        colour, finish, piece, kind, name,
    )  # fmt: skip


def _hole(cells: list[str]) -> HoleRow:
    template, number, order, x, y, diameter, punch, kind, stone = cells
    return HoleRow(
        template, _whole(number), _whole(order), _number(x), _number(y), _number(diameter),
        _number(punch) if punch else None, kind, stone,
    )  # fmt: skip


def _shopping(cells: list[str]) -> ShoppingRow:
    size, colour, finish, count, spare, gross = cells
    return ShoppingRow(size, colour, finish, _whole(count), _whole(spare), _whole(gross))


def _number(cell: str) -> float:
    value = float(cell)
    if not math.isfinite(value):
        raise ValueError(f"{cell!r} is not a finite number")
    return value


def _whole(cell: str) -> int:
    value = int(cell)
    if value < 0:
        raise ValueError(f"{cell!r} is negative")
    return value


def _read(
    data: bytes, file: str, columns: tuple[str, ...], make: Callable[[list[str]], Row]
) -> tuple[Row, ...]:
    code = "table-unreadable"
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as error:
        raise Refused((fault(code, file, f"is not UTF-8 text ({error})"),)) from error
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    rows: list[Row] = []
    faults: list[Problem] = []
    try:
        header = next(reader, None)
        if header is None or tuple(header) != columns:
            found = "nothing" if header is None else ",".join(header)
            raise Refused(
                (fault(code, file, f"its columns are {found}, not {','.join(columns)}", 1),)
            )
        for cells in reader:
            problem = _one(cells, columns, make, rows)
            if problem:
                faults.append(fault(code, file, problem, reader.line_num))
            if len(faults) >= _MOST_FAULTS:
                break
    except csv.Error as error:
        faults.append(fault(code, file, f"is not a proper CSV line ({error})", reader.line_num))
    if faults:
        raise Refused(tuple(faults))
    return tuple(rows)


def _one(
    cells: list[str], columns: tuple[str, ...], make: Callable[[list[str]], Row], rows: list[Row]
) -> str:
    """Adds the row, or says what is wrong with it."""
    if len(cells) != len(columns):
        return f"has {len(cells)} cells where {len(columns)} belong"
    try:
        rows.append(make(cells))
    except ValueError as error:
        return f"holds a cell that is no proper number ({error})"
    return ""
