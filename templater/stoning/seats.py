"""Seats: places for stones while a row is being set, and what keeps them apart. Imported late."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from templater.geometry.clearance import all_inside, depths
from templater.geometry.measure import box_of
from templater.model.curves import Box, Point
from templater.model.stones import Field, Size

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

SPARE_MM = 1e-4
"""Kept beyond every wall while seats are sought, so that snapping to 0.0001 mm costs nothing."""
SPARE_PITCH_MM = 1.5e-4
"""The same between two stones, which are both snapped."""


class Seat(NamedTuple):
    """A place for a round stone. `on_fold`: centred on the fold."""

    x: float
    y: float
    size: Size
    on_fold: bool = False

    @property
    def at(self) -> Point:
        return (self.x, self.y)


def snapped(at: Point) -> Point:
    """To 0.0001 mm, without a negative nought."""
    return (round(at[0], 4) + 0.0, round(at[1], 4) + 0.0)


class Ledger:
    """The seats taken so far, by cells, to ask whether a new one is far enough from all.

    Grows while one zone is set; it never leaves the function that made it.
    """

    def __init__(self, gap_mm: float) -> None:
        self._gap = gap_mm
        self._cell = 8.0
        self._cells: dict[tuple[int, int], list[Seat]] = {}
        self._widest = 0.0
        self.seats: list[Seat] = []

    def add(self, seat: Seat) -> None:
        self.seats.append(seat)
        self._widest = max(self._widest, seat.size.width_mm)
        self._cells.setdefault(self._key(seat.at), []).append(seat)

    def taken_out(self, at: Point) -> Seat:
        """The seat at a point, which is free from now on."""
        cell = self._cells[self._key(at)]
        seat = next(seat for seat in cell if seat.at == at)
        cell.remove(seat)
        self.seats.remove(seat)
        return seat

    def _key(self, at: Point) -> tuple[int, int]:
        return (math.floor(at[0] / self._cell), math.floor(at[1] / self._cell))

    def near(self, at: Point, within_mm: float) -> list[Seat]:
        """Seats whose centres are nearer than so far."""
        x, y = at
        c0, r0 = self._key((x - within_mm, y - within_mm))
        c1, r1 = self._key((x + within_mm, y + within_mm))
        return [
            seat
            for column in range(c0, c1 + 1)
            for row in range(r0, r1 + 1)
            for seat in self._cells.get((column, row), ())
            if math.hypot(seat.x - x, seat.y - y) < within_mm
        ]

    def is_free(self, at: Point, size: Size) -> bool:
        """Whether a stone there keeps its gap from all others (to within what snapping needs)."""
        reach = (size.width_mm + self._widest) / 2.0 + self._gap
        return all(
            math.hypot(seat.x - at[0], seat.y - at[1])
            >= (size.width_mm + seat.size.width_mm) / 2.0 + self._gap - 1e-6
            for seat in self.near(at, reach)
        )

    def capsules(self, size: Size, line: Sequence[Point], besides: Iterable[Point] = ()) -> Floats:
        """Where the centre of a further stone may not be because of the seats taken near a line."""
        left_out = set(besides)
        reach = (size.width_mm + self._widest) / 2.0 + self._gap + SPARE_PITCH_MM
        rows = [
            (
                *seat.at,
                *seat.at,
                (size.width_mm + seat.size.width_mm) / 2.0 + self._gap + SPARE_PITCH_MM,
            )
            for seat in self._within(box_of(line), reach)
            if seat.at not in left_out
        ]
        return np.array(rows, dtype=float).reshape(-1, 5)

    def _within(self, box: Box, beyond_mm: float) -> list[Seat]:
        c0, r0 = self._key((box[0] - beyond_mm, box[1] - beyond_mm))
        c1, r1 = self._key((box[2] + beyond_mm, box[3] + beyond_mm))
        if (c1 - c0 + 1) * (r1 - r0 + 1) > len(self._cells):
            cells = [key for key in self._cells if c0 <= key[0] <= c1 and r0 <= key[1] <= r1]
        else:
            cells = [(c, r) for c in range(c0, c1 + 1) for r in range(r0, r1 + 1)]
        return [seat for key in cells for seat in self._cells.get(key, ())]


def wall_capsules(
    field: Field, size: Size, gap_mm: float, deeper: dict[tuple[float, ...], float]
) -> Floats:
    """Where a stone's centre may not be: near walls and obstacles; the fold is left out.

    `deeper` adds to the distance from single walls, found by their ends (x0, y0, x1, y1).
    """
    r = size.width_mm / 2.0
    rows: list[tuple[float, ...]] = [
        (*wall[:4], r + wall.clearance_mm + deeper.get(wall[:4], 0.0) + SPARE_MM)
        for wall in field.walls
        if not wall.is_fold and not 0.0 <= size.height_mm <= wall.limit_mm
    ]
    for obstacle in field.obstacles:
        reach = r + obstacle.radius_mm + (gap_mm + obstacle.gap_mm) / 2.0 + SPARE_MM
        ring = obstacle.corners
        rows += [(*a, *b, reach) for a, b in zip(ring, [*ring[1:], ring[0]], strict=True)]
    return np.array(rows, dtype=float).reshape(-1, 5)


def fold_capsules(field: Field, size: Size) -> Floats:
    """Where the centre of a stone that is not on the fold may not be because of the fold."""
    rows = [
        (*wall[:4], size.width_mm / 2.0 + wall.clearance_mm + SPARE_MM)
        for wall in field.walls
        if wall.is_fold
    ]
    return np.array(rows, dtype=float).reshape(-1, 5)


def lie_within(field: Field, points: Sequence[Point], size: Size) -> list[bool]:
    """Inside the zone, and in no area that is closed to the size; walls are not asked."""
    at = np.array(points, dtype=float).reshape(-1, 2)
    within = all_inside(at, field.rings)
    for low in field.lows:
        if size.height_mm > low.limit_mm:
            within &= ~all_inside(at, low.rings)
    for obstacle in field.obstacles:
        if len(obstacle.corners) > 2:
            within &= ~all_inside(at, (obstacle.corners,))
    return [bool(flag) for flag in within]


def sound(field: Field, seats: Sequence[Seat], gap_mm: float) -> list[Seat]:
    """The seats that keep every rule once snapped; a last look, which should lose none."""
    ledger = Ledger(gap_mm)
    deepest = [-math.inf] * len(seats)
    for size in {seat.size.name: seat.size for seat in seats}.values():
        group = [k for k, seat in enumerate(seats) if seat.size.name == size.name]
        points = np.array([snapped(seats[k].at) for k in group])
        by_wall = depths(points, wall_capsules(field, size, gap_mm, {})).tolist()
        by_fold = depths(points, fold_capsules(field, size)).tolist()
        for k, wall, fold in zip(group, by_wall, by_fold, strict=True):
            deepest[k] = wall if seats[k].on_fold else max(wall, fold)
    for seat, deep in zip(seats, deepest, strict=True):
        at = snapped(seat.at)
        if deep <= SPARE_MM + 1e-6 and ledger.is_free(at, seat.size):
            ledger.add(seat._replace(x=at[0], y=at[1]))
    return ledger.seats
