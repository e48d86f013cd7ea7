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


_AHEAD = tuple((dx, dy) for dx in range(3) for dy in range(-2, 3) if (dx, dy) > (0, 0))
"""Half of the 24 cells about one: each pair of cells is looked at once."""


def near_groups(points: Sequence[Point], reach_mm: float) -> list[list[int]]:
    """Indices of the points, grouped: two points within `reach_mm` are in one group.

    Groups are in the order of their first point, members in order. A grid of half the reach keeps
    crowds cheap: all points of one cell are within reach of each other, so that cells are joined
    as wholes.
    """
    side = reach_mm / 2.0
    cells: dict[tuple[int, int], list[int]] = {}
    for i, (x, y) in enumerate(points):
        cells.setdefault((math.floor(x / side), math.floor(y / side)), []).append(i)
    parent = {cell: cell for cell in cells}

    def root(cell: tuple[int, int]) -> tuple[int, int]:
        while parent[cell] != cell:
            parent[cell] = parent[parent[cell]]
            cell = parent[cell]
        return cell

    for cell, members in cells.items():
        for dx, dy in _AHEAD:
            beside = (cell[0] + dx, cell[1] + dy)
            others = cells.get(beside)
            if others is None:
                continue
            one, other = root(cell), root(beside)
            if one != other and _any_near(points, members, others, reach_mm):
                parent[other] = one
    groups: dict[tuple[int, int], list[int]] = {}
    for cell, members in cells.items():
        groups.setdefault(root(cell), []).extend(members)
    return sorted(sorted(group) for group in groups.values())


def _any_near(
    points: Sequence[Point], some: Sequence[int], others: Sequence[int], reach_mm: float
) -> bool:
    return any(math.dist(points[i], points[j]) <= reach_mm for i in some for j in others)
