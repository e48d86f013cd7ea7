"""Points cut into connected groups of limited number, as few and as round as can be."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from templater.counting.neighbours import neighbour_graph, parts_of
from templater.model.curves import Point

Links = Sequence[Sequence[int]]
_MOST_MOVES = 400


def split(points: Sequence[Point], limit: int) -> list[list[int]]:
    """The points' numbers in groups of at most `limit`, each connected in `neighbour_graph`.

    The points are halved across their longest extent until all groups are small enough; the
    halves are made so that ⌈n / limit⌉ groups do wherever the shape lets connected ones. Points
    must differ; `limit` is at least 1.
    """
    if limit < 1:
        raise ValueError("a group holds at least one")
    if not points:
        return []
    links = neighbour_graph(points)
    groups: list[list[int]] = []
    waiting = [(list(range(len(points))), math.ceil(len(points) / limit))]
    while waiting:
        members, k = waiting.pop()
        if k == 1:
            groups.append(sorted(members))
            continue
        halves = _halved(members, k, limit, points, links)
        if halves is None:
            groups.extend(_twigs(members, limit, points, links))
            continue
        first, second = halves
        waiting.append((second, max(math.ceil(len(second) / limit), k - k // 2)))
        waiting.append((first, max(math.ceil(len(first) / limit), k // 2)))
    return groups


def _halved(
    members: list[int], k: int, limit: int, points: Sequence[Point], links: Links
) -> tuple[list[int], list[int]] | None:
    """Two connected halves for k // 2 groups and the rest, or None if no way was found."""
    n, k1 = len(members), k // 2
    low, high = max(n - (k - k1) * limit, k1), min(k1 * limit, n - (k - k1))
    target = min(max(round(n * k1 / k), low), high)
    for rank in _ranks(members, points, links):
        order = sorted(members, key=lambda i: (rank[i], i))
        for turned in (order, order[::-1]):
            halves = _cut(turned, target, (low, high), links)
            if halves is not None:
                return halves
    return None


def _ranks(members: list[int], points: Sequence[Point], links: Links) -> Iterator[dict[int, float]]:
    """Ways to put the members in a row: along their extent, then others, then step by step."""
    along = _direction([points[i] for i in members])
    for turn in (0.0, 0.125, -0.125, 0.25):
        angle = along + turn * 2.0 * math.pi
        c, s = math.cos(angle), math.sin(angle)
        yield {i: round(c * points[i][0] + s * points[i][1], 6) for i in members}
    first = _steps(members[0], members, links)
    yield _steps(max(members, key=lambda i: (first[i], i)), members, links)


def _direction(points: Sequence[Point]) -> float:
    """The principal direction of the points, radians."""
    n = len(points)
    mx, my = sum(p[0] for p in points) / n, sum(p[1] for p in points) / n
    xx = sum((p[0] - mx) ** 2 for p in points)
    yy = sum((p[1] - my) ** 2 for p in points)
    xy = sum((p[0] - mx) * (p[1] - my) for p in points)
    return round(0.5 * math.atan2(2.0 * xy, xx - yy), 9)


def _steps(start: int, members: Sequence[int], links: Links) -> dict[int, float]:
    """How many links each member lies from the start."""
    left = set(members) - {start}
    steps = {start: 0.0}
    row = [start]
    for at in row:
        for other in links[at]:
            if other in left:
                left.remove(other)
                steps[other] = steps[at] + 1.0
                row.append(other)
    return steps


def _cut(
    order: list[int], target: int, window: tuple[int, int], links: Links
) -> tuple[list[int], list[int]] | None:
    """The row cut at the target, strays handed over, and evened out; both connected, or None."""
    first, second = order[:target], order[target:]
    for _ in range(3):
        main_first, *stray_first = parts_of(first, links)
        main_second, *stray_second = parts_of(second, links)
        if not stray_first and not stray_second:
            break
        first = [*main_first, *(i for part in stray_second for i in part)]
        second = [*main_second, *(i for part in stray_first for i in part)]
    else:
        return None
    place = {i: at for at, i in enumerate(order)}
    low, high = window
    if len(first) > high:
        moved = _move(first, second, len(first) - high, place, links)
        return None if moved is None else moved
    if len(first) < low:
        back = {i: -at for i, at in place.items()}
        moved = _move(second, first, low - len(first), back, links)
        return None if moved is None else (moved[1], moved[0])
    return first, second


def _move(
    source: list[int], target: list[int], count: int, place: dict[int, int], links: Links
) -> tuple[list[int], list[int]] | None:
    """`count` members moved from one to the other, the last in place first, both left connected."""
    if count > _MOST_MOVES:
        return None
    here, there = set(source), set(target)
    for _ in range(count):
        border = [i for i in here if any(j in there for j in links[i])]
        for i in sorted(border, key=lambda i: -place[i]):
            if _may_leave(i, here, links):
                here.remove(i)
                there.add(i)
                break
        else:
            return None
    return sorted(here), sorted(there)


def _may_leave(leaving: int, group: set[int], links: Links) -> bool:
    """Whether the rest of the group stays connected: first looked for nearby, then everywhere."""
    around = [j for j in links[leaving] if j in group]
    if len(group) == 1 or not around:
        return False
    if len(parts_of(around, links)) == 1:
        return True
    return len(parts_of([i for i in group if i != leaving], links)) == 1


def _twigs(
    members: list[int], limit: int, points: Sequence[Point], links: Links
) -> list[list[int]]:
    """Connected groups where halving finds no way: twigs broken off a tree, from its ends inwards."""
    inside = set(members)
    start = min(members, key=lambda i: points[i])
    parent = {start: start}
    row = [start]
    for at in row:
        for other in links[at]:
            if other in inside and other not in parent:
                parent[other] = at
                row.append(other)
    held: dict[int, list[int]] = {i: [i] for i in row}
    twigs: list[list[int]] = []
    for at in reversed(row):
        if at == start:
            break
        above = parent[at]
        if len(held[above]) + len(held[at]) <= limit:
            held[above].extend(held[at])
        else:
            twigs.append(sorted(held[at]))
    twigs.append(sorted(held[start]))
    return twigs
