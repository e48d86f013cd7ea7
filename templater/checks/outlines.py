"""The checks' own outlines of shaped stones, and distances between convex shapes. Imported late: numpy.

Every outline is drawn within the stone (its corners lie on it), so that a stone that keeps its
distance is never found too near. Lengths run along +x, tip leading, centred on the box.
"""

from __future__ import annotations

from functools import cache

import numpy as np

from templater.checks.flat import Points
from templater.checks.nearby import Numbers
from templater.model.stones import StoneShape

CORNERS = 64
"""Points an outline has; those of straight shapes lie along their sides."""


@cache
def unit_outline(shape: StoneShape, length_mm: float, width_mm: float) -> Points:
    """Anticlockwise, `CORNERS` points."""
    half, side = length_mm / 2, width_mm / 2
    turn = 2 * np.pi * np.arange(CORNERS) / CORNERS
    match shape:
        case StoneShape.ROUND | StoneShape.OVAL:
            return np.column_stack([half * np.cos(turn), side * np.sin(turn)])
        case StoneShape.NAVETTE:
            return _navette(half, side)
        case StoneShape.TEARDROP:
            return _teardrop(half, side)
        case StoneShape.RECTANGLE | StoneShape.SQUARE:
            return _sides([(-half, -side), (half, -side), (half, side), (-half, side)])
        case StoneShape.TRIANGLE:
            return _sides([(-half, -side), (half, 0.0), (-half, side)])


def outlines(
    shape: StoneShape, length: float, width: float, at: Points, turn_deg: Numbers
) -> Numbers:
    """The outline at each place and turn: shape (stones, CORNERS, 2)."""
    unit = unit_outline(shape, length, width)
    cos, sin = np.cos(np.radians(turn_deg))[:, None], np.sin(np.radians(turn_deg))[:, None]
    x = at[:, :1] + cos * unit[:, 0] - sin * unit[:, 1]
    y = at[:, 1:] + sin * unit[:, 0] + cos * unit[:, 1]
    return np.stack([x, y], axis=2)


def convex_distance(one: Numbers, other: Numbers) -> Numbers:
    """How far apart the convex shapes of each row are; negative, and rough, where they overlap.

    `one` has shape (k, n, 2), anticlockwise, n ≥ 3; `other` (k, m, 2), likewise, or a segment
    (m = 2), or a point (m = 1). By separating axes first, then by the nearest corner and side.
    """
    apart = np.empty(len(one))
    for first in range(0, len(one), 500):
        rows = slice(first, first + 500)
        a, b = one[rows], other[rows]
        axes = _separation(a, b)
        if b.shape[1] > 1:
            axes = np.maximum(axes, _separation(b, a))
        nearest = np.minimum(_corner_to_side(b, a), _corner_to_side(a, b))
        apart[rows] = np.where(axes > 0, nearest, np.minimum(axes, 0.0))
    return apart


def _separation(a: Numbers, b: Numbers) -> Numbers:
    """The most by which `b` lies wholly beyond one of `a`'s sides."""
    along = np.roll(a, -1, axis=1) - a
    normal = np.stack([along[..., 1], -along[..., 0]], axis=2)
    length = np.maximum(np.hypot(normal[..., 0], normal[..., 1]), 1e-12)
    reach = np.einsum("kni,kmi->knm", normal, b) - np.einsum("kni,kni->kn", normal, a)[..., None]
    most: Numbers = np.max(np.min(reach, axis=2) / length, axis=1)
    return most


def _corner_to_side(corners: Numbers, shape: Numbers) -> Numbers:
    start = shape[:, None, :, :]
    along = np.roll(shape, -1, axis=1)[:, None, :, :] - start
    squared = np.maximum(np.einsum("knmi,knmi->knm", along, along), 1e-24)
    gap = corners[:, :, None, :] - start
    t = np.clip(np.einsum("knmi,knmi->knm", gap, np.broadcast_to(along, gap.shape)) / squared, 0, 1)
    gap = gap - t[..., None] * along
    least: Numbers = np.sqrt(np.min(np.einsum("knmi,knmi->knm", gap, gap), axis=(1, 2)))
    return least


def _navette(half: float, side: float) -> Points:
    """Two arcs that meet in a tip at either end: R = (L² + W²) / 4W."""
    radius = (half * half + side * side) / (2 * side)
    wide = np.arcsin(min(1.0, half / radius)) if side < half else np.pi / 2
    angle = np.linspace(-wide, wide, CORNERS // 2 + 1)[:-1]
    lower = np.column_stack([radius * np.sin(angle), radius - side - radius * np.cos(angle)])
    return np.concatenate([lower, -lower])


def _teardrop(half: float, side: float) -> Points:
    """A round as wide as the stone at one end, and the tangents from it to the tip."""
    if half <= side:
        turn = 2 * np.pi * np.arange(CORNERS) / CORNERS
        return np.column_stack([half * np.cos(turn), side * np.sin(turn)])
    centre = side - half
    touch = np.arccos(side / (half - centre))
    angle = np.linspace(touch, 2 * np.pi - touch, CORNERS - 1)
    back = np.column_stack([centre + side * np.cos(angle), side * np.sin(angle)])
    return np.concatenate([np.array([[half, 0.0]]), back])


def _sides(corners: list[tuple[float, float]]) -> Points:
    """Points along straight sides, every corner among them."""
    counts = [CORNERS // len(corners)] * len(corners)
    counts[0] += CORNERS - sum(counts)
    parts = []
    for index, count in enumerate(counts):
        start, end = np.array(corners[index]), np.array(corners[(index + 1) % len(corners)])
        parts.append(start + (np.arange(count) / count)[:, None] * (end - start))
    return np.concatenate(parts)
