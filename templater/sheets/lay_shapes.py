"""What the quick lay works on: shapes in their turns, and the square cells they take.

Two shapes whose cells are all different keep their spacing: a cell counts if its centre is within
half the spacing and half a cell's diagonal of the shape. Imports numpy and shapely in functions.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, NamedTuple

from templater.model.curves import Transform

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

TURNS = {
    0: Transform(),
    90: Transform(0.0, 1.0, -1.0, 0.0),
    180: Transform(-1.0, 0.0, 0.0, -1.0),
    270: Transform(0.0, -1.0, 1.0, 0.0),
}
_ARC = 8
"""Segments of a quarter circle; their chords lie inside it by the cosine of half a segment."""
_HALF_DIAGONAL = math.sqrt(0.5)


@dataclass(frozen=True, slots=True)
class LayShape:
    """A shape to lay, as it lies unturned, and the turns allowed (0, 90, 180, 270 degrees)."""

    geometry: BaseGeometry
    turns_deg: tuple[int, ...]


class Spot(NamedTuple):
    """Where a shape lies: the sheet's number from 0, and the move from the shape's own frame."""

    sheet: int
    move: Transform


class Room(NamedTuple):
    """The usable part of a sheet, its lower left corner the origin, and the spacing to keep."""

    width_mm: float
    height_mm: float
    spacing_mm: float


class Form(NamedTuple):
    """A shape in one of its turns: how it got there, and the outline with its box at the origin."""

    move: Transform
    geometry: BaseGeometry
    wide_mm: float
    tall_mm: float


class Lie(NamedTuple):
    """How a shape lies: on which sheet, in which of its forms, its box's lower left corner."""

    sheet: int
    form: int
    x_mm: float
    y_mm: float


def forms_of(shapes: Sequence[LayShape], room: Room) -> list[tuple[Form, ...]]:
    """Of every shape the turns that fit the room; shapes that are alike share theirs."""
    kept: dict[tuple[bytes, tuple[int, ...]], tuple[Form, ...]] = {}
    found = []
    for shape in shapes:
        key = (shape.geometry.wkb, shape.turns_deg)
        if key not in kept:
            every = (_form(shape.geometry, turn) for turn in shape.turns_deg)
            kept[key] = tuple(
                form
                for form in every
                if form.wide_mm <= room.width_mm and form.tall_mm <= room.height_mm
            )
        found.append(kept[key])
    return found


def _form(geometry: BaseGeometry, turn_deg: int) -> Form:
    from shapely.affinity import affine_transform, translate

    turn = TURNS[turn_deg]
    turned = affine_transform(geometry, (turn.a, turn.c, turn.b, turn.d, 0.0, 0.0))
    x0, y0, x1, y1 = turned.bounds
    move = Transform(turn.a, turn.b, turn.c, turn.d, -x0, -y0)
    return Form(move, translate(turned, -x0, -y0), x1 - x0, y1 - y0)


def extent(forms: Sequence[tuple[Form, ...]], lies: Sequence[Lie]) -> tuple[int, float]:
    """How many sheets a lay takes, and how far up the last it goes in mm."""
    last = max(lie.sheet for lie in lies)
    tops = [
        lie.y_mm + one[lie.form].tall_mm
        for one, lie in zip(forms, lies, strict=True)
        if lie.sheet == last
    ]
    return last + 1, max(tops)


def spot_of(form: Form, lie: Lie) -> Spot:
    """The move that brings a shape to where it lies, snapped to 0.0001 mm."""
    m = form.move
    x, y = round(m.e + lie.x_mm, 4), round(m.f + lie.y_mm, 4)
    return Spot(lie.sheet, Transform(m.a, m.b, m.c, m.d, x, y))


def cells_of(form: Form, room: Room, cell: float) -> Any:
    """The cells a form takes, rows upwards: True where taken.

    Cell (0, 0) begins half the spacing below and to the left of the form's box.
    """
    import numpy as np
    import shapely

    pad = room.spacing_mm / 2.0
    reach = (pad + cell * _HALF_DIAGONAL) / math.cos(math.pi / (4 * _ARC))
    grown = shapely.buffer(form.geometry, reach, quad_segs=_ARC)
    columns, rows = (
        math.ceil((side + 2.0 * pad) / cell - 1e-9) for side in (form.wide_mm, form.tall_mm)
    )
    xs, ys = np.meshgrid(
        (np.arange(columns) + 0.5) * cell - pad, (np.arange(rows) + 0.5) * cell - pad
    )
    shapely.prepare(grown)
    return shapely.contains_xy(grown, xs, ys)


def cell_across(least_mm: float, room: Room) -> float:
    """The side of cells of which a whole number goes across the room, none smaller if there is room
    for one.
    """
    across = room.width_mm + room.spacing_mm
    return across / max(math.floor(across / least_mm), 1)


def whole_cells(length_mm: float, room: Room, cell: float) -> int:
    """How many cells there are to that usable length: they reach half the spacing beyond it."""
    return math.floor((length_mm + room.spacing_mm) / cell + 1e-9)
