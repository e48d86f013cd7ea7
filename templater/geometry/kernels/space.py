"""From a zone's rings, walls and obstacles to the columns that kernels read. Import late."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np

from templater.geometry.kernels.compiled import (
    COMPILED,
    Wholes,
    column,
    counters,
    stretched,
    whole_column,
    zeros,
)
from templater.geometry.kernels.raster import flip_rows, list_walls, set_inside
from templater.geometry.kernels.room import Space, Stones, link
from templater.model.curves import Point, Ring
from templater.model.stones import LowArea, Obstacle, Wall

MOST_SIZES = 30
"""Sizes are held as bits of a 32-bit number."""


class Kind(NamedTuple):
    """A round size as kernels see it, in mm."""

    radius: float
    height: float


def lay_out(
    rings: Sequence[Ring],
    walls: Sequence[Wall],
    lows: Sequence[LowArea],
    obstacles: Sequence[Obstacle],
    fold: tuple[Point, Point] | None,
    kinds: Sequence[Kind],
    gap_mm: float,
    reach_mm: float = 1.0,
) -> tuple[Space, Stones]:
    """The space of a zone for the sizes of one fill, and the stones with the obstacles in it.

    Walls are seen from up to `reach_mm` farther off than the largest stone needs. Raises ValueError
    without rings or sizes, or with more than 30 sizes.
    """
    if not kinds or not rings or len(kinds) > MOST_SIZES:
        raise ValueError("a fill needs rings and one to thirty sizes")
    half_gap = gap_mm / 2.0
    radii = [kind.radius for kind in kinds]
    discs = [o for o in obstacles if len(o.corners) == 1]
    polygons = [o for o in obstacles if len(o.corners) > 1]
    disc_grown = [o.radius_mm + o.gap_mm / 2.0 for o in discs]

    corners = np.array([point for ring in rings for point in ring])
    fine = min(radii) * 0.7
    left, low = corners.min(axis=0) - 0.37 * fine
    right, high = corners.max(axis=0)
    nx, ny = int((right - left) / fine) + 1, int((high - low) / fine) + 1
    open_to = counters(nx * ny)
    grid = (float(left), float(low), fine, nx, ny)
    _mark(rings, grid, (1 << len(kinds)) - 1, True, open_to)
    for area in lows:
        bits = sum(1 << s for s, kind in enumerate(kinds) if kind.height > area.limit_mm)
        if bits:
            _mark(area.rings, grid, bits, False, open_to)
    if polygons:
        shapes = [o.corners for o in polygons]
        _mark(shapes, grid, (1 << len(kinds)) - 1, False, open_to)

    step = (max([*radii, *(g - half_gap for g in disc_grown)]) + max(radii) + gap_mm) * 1.001
    x0, y0 = float(left) - step, float(low) - step
    cx, cy = int((right - x0) / step) + 2, int((high - y0) / step) + 2
    every_wall = [*walls, *_sides(polygons, gap_mm)]
    ax, ay, bx, by, clear, limit = (
        np.array([[*wall[:6]] for wall in every_wall], dtype=np.float64).reshape(-1, 6).T
    )
    dx, dy = bx - ax, by - ay
    squared = dx * dx + dy * dy
    over = np.divide(1.0, squared, out=np.zeros_like(squared), where=squared > 0.0)
    lines = (column(ax), column(ay), column(dx), column(dy), column(over))
    starts, items = _wall_lists(lines, clear + max(radii) + reach_mm, (x0, y0, step, cx, cy))

    fold_at, fold_to, stretches = _fold_of(fold, every_wall)
    space = Space(
        *grid,
        open_to,
        x0,
        y0,
        step,
        cx,
        cy,
        starts,
        items,
        *lines,
        column(np.sqrt(over)),
        column(clear),
        column(limit),
        whole_column([int(w.is_fold) for w in every_wall]),
        column(radii),
        column([r + half_gap for r in radii]),
        column([k.height for k in kinds]),
        *fold_at,
        *fold_to,
        column([a for a, _ in stretches]),
        column([b for _, b in stretches]),
    )
    return space, _with_discs(space, discs, disc_grown)


def _mark(
    rings: Sequence[Ring],
    grid: tuple[float, float, float, int, int],
    bits: int,
    on: bool,
    open_to: Wholes,
) -> None:
    x0, y0, h, nx, ny = grid
    points = np.array([point for ring in rings for point in ring])
    starts = whole_column([0, *itertools.accumulate(len(ring) for ring in rings)])
    flips = counters((nx + 1) * ny)
    flip_rows(column(points[:, 0]), column(points[:, 1]), starts, x0, y0, h, nx, ny, flips)
    set_inside(flips, nx, ny, bits, on, open_to)


def _sides(polygons: Sequence[Obstacle], gap_mm: float) -> list[Wall]:
    sides = []
    for stone in polygons:
        clear = (gap_mm + stone.gap_mm) / 2.0
        ring = stone.corners
        for (x0, y0), (x1, y1) in zip(ring, [*ring[1:], ring[0]], strict=True):
            sides.append(Wall(x0, y0, x1, y1, clear + stone.radius_mm))
    return sides


def _wall_lists(
    lines: tuple[Any, ...], reach: np.ndarray[Any, Any], grid: tuple[float, float, float, int, int]
) -> tuple[Wholes, Wholes]:
    """For each coarse cell where its walls begin, and the walls of all cells."""
    x0, y0, step, nx, ny = grid
    reaches = column(reach)
    counts = counters(nx * ny + 1)
    place = (reaches, x0, y0, step, nx, ny)
    list_walls(*lines, *place, counts, counters(1), False)  # type: ignore[call-arg] # five lines
    ends = np.cumsum(np.asarray(counts, dtype=np.int32))
    starts = whole_column(ends)
    items = counters(max(int(ends[-1]), 1))
    list_walls(*lines, *place, whole_column(ends), items, True)  # type: ignore[call-arg] # as above
    return starts, items


def _fold_of(
    fold: tuple[Point, Point] | None, walls: Sequence[Wall]
) -> tuple[Point, Point, list[tuple[float, float]]]:
    """A point of the fold, its direction, and the stretches of it that bound the zone."""
    if fold is None:
        return (0.0, 0.0), (1.0, 0.0), []
    (fx, fy), end = fold
    length = math.dist(*fold)
    dx, dy = (end[0] - fx) / length, (end[1] - fy) / length
    spans = sorted(
        tuple(sorted((x - fx) * dx + (y - fy) * dy for x, y in ((w.x0, w.y0), (w.x1, w.y1))))
        for w in walls
        if w.is_fold
    )
    merged: list[tuple[float, float]] = []
    for a, b in spans:
        if merged and a <= merged[-1][1] + 1e-6:
            merged[-1] = (merged[-1][0], max(b, merged[-1][1]))
        else:
            merged.append((a, b))
    return (fx, fy), (dx, dy), merged


def _with_discs(space: Space, discs: Sequence[Obstacle], grown: Sequence[float]) -> Stones:
    count = len(discs)
    room = count + 16
    stones = Stones(
        stretched(column([*(o.corners[0][0] for o in discs), 0.0]), room),
        stretched(column([*(o.corners[0][1] for o in discs), 0.0]), room),
        stretched(column([*grown, 0.0]), room),
        counters(room, -1),
        counters(room),
        counters(space.nx * space.ny, -1),
        counters(room, -1),
        whole_column([count, count]),
    )
    for k in range(count):
        link(space, stones, k)
    return stones


def roomier(stones: Stones, count: int) -> Stones:
    """The same stones in columns with room for `count` (no fewer than they have)."""
    if count <= len(stones.x):
        return stones
    return stones._replace(
        x=stretched(stones.x, count),
        y=stretched(stones.y, count),
        grown=stretched(stones.grown, count),
        size=stretched(stones.size, count),
        on_fold=stretched(stones.on_fold, count),
        after=stretched(stones.after, count),
    )


def copied(stones: Stones) -> Stones:
    """The same stones in columns of their own."""
    if COMPILED:
        return Stones(*(values.copy() for values in stones))
    return Stones(*(list(values) for values in stones))


def capacity(space: Space) -> int:
    """A count no fill of the space can exceed: no packing of equal discs is denser than π/√12.

    Source: L. Fejes Tóth 1943. Cells half in, half out are covered by the bound's edge term
    (Groemer 1960) taken generously.
    """
    smallest = 2.0 * min(space.grown)
    cells = int(np.count_nonzero(np.asarray(space.open_to)))
    area = cells * space.fine * space.fine
    wide = space.fine_nx * space.fine
    high = space.fine_ny * space.fine
    edge = min(math.sqrt(area) * 40.0, area) + 2.0 * (wide + high)
    return int(1.1548 * area / (smallest * smallest) + edge / smallest) + 64


def empty_column(count: int) -> Any:
    """A column of noughts, for callers that size their own."""
    return zeros(count)
