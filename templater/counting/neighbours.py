"""Which stones are neighbours: a graph by which a group of stones can be called connected."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from templater.model.curves import Point

_REACH = 2.5
"""Neighbours lie at most this many times the usual spacing apart: a link crosses no clear area."""


def neighbour_graph(points: Sequence[Point]) -> list[list[int]]:
    """For each point its neighbours' numbers, ascending. The whole is always connected.

    Neighbours share an edge of the Delaunay triangulation no longer than 2.5 times the median
    distance to the nearest; what then lies apart is joined by the shortest edges that do it (the
    shortest spanning tree is part of the triangulation). Points must differ.
    """
    n = len(points)
    links: list[list[int]] = [[] for _ in points]
    edges = sorted((math.dist(points[a], points[b]), a, b) for a, b in _edges(points))
    nearest = [math.inf] * n
    for length, a, b in edges:
        nearest[a], nearest[b] = min(nearest[a], length), min(nearest[b], length)
    known = sorted(length for length in nearest if length < math.inf)
    reach = _REACH * known[len(known) // 2] if known else 0.0
    root = list(range(n))
    for length, a, b in edges:
        first, second = _root(root, a), _root(root, b)
        if length <= reach or first != second:
            links[a].append(b)
            links[b].append(a)
        root[first] = second
    return [sorted(one) for one in links]


def _root(root: list[int], at: int) -> int:
    while root[at] != at:
        root[at] = root[root[at]]
        at = root[at]
    return at


def _edges(points: Sequence[Point]) -> list[tuple[int, int]]:
    """The triangulation's edges, and a chain through all points in case it misses any."""
    from shapely import MultiPoint, delaunay_triangles, get_coordinates

    number = {point: i for i, point in enumerate(points)}
    found: set[tuple[int, int]] = set()
    if len(points) > 2:
        flat = get_coordinates(delaunay_triangles(MultiPoint(list(points)), only_edges=True))
        ends = [number[x, y] for x, y in flat.tolist()]
        # Edges come as two points each: the geometry is a collection of single lines.
        found.update((min(a, b), max(a, b)) for a, b in zip(ends[::2], ends[1::2], strict=True))
    chain = sorted(range(len(points)), key=lambda i: points[i])
    found.update((min(a, b), max(a, b)) for a, b in pairwise(chain))
    return sorted(found)


def parts_of(members: Sequence[int], links: Sequence[Sequence[int]]) -> list[list[int]]:
    """The members in connected parts, the largest first, ties by the smallest number."""
    left = set(members)
    parts = []
    for start in sorted(members):
        if start not in left:
            continue
        left.remove(start)
        part = [start]
        for at in part:
            for other in links[at]:
                if other in left:
                    left.remove(other)
                    part.append(other)
        parts.append(part)
    return sorted(parts, key=lambda part: (-len(part), min(part)))
