"""Which of many points lie near each other: cells of a grid, each compared with its neighbours."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from templater.model.curves import Point


def close_pairs(points: Sequence[Point], reach_mm: float) -> Iterator[tuple[int, int]]:
    """Every pair (i, j), i < j, at most `reach_mm` apart, in order of i, then j.

    Raises ValueError for a reach that is not positive.
    """
    if not reach_mm > 0.0:
        raise ValueError("the reach must be positive")
    cells: dict[tuple[int, int], list[int]] = {}
    places = []
    for index, (x, y) in enumerate(points):
        place = (math.floor(x / reach_mm), math.floor(y / reach_mm))
        places.append(place)
        cells.setdefault(place, []).append(index)
    squared = reach_mm * reach_mm
    for i, (x, y) in enumerate(points):
        column, row = places[i]
        near = [
            j
            for dc in (-1, 0, 1)
            for dr in (-1, 0, 1)
            for j in cells.get((column + dc, row + dr), ())
            if j > i and (points[j][0] - x) ** 2 + (points[j][1] - y) ** 2 <= squared
        ]
        for j in sorted(near):
            yield i, j
