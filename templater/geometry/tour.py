"""The order in which a machine visits holes: short travel, the same every run."""

from __future__ import annotations

import math
from collections.abc import Sequence

from templater.model.curves import Point

SEEN = 24
_CHUNK = 512
NEAREST = 5
IN_QUADRANT = 2
KICKS_PER_POINT = 2
"""By default. More shortens by a little for much more time; 0 is a good search without kicks."""
LONGEST = 1000
SPAN = 50
"""Kicks exchange stretches of up to so many stops; repairs reverse up to LONGEST."""
_FEW = 8


def tour_length(points: Sequence[Point], order: Sequence[int], home: Point | None = None) -> float:
    """The way in mm: from home and open, or closed where there is no home."""
    stops = [points[i] for i in order]
    if not stops:
        return 0.0
    first = home if home is not None else stops[-1]
    return sum(math.dist(a, b) for a, b in zip([first, *stops], stops, strict=False))


def tour(
    points: Sequence[Point], home: Point | None = None, kicks_per_point: int = KICKS_PER_POINT
) -> list[int]:
    """The points' numbers in the order of a short tour.

    With a `home` the tour begins there and is open; without, it is closed. The effort is fixed by
    `kicks_per_point`, the seed by the number of points: the same points give the same tour.
    """
    count = len(points)
    if count <= 3 and home is None:
        return list(range(count))
    stops = list(points) if home is None else [*points, home]
    if len(stops) < _FEW:
        return _few(points, home)
    from templater.geometry.kernels import tour as kernels
    from templater.geometry.kernels.compiled import column, counters, whole_column, zeros
    from templater.geometry.rng import rng_state

    near = _near_lists(stops)
    order = _greedy_order(stops, near)
    home_number = -1
    if home is not None:
        # One more city, the way back: it costs nothing, and is tied to home.
        home_number = count
        back = count + 1
        near = [[*([back] if i != count else []), *row] for i, row in enumerate(near)]
        near.append([home_number])
        place = order.index(home_number)
        order = [back, *order[place:], *order[:place]]
        stops = [*stops, home]
    wide = max(len(row) for row in near)
    flat = [c for row in near for c in [*row, *([-1] * (wide - len(row)))]]
    n = len(stops)
    cities = whole_column(order)
    positions = [0] * n
    for place, city in enumerate(order):
        positions[city] = place
    first, second = rng_state("tour", n)
    kernels.improve(
        column([p[0] for p in stops]),
        column([p[1] for p in stops]),
        whole_column(flat),
        wide,
        cities,
        whole_column(positions),
        home_number,
        kicks_per_point * n,
        max(1, min(SPAN, n // 4)),
        LONGEST,
        max(n // 2, 100),
        first,
        second,
        counters(n),
        counters(n),
        counters(2),
        counters(kernels.LOG),
        zeros(2 * kernels.WIDE),
        counters(2 * kernels.DEPTH + 6),
    )
    result = [int(city) for city in cities]
    if home is None:
        start = result.index(0)
        return result[start:] + result[:start]
    start = result.index(home_number)
    result = result[start:] + result[:start]
    if result[1] == count + 1:
        result = [result[0], *reversed(result[1:])]
    return [city for city in result if city < count]


def _few(points: Sequence[Point], home: Point | None) -> list[int]:
    """The shortest of all orders, for a handful of points."""
    from itertools import permutations

    if home is None:
        orders = [(0, *rest) for rest in permutations(range(1, len(points)))]
    else:
        orders = list(permutations(range(len(points))))
    lengths = [tour_length(points, order, home) for order in orders]
    return list(orders[lengths.index(min(lengths))])


def _near_lists(points: Sequence[Point]) -> list[list[int]]:
    """For every point the numbers of its nearest, nearest first.

    The nearest five and, so that clusters are not shut in upon themselves, the nearest two in each
    quadrant among the nearest 24.
    """
    import numpy as np

    count = len(points)
    x, y = np.array(points, dtype=np.float64).T
    seen = min(SEEN, count - 1)
    lists: list[list[int]] = []
    for first in range(0, count, _CHUNK):
        rows = np.arange(first, min(first + _CHUNK, count))
        dx, dy = x - x[rows, None], y - y[rows, None]
        apart = dx * dx + dy * dy
        apart[np.arange(len(rows)), rows] = np.inf
        near = np.argpartition(apart, seen - 1, axis=1)[:, :seen]
        near.sort(axis=1)
        order = np.argsort(np.take_along_axis(apart, near, axis=1), axis=1, kind="stable")
        near = np.take_along_axis(near, order, axis=1)
        across = np.take_along_axis(dx, near, axis=1) > 0.0
        up = np.take_along_axis(dy, near, axis=1) > 0.0
        quadrants = across * 2 + up
        for row, quadrant in zip(near.tolist(), quadrants.tolist(), strict=True):
            counts = [0, 0, 0, 0]
            chosen = []
            for place, (other, side) in enumerate(zip(row, quadrant, strict=True)):
                counts[side] += 1
                if place < NEAREST or counts[side] <= IN_QUADRANT:
                    chosen.append(other)
            lists.append(chosen)
    return lists


def _greedy_order(points: Sequence[Point], near: Sequence[Sequence[int]]) -> list[int]:
    """Shortest edges first as long as they make paths; the paths then joined end to nearest end."""
    edges = sorted(
        (math.dist(points[i], points[j]), min(i, j), max(i, j))
        for i, row in enumerate(near)
        for j in row
    )
    links: list[list[int]] = [[] for _ in points]
    root = list(range(len(points)))

    def find(i: int) -> int:
        while root[i] != i:
            root[i] = root[root[i]]
            i = root[i]
        return i

    for _, i, j in edges:
        if len(links[i]) < 2 and len(links[j]) < 2 and find(i) != find(j):
            links[i].append(j)
            links[j].append(i)
            root[find(i)] = find(j)
    order: list[int] = []
    ends = [i for i, row in enumerate(links) if len(row) < 2]
    at = ends[0]
    open_ends = dict.fromkeys(ends)
    while True:
        before = -1
        while True:
            order.append(at)
            open_ends.pop(at, None)
            onward = [j for j in links[at] if j != before]
            if not onward:
                break
            before, at = at, onward[0]
        if not open_ends:
            return order
        x, y = points[at]
        at = min(open_ends, key=lambda i: ((points[i][0] - x) ** 2 + (points[i][1] - y) ** 2, i))
