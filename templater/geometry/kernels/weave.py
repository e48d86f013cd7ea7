"""Laying a pattern that repeats across a zone: stones wherever they may stand. Import late."""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np

from templater.geometry.kernels.compiled import (
    Reals,
    Wholes,
    column,
    counters,
    kernel,
    whole_column,
)
from templater.geometry.kernels.room import Space, Stones, put, snapped, stands_free
from templater.geometry.kernels.space import copied, roomier
from templater.geometry.kernels.tightening import Cell
from templater.model.curves import Point

_DEPTHS = (10.0, 2.6)
"""How far from an empty place of the pattern, in the largest grown radii, stones are as `Depths` says."""

Floats = np.ndarray[Any, Any]


class Depths(NamedTuple):
    """Which stones lie deep in a pattern: from number `first` up to `firm` so deep that what is done at
    its edge is not felt; up to `enclosed`, too, with no room for another beside them.
    """

    first: int
    firm: int
    enclosed: int


SHALLOW = Depths(0, 0, 0)


@kernel
def lay_down(
    space: Space, stones: Stones, xs: Reals, ys: Reals, sizes: Wholes, laid: Wholes
) -> None:
    """Sets stones at the given places where they may stand, and tells which by a 1 in `laid`.

    The columns must have room for all.
    """
    for k in range(len(xs)):
        x = snapped(xs[k])
        y = snapped(ys[k])
        size = int(sizes[k])
        if stands_free(space, stones, x, y, size, False, -1):
            put(space, stones, x, y, size, 0)
            laid[k] = 1


def laid(
    space: Space,
    start: Stones,
    cell: Cell,
    at: Point,
    way: Point,
    shift: Point,
    *,
    mirrored: bool,
) -> tuple[Stones, Depths]:
    """The stones at the start, and the cell repeated along `way` (unit) wherever a stone may stand.

    `shift` tells which place of the cell, as parts of its sides, falls on `at`. Those stones come
    first that are farthest from any place of the pattern left empty.
    """
    x, y, size = _repeated(space, cell, at, way, shift, mirrored=mirrored)
    wide, high = space.fine * space.fine_nx, space.fine * space.fine_ny
    inside = (np.abs(x - space.fine_x - wide / 2.0) < wide / 2.0) & (
        np.abs(y - space.fine_y - high / 2.0) < high / 2.0
    )
    told = counters(int(inside.sum()))
    stones = roomier(copied(start), int(start.held[0]) + len(told) + 16)
    lay_down(space, stones, *_columns(x[inside], y[inside], size[inside]), told)
    kept = np.zeros(x.size, dtype=bool)
    kept[inside] = np.asarray(told) == 1
    from scipy.spatial import cKDTree

    empty, spots = cKDTree(np.column_stack([x[~kept], y[~kept]])), np.column_stack([x, y])[kept]
    largest = max(space.grown)
    far, _ = empty.query(spots, distance_upper_bound=_DEPTHS[0] * largest)
    deeper = [far > depth * largest for depth in _DEPTHS]
    order = np.argsort(-sum(mask.astype(int) for mask in deeper), kind="stable")
    stones = roomier(copied(start), int(start.held[0]) + len(spots) + 16)
    columns = _columns(spots[order, 0], spots[order, 1], size[kept][order])
    lay_down(space, stones, *columns, counters(len(spots)))
    first = int(start.held[0])
    return stones, Depths(first, *(first + int(mask.sum()) for mask in deeper))


def _columns(x: Floats, y: Floats, size: Floats) -> tuple[Reals, Reals, Wholes]:
    return column(x), column(y), whole_column(size)


def _repeated(
    space: Space, cell: Cell, at: Point, way: Point, shift: Point, *, mirrored: bool
) -> tuple[Floats, Floats, Floats]:
    """Every place of the pattern over the space and a little beyond it: x, y and size."""
    margin = _DEPTHS[1] * max(space.grown)
    xs = space.fine_x + np.array([-margin, space.fine * space.fine_nx + margin])
    ys = space.fine_y + np.array([-margin, space.fine * space.fine_ny + margin])
    far = math.hypot(xs[1] - xs[0], ys[1] - ys[0]) + cell.ax + abs(cell.bx) + cell.by
    high = math.ceil(far / cell.by)
    wide = math.ceil((far + abs(cell.bx) * high) / cell.ax)
    u, v = np.meshgrid(np.arange(-wide, wide + 1.0), np.arange(-high, high + 1.0))
    parts = []
    for size, (p, q) in zip(cell.size, cell.places, strict=True):
        along = (u + p - shift[0]) * cell.ax + (v + q - shift[1]) * cell.bx
        across = (v + q - shift[1]) * (-cell.by if mirrored else cell.by)
        x = at[0] + along * way[0] - across * way[1]
        y = at[1] + along * way[1] + across * way[0]
        inside = (x > xs[0]) & (x < xs[1]) & (y > ys[0]) & (y < ys[1])
        parts.append((x[inside], y[inside], np.full(int(inside.sum()), size)))
    x, y, sizes = (np.concatenate(columns) for columns in zip(*parts, strict=True))
    return x, y, sizes
