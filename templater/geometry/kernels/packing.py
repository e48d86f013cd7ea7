"""Driving the growth of a fill: columns that widen as needed, seeds, tastes. Import late."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np

from templater.geometry.kernels.annealing import Plan, anneal, settle
from templater.geometry.kernels.compiled import (
    Wholes,
    column,
    counters,
    stretched,
    whole_column,
    wide_counters,
    zeros,
)
from templater.geometry.kernels.crowd import NEIGHBOURS, SKIN_MM, Crowd, enter, leave
from templater.geometry.kernels.front import DONE, MORE_STONES, grow, offer_beside, weed
from templater.geometry.kernels.heap import Queue
from templater.geometry.kernels.mixing import count_ends
from templater.geometry.kernels.offers import NEAR, Bench, offer_seeds
from templater.geometry.kernels.renewal import renew_many
from templater.geometry.kernels.room import FAR, Space, Stones
from templater.geometry.kernels.space import copied, roomier
from templater.geometry.kernels.squeeze import MOST, PAIRS, Yard, fill_voids
from templater.geometry.kernels.sweep import DEEP, fill_fold, fill_rest
from templater.geometry.kernels.ways import Taste, nearest_walls
from templater.geometry.kernels.weave import SHALLOW, Depths
from templater.model.curves import Point, Ring


def new_queue(sizes: int, each: int) -> Queue:
    """An empty queue with room for `each` places of every size."""
    count = sizes * each
    return Queue(zeros(count), zeros(count), zeros(count), counters(count), counters(sizes), each)


def new_bench(space: Space, state: tuple[int, int]) -> Bench:
    """Working columns, with a generator started from two numbers."""
    numbers = wide_counters(2)
    numbers[0], numbers[1] = state
    sizes = len(space.grown)
    return Bench(
        counters(NEAR),
        zeros(NEAR),
        zeros(NEAR),
        zeros(NEAR),
        zeros(NEAR),
        numbers,
        counters(sizes),
        column([0.0, 0.0, FAR * FAR]),
    )


def depth_map(space: Space) -> Wholes:
    """For each fine cell the nearest wall."""
    count = space.fine_nx * space.fine_ny
    nearest, ways = counters(count, -1), column(np.full(count, FAR))
    nearest_walls(space, nearest, ways)
    return nearest


def corner_seeds(space: Space, rings: Sequence[Ring]) -> list[tuple[float, float, int]]:
    """Places that touch both sides of a sharp convex corner, and one at the longest side."""
    seeds = []
    for ring in rings:
        count = len(ring)
        longest = max(range(count), key=lambda k: (math.dist(ring[k], ring[k - 1]), -k))
        places = [_beside(ring[longest - 1], ring[longest])]
        for k in range(count):
            place = _in_corner(ring[k - 1], ring[k], ring[(k + 1) % count])
            if place is not None:
                places.append(place)
        for (x, y), (dx, dy) in places:
            for s in range(len(space.radius)):
                for clear in sorted(set(np.asarray(space.wall_clear).tolist()))[:4]:
                    reach = float(space.radius[s]) + clear + 2e-4
                    seeds.append((x + reach * dx, y + reach * dy, s))
                    seeds.append((x - reach * dx, y - reach * dy, s))
    return seeds


def _beside(a: Point, b: Point) -> tuple[Point, Point]:
    length = math.dist(a, b) or 1.0
    normal = ((a[1] - b[1]) / length, (b[0] - a[0]) / length)
    return ((a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0), normal


def _in_corner(a: Point, b: Point, c: Point) -> tuple[Point, Point] | None:
    """A corner that turns by more than 20°, and the way to go in for each mm of clearance."""
    ux, uy = b[0] - a[0], b[1] - a[1]
    vx, vy = c[0] - b[0], c[1] - b[1]
    lengths = math.hypot(ux, uy) * math.hypot(vx, vy)
    if lengths == 0.0:
        return None
    sine, cosine = (ux * vy - uy * vx) / lengths, (ux * vx + uy * vy) / lengths
    if abs(sine) < 0.342 and cosine > 0.0:
        return None
    first, second = math.hypot(ux, uy), math.hypot(vx, vy)
    nx, ny = -uy / first - vy / second, ux / first + vx / second
    over = 1.0 + cosine
    return None if over < 1e-3 else (b, (nx / over, ny / over))


def grown_fill(
    space: Space,
    stones: Stones,
    taste: Taste,
    bench: Bench,
    seeds: Sequence[tuple[float, float, int]] = (),
    deep: Depths = SHALLOW,
) -> Stones:
    """The stones with every place of the queue filled, from obstacles and seeds outwards.

    Stones enclosed in a pattern have no place beside them. Columns widen as they fill up, so the stones returned may be in new ones.
    """
    queue = new_queue(len(space.grown), 8 * NEAR + int(stones.held[0]))
    if seeds:
        offer_seeds(
            space,
            stones,
            _for_seeds(queue, len(seeds)),
            taste,
            bench,
            column([x for x, _, _ in seeds]),
            column([y for _, y, _ in seeds]),
            whole_column([s for _, _, s in seeds]),
        )
    return drained(space, stones, queue, taste, bench, deep)


def _for_seeds(queue: Queue, count: int) -> Queue:
    if queue.each < count + 6 * NEAR:
        raise ValueError("too many seeds for the queue")
    return queue


def drained(
    space: Space, stones: Stones, queue: Queue, taste: Taste, bench: Bench, deep: Depths
) -> Stones:
    """Offers the places beside stones, and fills until nothing is left."""
    first = 0
    while first < stones.held[0]:
        first = offer_beside(space, stones, queue, taste, bench, first, deep.first, deep.enclosed)
        if first < stones.held[0]:
            queue = _wider(queue)
    while True:
        code = grow(space, stones, queue, taste, bench)
        if code == DONE:
            return stones
        if code == MORE_STONES:
            stones = roomier(stones, 2 * len(stones.x))
        else:
            weed(space, stones, queue)
            if max(queue.count) + 6 * NEAR >= queue.each // 2:
                queue = _wider(queue)


def _wider(queue: Queue) -> Queue:
    each, sizes = 2 * queue.each, len(queue.count)

    def wide(values: Any) -> Any:
        result = stretched(values, sizes * each)
        for s in range(sizes - 1, -1, -1):
            part = values[s * queue.each : (s + 1) * queue.each]
            result[s * each : s * each + queue.each] = part
        return result

    return Queue(wide(queue.key), wide(queue.x), wide(queue.y), wide(queue.fold), queue.count, each)


def finished(space: Space, stones: Stones) -> Stones:
    """The stones with one of the smallest size wherever it still fits: then the fill is maximal."""
    return filled_with(
        space, stones, min(range(len(space.radius)), key=lambda s: (space.radius[s], s))
    )


def filled_with(space: Space, stones: Stones, size: int) -> Stones:
    """The stones with one more of a size wherever it fits."""
    stones = roomier(stones, int(stones.held[0]) + 64)
    while not fill_fold(space, stones, size):
        stones = roomier(stones, 2 * len(stones.x))
    stack, at, cells = zeros(3 * DEEP), 0, space.fine_nx * space.fine_ny
    while True:
        at = fill_rest(space, stones, stack, size, at)
        if at >= cells:
            return stones
        stones = roomier(stones, 2 * len(stones.x))


def new_yard() -> Yard:
    """Working columns for squeezing stones in."""
    return Yard(
        counters(MOST),
        zeros(MOST),
        zeros(MOST),
        zeros(MOST),
        counters(MOST),
        counters(MOST),
        counters(PAIRS),
        counters(PAIRS),
        zeros(4),
    )


def mended(space: Space, stones: Stones) -> Stones:
    """Stones of one size with more of them squeezed into the voids between them."""
    yard = new_yard()
    for reach, lack in ((3.0, 0.35), (4.0, 0.6)):
        stones = roomier(stones, int(stones.held[0] * 1.1) + 64)
        wide = space.grown[0] * 2.0
        fill_voids(space, stones, yard, 0, lack * space.grown[0], reach * wide, 120, counters(1))
    return stones


def stone_area(space: Space, stones: Stones) -> float:
    """The area of the stones that are no obstacles, in mm² over π."""
    size = np.asarray(stones.size)[int(stones.held[1]) : int(stones.held[0])]
    radius = np.asarray(space.radius)
    return float((radius[size[size >= 0]] ** 2).sum())


def filled_up(space: Space, stones: Stones) -> Stones:
    """The stones with more of each size, largest first, wherever one still fits."""
    for size in sorted(range(len(space.radius)), key=lambda s: (-space.radius[s], s)):
        stones = filled_with(space, stones, size)
    return stones


def renewed(
    space: Space, stones: Stones, taste: Taste, bench: Bench, tries: int, reach: float
) -> Stones:
    """The stones after many small discs of them have been cleared and filled anew."""
    sizes = np.asarray(stones.size)[: int(stones.held[0])]
    for s in range(len(space.radius)):
        bench.counts[s] = int((sizes == s).sum())
    stones = roomier(stones, int(stones.held[0] * 1.15) + 256)
    worth = column(np.asarray(space.radius) ** 2)
    queue = new_queue(len(space.radius), 8 * NEAR)
    renew_many(space, stones, queue, taste, bench, counters(2 * NEAR), worth, reach, 0.0, tries, 4)
    return stones


def assortativity(space: Space, stones: Stones, near_mm: float = 0.4) -> float:
    """How much sizes keep to their own kind: 1 apart, 0 mixed by chance, below 0 alternating.

    Over pairs whose gap is at most `near_mm` more than it has to be. Source: M. E. J. Newman,
    Mixing patterns in networks, Physical Review E 67, 026126, 2003. One size gives 0.
    """
    sizes = len(space.radius)
    ends = wide_counters(sizes * sizes)
    count_ends(space, stones, near_mm, ends)
    table = np.asarray(ends, dtype=np.float64).reshape(sizes, sizes)
    if table.sum() == 0.0:
        return 0.0
    table /= table.sum()
    alike = float((table.sum(axis=0) ** 2).sum())
    return 0.0 if alike > 1.0 - 1e-9 else (float(np.trace(table)) - alike) / (1.0 - alike)


def new_crowd(
    space: Space, stones: Stones, state: tuple[int, int], deep: Depths = SHALLOW
) -> Crowd:
    """The stones as a crowd, with room for a fifth more, and a generator started from two numbers.

    Stones deep in a pattern stay where they are.
    """
    room, sizes = int(stones.held[0]) * 6 // 5 + 64, len(space.grown)
    step = 2.0 * max(space.grown) + SKIN_MM
    nx, ny = int(space.nx * space.step / step) + 1, int(space.ny * space.step / step) + 1
    numbers = wide_counters(2)
    numbers[0], numbers[1] = state
    crowd = Crowd(
        zeros(room),
        zeros(room),
        zeros(room),
        counters(room),
        counters(room),
        counters(room + 1),
        counters(room * NEIGHBOURS),
        counters(nx * ny),
        counters(room),
        counters(room),
        counters(room),
        counters(2),
        counters(sizes),
        zeros(sizes),
        zeros(room),
        zeros(sizes * sizes),
        numbers,
        step,
        nx,
        ny,
    )
    enter(space, stones, crowd, deep.first, deep.firm)
    return crowd


def annealed(
    space: Space,
    stones: Stones,
    plan: Plan,
    rounds: int,
    state: tuple[int, int],
    deep: Depths = SHALLOW,
) -> Stones:
    """The stones (in columns of their own) after many rounds of shaking, exchange and pushing.

    Stones deep in a pattern stay where they are.
    """
    crowd = new_crowd(space, stones, state, deep)
    anneal(space, crowd, plan, rounds)
    settle(space, crowd, 60 if crowd.held[1] < 20000 else 12)
    moving = int(crowd.held[1]) - int(crowd.held[0])
    result = roomier(copied(stones), int(stones.held[0]) + moving + 16)
    leave(space, result, crowd, deep.first, deep.firm)
    return finished(space, result)
