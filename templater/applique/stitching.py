"""Rings of several regions laid edge to edge, joined to the rings of one part."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from templater.applique.unfold import EdgeRing, ring_path, started_at
from templater.geometry.measure import signed_path_area
from templater.geometry.moves import moved_path
from templater.model.curves import Line, Path, Point, Transform
from templater.model.ground import Edge, EdgeKind


@dataclass(frozen=True, slots=True)
class TouchingEdges:
    """Two edges, each with its region, that lie on each other, running against each other."""

    first: tuple[int, Edge]
    second: tuple[int, Edge]


def joined_rings(
    regions: Mapping[int, Sequence[EdgeRing]],
    moves: Mapping[int, Transform],
    touching: Sequence[TouchingEdges],
    snap_mm: float,
) -> tuple[EdgeRing, ...]:
    """The rings round all regions, each under its move, without the edges that touch.

    Where one of two touching edges is longer than the other, what stands out is an edge. Ends that
    are no more than `snap_mm` apart are put together.
    """
    gone = [each for pair in touching for each in (pair.first, pair.second)]
    loose = [
        replace(edge, path=moved_path(edge.path, moves[number]))
        for number in sorted(regions)
        for ring in regions[number]
        for edge in ring
        if not any(number == n and edge is other for n, other in gone)
    ]
    steps: list[Edge] = []
    for pair in touching:
        (a, mine), (b, theirs) = pair.first, pair.second
        allowance = _beside(regions[a], mine)
        for start, end in (
            (moves[a].apply(mine.path.start), moves[b].apply(theirs.path.end)),
            (moves[b].apply(theirs.path.start), moves[a].apply(mine.path.end)),
        ):
            if math.dist(start, end) > snap_mm:
                path = Path((Line(start, end),), closed=False)
                steps.append(Edge(EdgeKind.FREE, path, "", allowance))
    rings = _chained([*loose, *steps], snap_mm)
    return tuple(sorted(rings, key=lambda ring: -signed_path_area(ring_path(ring))))


def _beside(rings: Sequence[EdgeRing], edge: Edge) -> float:
    """The allowance of the edge before this one."""
    for ring in rings:
        for k, each in enumerate(ring):
            if each is edge:
                return ring[k - 1].allowance_mm
    return 0.0


def _chained(edges: Sequence[Edge], snap_mm: float) -> list[EdgeRing]:
    """Edges end to start as closed rings; each begins exactly where the one before it ends."""
    left = list(edges)
    rings: list[EdgeRing] = []
    while left:
        ring = [left.pop(0)]
        while math.dist(ring[-1].path.end, ring[0].path.start) > 2.0 * snap_mm and left:
            ring.append(_starting(left.pop(_nearest(left, ring[-1].path.end)), ring[-1].path.end))
        ring[0] = _starting(ring[0], ring[-1].path.end)
        rings.append(tuple(ring))
    return rings


def _nearest(edges: Sequence[Edge], at: Point) -> int:
    return min(range(len(edges)), key=lambda k: math.dist(edges[k].path.start, at))


def _starting(edge: Edge, at: Point) -> Edge:
    first, *rest = edge.path.segments
    return replace(edge, path=Path((started_at(first, at), *rest), edge.path.closed))
