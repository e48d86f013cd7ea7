"""Boxes set side by side in rows across a roll, tall ones first: no two overlap, nothing is turned."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from templater.model.curves import Point


@dataclass(frozen=True, slots=True)
class Shelved:
    """Where a box lies: the roll's stretch, and the box's upper left corner from the stretch's."""

    stretch: int
    from_left_mm: float
    from_top_mm: float


def shelve(
    sizes_mm: Sequence[Point], width_mm: float, spacing_mm: float, longest_mm: float = math.inf
) -> tuple[tuple[Shelved, ...], tuple[float, ...]]:
    """A place for every box (width by height), and how long each stretch is.

    The tallest come first, each at the end of the first row that has room for it (first fit by
    decreasing height, Coffman, Garey, Johnson and Tarjan 1980). A box wider than the roll, or
    taller than a stretch may be, has a row or a stretch of its own.
    """
    order = sorted(range(len(sizes_mm)), key=lambda i: (-sizes_mm[i][1], i))
    rows: list[list[int]] = []
    used: list[float] = []
    for index in order:
        width = sizes_mm[index][0]
        row = next((r for r, taken in enumerate(used) if taken + width <= width_mm + 1e-9), None)
        if row is None:
            rows.append([])
            used.append(0.0)
            row = len(rows) - 1
        rows[row].append(index)
        used[row] += width + spacing_mm
    places: dict[int, Shelved] = {}
    lengths: list[float] = []
    for members in rows:
        tall = sizes_mm[members[0]][1]
        if not lengths or lengths[-1] + spacing_mm + tall > longest_mm + 1e-9:
            lengths.append(0.0)
            top = 0.0
        else:
            top = lengths[-1] + spacing_mm
        left = 0.0
        for index in members:
            places[index] = Shelved(len(lengths) - 1, left, top)
            left += sizes_mm[index][0] + spacing_mm
        lengths[-1] = top + tall
    return tuple(places[index] for index in range(len(sizes_mm))), tuple(lengths)
