"""Cutting a ring into edges by what it runs along: the fold, seams, edges, neighbours, the piece."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from templater.geometry.measure import path_length
from templater.geometry.splitting import Place, cut_closed, point_at
from templater.model.curves import Path, Point
from templater.model.ground import Edge, EdgeKind

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

SHARED_WITHIN_MM = 0.25
"""Lines that run this near to each other are one line (hand tracing; common practice, no source)."""

_SPAN_MM = 1.0
_SHORTEST_RUN_MM = 4.0 * SHARED_WITHIN_MM
_SNAP_MM = 12.0 * SHARED_WITHIN_MM
_BISECTIONS = 24


@dataclass(frozen=True, slots=True)
class Feature:
    """Something a ring may run along, with what an edge there is like, and how near is along it."""

    kind: EdgeKind
    name: str
    line: BaseGeometry
    allowance_mm: float
    visible: bool
    within_mm: float = SHARED_WITHIN_MM


def cut_ring(path: Path, features: Sequence[Feature], free_allowance_mm: float) -> tuple[Edge, ...]:
    """The ring's edges in order. Of several features near a stretch the first of the list wins;
    where there is none the edge is free.
    """
    places, lengths = _spans(path)
    middles = [point_at(path.segments[i], (t0 + t1) / 2.0) for i, t0, t1 in places]
    labels = _without_short_runs(_labels(middles, features), lengths)
    starts = [k for k in range(len(labels)) if labels[k] != labels[k - 1]]

    def edge(label: int, part: Path) -> Edge:
        if label == len(features):
            return Edge(EdgeKind.FREE, part, "", free_allowance_mm)
        feature = features[label]
        return Edge(feature.kind, part, feature.name, feature.allowance_mm, feature.visible)

    if not starts:
        return (edge(labels[0], path),)
    cuts = [
        _boundary(
            path,
            places,
            k,
            _stays_with(features, labels[k - 1]),
            _snap_mm(features, (labels[k - 1], labels[k])),
        )
        for k in starts
    ]
    # Two cuts may snap to one joint: the short run between them is gone, the long one follows.
    long = {run[0]: sum(lengths[k] for k in run) for run in _runs(labels)}
    ordered = sorted(zip(cuts, starts, strict=True), key=lambda cut: (cut[0], long[cut[1]]))
    after = {cut: labels[k] for cut, k in ordered}
    if len(after) == 1:
        return (edge(next(iter(after.values())), path),)
    parts = cut_closed(path, list(after))
    return tuple(edge(label, part) for label, part in zip(after.values(), parts, strict=True))


def _spans(path: Path) -> tuple[list[tuple[int, float, float]], list[float]]:
    """The ring in short spans, each (segment, from, to), and their lengths in mm."""
    spans: list[tuple[int, float, float]] = []
    lengths: list[float] = []
    for index, segment in enumerate(path.segments):
        length = path_length(Path((segment,), closed=False))
        parts = min(max(2, math.ceil(length / _SPAN_MM)), 4000)
        spans.extend((index, k / parts, (k + 1) / parts) for k in range(parts))
        lengths.extend([length / parts] * parts)
    return spans, lengths


def _labels(points: Sequence[Point], features: Sequence[Feature]) -> list[int]:
    """For each point the first feature it lies on, or len(features) for none."""
    import numpy as np
    import shapely

    at = shapely.points(np.asarray(points, dtype=float))
    labels = np.full(len(points), len(features))
    for index in reversed(range(len(features))):
        near = shapely.distance(at, features[index].line) <= features[index].within_mm
        labels[near] = index
    return [int(label) for label in labels]


def _without_short_runs(labels: list[int], lengths: Sequence[float]) -> list[int]:
    """Where a line merely crosses another the ring is near it for a moment: that is no edge."""
    labels = list(labels)
    while True:
        runs = _runs(labels)
        if len(runs) < 2:
            return labels
        short = min(runs, key=lambda run: (sum(lengths[k] for k in run), run[0]))
        if sum(lengths[k] for k in short) >= _SHORTEST_RUN_MM:
            return labels
        before = labels[short[0] - 1]
        for k in short:
            labels[k] = before


def _runs(labels: Sequence[int]) -> list[list[int]]:
    """Cyclic runs of equal labels, as lists of indices in order."""
    starts = [k for k in range(len(labels)) if labels[k] != labels[k - 1]]
    if not starts:
        return [list(range(len(labels)))]
    runs = []
    for n, start in enumerate(starts):
        end = starts[(n + 1) % len(starts)]
        if end <= start:
            end += len(labels)
        runs.append([k % len(labels) for k in range(start, end)])
    return runs


def _stays_with(features: Sequence[Feature], label: int) -> Callable[[Point], bool]:
    return lambda point: _labels([point], features)[0] == label


def _snap_mm(features: Sequence[Feature], labels: Sequence[int]) -> float:
    """How far a line may still be near the other beyond a joint: it leaves it by 20° or more."""
    near = [features[label].within_mm for label in labels if label < len(features)]
    return max(_SNAP_MM, 3.0 * max(near))


def _boundary(
    path: Path,
    spans: Sequence[tuple[int, float, float]],
    k: int,
    before: Callable[[Point], bool],
    snap_mm: float,
) -> Place:
    """Where one run ends and the next begins: a joint of the drawing if one is near."""
    index, t_before, t_here = spans[k][0], spans[k - 1], spans[k]
    if spans[k - 1][0] != index:
        return (index, 0.0)
    low = (t_before[1] + t_before[2]) / 2.0
    high = (t_here[1] + t_here[2]) / 2.0
    segment = path.segments[index]
    for _ in range(_BISECTIONS):
        middle = (low + high) / 2.0
        if before(point_at(segment, middle)):
            low = middle
        else:
            high = middle
    return _at_a_joint(path, index, (low + high) / 2.0, snap_mm)


def _at_a_joint(path: Path, index: int, t: float, snap_mm: float) -> Place:
    segment = path.segments[index]
    at = point_at(segment, t)
    if math.dist(at, segment.start) <= snap_mm:
        return (index, 0.0)
    if math.dist(at, segment.end) <= snap_mm:
        return ((index + 1) % len(path.segments), 0.0)
    return (index, t)
