"""Which points lie near which, how far from straight lines, and inside what. Imported late: numpy."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from templater.checks.flat import Points, Segments, shortened

Indices = NDArray[np.intp]
Numbers = NDArray[np.float64]
Flags = NDArray[np.bool_]

_ROW = 1 << 31


def near_pairs(one: Points, other: Points, radius: float) -> tuple[Indices, Indices]:
    """Every pair (i, j) with `one[i]` within `radius` of `other[j]`, found on a uniform grid."""
    none = np.empty(0, dtype=np.intp)
    if not len(one) or not len(other):
        return none, none
    cell = max(radius, 1e-6)
    low = np.minimum(one.min(axis=0), other.min(axis=0))
    a = np.floor((one - low) / cell).astype(np.int64)
    b = np.floor((other - low) / cell).astype(np.int64)
    keys = b[:, 0] * _ROW + b[:, 1]
    order = np.argsort(keys, kind="stable")
    keys = keys[order]
    found_i: list[Indices] = []
    found_j: list[Indices] = []
    for across in (-1, 0, 1):
        column = (a[:, 0] + across) * _ROW + a[:, 1]
        first = np.searchsorted(keys, column - 1, side="left")
        last = np.searchsorted(keys, column + 1, side="right")
        i, j = _expanded(first, last - first)
        j = order[j]
        gap = one[i] - other[j]
        keep = gap[:, 0] ** 2 + gap[:, 1] ** 2 <= radius * radius
        found_i.append(i[keep])
        found_j.append(j[keep])
    return np.concatenate(found_i), np.concatenate(found_j)


def _expanded(first: Indices, counts: Indices) -> tuple[Indices, Indices]:
    """For each i the indices first[i] … first[i] + counts[i] − 1, all in two long arrays."""
    i = np.repeat(np.arange(len(first)), counts)
    start = np.repeat(np.cumsum(counts) - counts, counts)
    return i, np.arange(len(i)) - start + first[i]


def to_segments(points: Points, segments: Segments) -> Numbers:
    """The distance of each point from the segment in its row."""
    start, along = segments[:, :2], segments[:, 2:] - segments[:, :2]
    squared = np.einsum("ij,ij->i", along, along)
    reach = np.einsum("ij,ij->i", points - start, along)
    t = np.clip(np.divide(reach, squared, out=np.zeros_like(reach), where=squared > 0), 0.0, 1.0)
    gap = points - start - t[:, None] * along
    far: Numbers = np.hypot(gap[:, 0], gap[:, 1])
    return far


class Lines:
    """Segments ready to be asked which of them lie near a point. `which` gives the original row."""

    def __init__(self, segments: Segments, longest_mm: float = 2.0) -> None:
        self.segments, self.which = shortened(segments, longest_mm)
        self.middles = (self.segments[:, :2] + self.segments[:, 2:]) / 2
        self.half_mm = longest_mm / 2

    def near(self, points: Points, radius: float) -> tuple[Indices, Indices, Numbers]:
        """Pairs (point, part of a segment) within `radius`, and each pair's distance."""
        i, j = near_pairs(points, self.middles, radius + self.half_mm)
        far = to_segments(points[i], self.segments[j])
        keep = far <= radius
        return i[keep], j[keep], far[keep]

    def distance(self, points: Points, radius: float) -> Numbers:
        """Each point's distance from the nearest segment; infinite where none is within `radius`."""
        nearest = np.full(len(points), np.inf)
        i, _, far = self.near(points, radius)
        np.minimum.at(nearest, i, far)
        return nearest


def inside(points: Points, segments: Segments, slab_mm: float = 1.0) -> Flags:
    """Which points lie inside the rings that the segments make, by even and odd crossings."""
    if not len(points) or not len(segments):
        return np.zeros(len(points), dtype=np.bool_)
    low = min(float(segments[:, [1, 3]].min()), float(points[:, 1].min()))
    down = np.floor((np.minimum(segments[:, 1], segments[:, 3]) - low) / slab_mm).astype(np.intp)
    up = np.floor((np.maximum(segments[:, 1], segments[:, 3]) - low) / slab_mm).astype(np.intp)
    which, slab = _expanded(down, up - down + 1)
    order = np.argsort(slab, kind="stable")
    which, slab = which[order], slab[order]
    own = np.floor((points[:, 1] - low) / slab_mm).astype(np.intp)
    first = np.searchsorted(slab, own, side="left")
    i, k = _expanded(first, np.searchsorted(slab, own, side="right") - first)
    x0, y0, x1, y1 = segments[which[k]].T
    x, y = points[i, 0], points[i, 1]
    crosses = (y0 <= y) != (y1 <= y)
    rise = np.where(crosses, y1 - y0, 1.0)
    crosses &= x < x0 + (y - y0) / rise * (x1 - x0)
    odd: Flags = np.bincount(i[crosses], minlength=len(points)) % 2 == 1
    return odd
