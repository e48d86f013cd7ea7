"""Ends that lie near each other, found through a grid."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from templater.model.curves import Point


@dataclass(frozen=True, slots=True)
class Joint:
    """Two ends that meet; an end is 2·i for the start of path i and 2·i + 1 for its end."""

    one: int
    other: int
    gap_mm: float


def near_groups(points: Sequence[Point], reach_mm: float) -> list[list[int]]:
    """Indices of the points, grouped: two points within `reach_mm` are in one group.

    Groups are in the order of their first point, members in order. Time grows with the number of
    points and of near pairs.
    """
    parent = list(range(len(points)))

    def root(i: int) -> int:
        while parent[i] != i:
            parent[i] = parent[parent[i]]
            i = parent[i]
        return i

    def unite(one: int, other: int) -> None:
        low, high = sorted((root(one), root(other)))
        parent[high] = low

    cells: dict[tuple[int, int], list[int]] = {}
    for i, (x, y) in enumerate(points):
        column, row = math.floor(x / reach_mm), math.floor(y / reach_mm)
        for dx in (-1, 0, 1):
            for dy in (-1, 0, 1):
                for j in cells.get((column + dx, row + dy), ()):
                    if math.dist((x, y), points[j]) <= reach_mm:
                        unite(i, j)
        mine = cells.setdefault((column, row), [])
        if not any(points[j] == (x, y) for j in mine):
            mine.append(i)  # later points at the very same place are already joined to the first
    groups: dict[int, list[int]] = {}
    for i in range(len(points)):
        groups.setdefault(root(i), []).append(i)
    return [groups[key] for key in sorted(groups)]
