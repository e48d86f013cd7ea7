"""Parting holes into passes, so that enough material stays between the holes of each."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from templater.geometry.colouring import colour, graph_of
from templater.geometry.pairs import close_pairs
from templater.model.curves import Point
from templater.stencils.sizing import HoleSize

if TYPE_CHECKING:
    from shapely import Polygon

Spot = tuple[Point, float, HoleSize]
"""Where a hole lies, its turn in degrees, and its size."""

_EXACT_MM = 1e-7
_FLAT_MM = 0.005


def near_spots(spots: Sequence[Spot], reach_mm: float) -> Iterator[tuple[int, int, float]]:
    """Pairs of holes whose edges are less than `reach_mm` apart, with that distance.

    Exact for round holes; between shaped ones up to 0.01 mm short of it, on the safe side.
    """
    if len(spots) < 2:
        return
    largest = max(max(hole.length_mm, hole.width_mm) for _, _, hole in spots)
    outlines: dict[int, Polygon] = {}
    reach = reach_mm + largest + _FLAT_MM
    if reach <= 0.0:
        return
    for i, j in close_pairs([spot[0] for spot in spots], reach):
        (a, _, first), (b, _, second) = spots[i], spots[j]
        if first.shape == second.shape == "round":
            apart = math.dist(a, b) - (first.width_mm + second.width_mm) / 2.0
        else:
            apart = _outline(spots, i, outlines).distance(_outline(spots, j, outlines))
            apart -= 2.0 * _FLAT_MM
        if apart < reach_mm - _EXACT_MM:
            yield i, j, apart


def _outline(spots: Sequence[Spot], index: int, kept: dict[int, Polygon]) -> Any:
    if index not in kept:
        from shapely import Polygon

        from templater.geometry.flatten import flatten
        from templater.geometry.stone_shapes import placed_stone_path
        from templater.model.stones import StoneShape

        at, turn_deg, hole = spots[index]
        path = placed_stone_path(
            StoneShape(hole.shape), hole.length_mm, hole.width_mm, at, turn_deg
        )
        kept[index] = Polygon(flatten(path, _FLAT_MM))
    return kept[index]


def part(spots: Sequence[Spot], bridge_mm: float) -> tuple[list[int], int]:
    """The pass (from 0) of every hole, and the fewest passes there could be.

    Holes of one pass keep `bridge_mm` from edge to edge.
    """
    pairs = ((i, j) for i, j, _ in near_spots(spots, bridge_mm))
    return colour(graph_of(len(spots), pairs))
