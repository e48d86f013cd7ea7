"""The parallel curve of a boundary that is truly free: where centres touch it and nothing else.

The raw parallel of every bit is cut by the capsules of all walls; what is left is linked end to
end, also where two sides of a neck meet. So corners, cusps, necks and blocked stretches need no
cases of their own.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

from templater.geometry.clearance import free_stretches
from templater.model.curves import Point, Ring

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

ROUND_MM = 3e-4
"""Arcs about corners that stick into the zone are drawn outside the true arc by at most this."""
JOIN_MM = 2e-3
"""Ends this near are one point."""


def raw_parallel(
    line: Ring, reaches: Sequence[float], *, closed: bool, cap_start: bool, cap_end: bool
) -> list[tuple[Point, Point]]:
    """The parallel on the left of a polyline, bit by bit, before anything is cut away.

    `reaches` holds the distance for each bit. About corners that turn right, and where the
    distance changes, arcs are drawn as tangents just outside them. A cap goes on a quarter turn
    about an open end (where the row meets a fold).
    """
    ends = [*line[1:], line[0]] if closed else list(line[1:])
    bits = list(zip(line[: len(ends)], ends, reaches, strict=True))
    result: list[tuple[Point, Point]] = []
    mitred: dict[int, Point] = {}
    count = len(bits)
    for k, (start, end, reach) in enumerate(bits):
        nx, ny = _normal(start, end)
        if k == 0 and cap_start:
            result += _arc(start, reach, math.atan2(ny, nx) + math.pi / 2.0, math.pi / 2.0)
        begin = mitred.pop(k, (start[0] + reach * nx, start[1] + reach * ny))
        own = len(result)
        result.append((begin, (end[0] + reach * nx, end[1] + reach * ny)))
        if k == count - 1 and not closed:
            if cap_end:
                result += _arc(end, reach, math.atan2(ny, nx), math.pi / 2.0)
            continue
        after = bits[(k + 1) % count]
        arc = _corner(end, (nx, ny), _normal(after[0], after[1]), reach, after[2])
        if len(arc) == 2 and reach == after[2] and k < count - 1:
            # A slight turn to the right: the two parallels go on to where they meet.
            mitred[k + 1] = arc[0][1]
            result[own] = (begin, arc[0][1])
        else:
            result += arc
    return result


def _normal(start: Point, end: Point) -> Point:
    dx, dy = end[0] - start[0], end[1] - start[1]
    length = math.hypot(dx, dy)
    return (-dy / length, dx / length)


def _corner(
    at: Point, before: Point, after: Point, reach0: float, reach1: float
) -> list[tuple[Point, Point]]:
    """The arc about a corner, turning right from one normal to the next."""
    first = math.atan2(before[1], before[0])
    right = -math.remainder(math.atan2(after[1], after[0]) - first, 2.0 * math.pi)
    wide = max(reach0, reach1)
    if reach0 < wide:
        lead = math.acos(reach0 / wide)
        first += lead
        right += lead
    if reach1 < wide:
        right += math.acos(reach1 / wide)
    return _arc(at, wide, first, right) if right > 1e-9 else []


def _arc(at: Point, radius: float, first: float, right: float) -> list[tuple[Point, Point]]:
    """An arc turning right (clockwise) by `right` radians from the angle `first`, as tangents."""
    most = 2.0 * math.acos(radius / (radius + ROUND_MM))
    count = max(1, math.ceil(right / most))
    if count > 1:
        count += count % 2  # touching in the middle, where the corner's own stone goes
    part = right / count
    outer = radius / math.cos(part / 2.0)

    def on(distance: float, angle: float) -> Point:
        return (at[0] + distance * math.cos(angle), at[1] + distance * math.sin(angle))

    points = [on(radius, first)]
    points += [on(outer, first - (i + 0.5) * part) for i in range(count)]
    points.append(on(radius, first - right))
    return list(pairwise(points))


def free_parallels(
    raws: Sequence[Sequence[tuple[Point, Point]]], capsules: Floats
) -> list[tuple[list[Point], bool]]:
    """The free stretches of raw parallels, linked: each a polyline and whether it closes.

    A closed one does not repeat its first point. In the order of the raws and along them.
    """
    import numpy as np

    lines = [(*start, *end) for raw in raws for start, end in raw]
    stretches, _ = free_stretches(np.array(lines).reshape(-1, 4), capsules)
    pieces = [((x0, y0), (x1, y1)) for x0, y0, x1, y1 in stretches.tolist()]
    pieces = [piece for piece in pieces if math.dist(*piece) > 1e-9]
    return _linked(pieces)


def _linked(pieces: Sequence[tuple[Point, Point]]) -> list[tuple[list[Point], bool]]:
    after, before = _links(pieces)
    chains: list[tuple[list[Point], bool]] = []
    done = [False] * len(pieces)
    heads = [k for k in range(len(pieces)) if before[k] < 0]
    for head in (*heads, *range(len(pieces))):
        if done[head]:
            continue
        at, order = head, []
        while at >= 0 and not done[at]:
            done[at] = True
            order.append(at)
            at = after[at]
        chains.append((_points([pieces[k] for k in order], at == head), at == head))
    return [(points, closed) for points, closed in chains if len(points) > (2 if closed else 1)]


def _links(pieces: Sequence[tuple[Point, Point]]) -> tuple[list[int], list[int]]:
    """For each piece the one that goes on where it ends, and the one that ends where it starts."""
    cells: dict[tuple[int, int], list[int]] = {}
    for k, (start, _) in enumerate(pieces):
        cells.setdefault(_cell(start), []).append(k)
    after, before = [-1] * len(pieces), [-1] * len(pieces)
    wishes: list[tuple[int, float, int, int]] = []
    count = len(pieces)
    for k, (_, end) in enumerate(pieces):
        column, row = _cell(end)
        near = [
            j
            for dc in (-1, 0, 1)
            for dr in (-1, 0, 1)
            for j in cells.get((column + dc, row + dr), ())
            if j != k
        ]
        for j in near:
            apart = math.dist(end, pieces[j][0])
            if apart <= JOIN_MM:
                # The next in order goes first: it is the same boundary going on.
                wishes.append((0 if j == (k + 1) % count else 1, apart, k, j))
    for _, _, k, j in sorted(wishes):
        if after[k] < 0 and before[j] < 0:
            after[k], before[j] = j, k
    return after, before


def _cell(at: Point) -> tuple[int, int]:
    return (math.floor(at[0] / JOIN_MM), math.floor(at[1] / JOIN_MM))


def _points(pieces: Sequence[tuple[Point, Point]], closed: bool) -> list[Point]:
    """The pieces' points, ends that meet made one, tiny steps backwards left out."""
    points = [pieces[0][0]]
    for (_, end), (start, _) in pairwise(pieces):
        points.append(((end[0] + start[0]) / 2.0, (end[1] + start[1]) / 2.0))
    points.append(pieces[-1][1])
    if closed:
        last, first = points.pop(), points[0]
        points[0] = ((last[0] + first[0]) / 2.0, (last[1] + first[1]) / 2.0)
    kept: list[Point] = []
    for point in points:
        while (
            len(kept) > 1
            and math.dist(kept[-1], point) <= 2.0 * JOIN_MM
            and _back(kept[-2], kept[-1], point)
        ):
            kept.pop()
        if not kept or kept[-1] != point:
            kept.append(point)
    return kept


def _back(a: Point, b: Point, c: Point) -> bool:
    return (b[0] - a[0]) * (c[0] - b[0]) + (b[1] - a[1]) * (c[1] - b[1]) < 0.0
