"""The distance from points to exact curves, worked out apart from the code under test."""

import math

import numpy as np

from templater.model.curves import Arc, Cubic


def _line(points, start, end):
    start, end = np.asarray(start), np.asarray(end)
    along = end - start
    t = np.clip(((points - start) @ along) / (along @ along), 0.0, 1.0)
    return np.hypot(*(points - start - t[:, None] * along).T), t


def _arc(points, arc):
    if arc.bulge == 0.0:
        return _line(points, arc.start, arc.end)
    start, end = np.asarray(arc.start), np.asarray(arc.end)
    chord = end - start
    size = math.hypot(*chord)
    sweep = 4 * math.atan(arc.bulge)
    radius = size / 2 / math.sin(abs(sweep) / 2)
    rise = radius * math.cos(sweep / 2) * (1 if arc.bulge > 0 else -1)
    centre = (start + end) / 2 + rise * np.array([-chord[1], chord[0]]) / size
    spokes = points - centre
    first = math.atan2(*(start - centre)[::-1])
    turn = (np.arctan2(spokes[:, 1], spokes[:, 0]) - first) * (1 if sweep > 0 else -1)
    t = (turn % math.tau) / abs(sweep)
    on = np.abs(np.hypot(*spokes.T) - radius)
    to_start, to_end = np.hypot(*(points - start).T), np.hypot(*(points - end).T)
    off = np.minimum(to_start, to_end)
    return np.where(t <= 1.0, on, off), np.where(t <= 1.0, t, np.where(to_start < to_end, 0.0, 1.0))


def _cubic_at(cubic, t):
    p0, p1, p2, p3 = (
        np.asarray(q) for q in (cubic.start, cubic.control1, cubic.control2, cubic.end)
    )
    t = t[..., None]
    return p0 + t * (3 * (p1 - p0) + t * (3 * (p0 - 2 * p1 + p2) + t * (p3 - 3 * p2 + 3 * p1 - p0)))


def _cubic(points, cubic, probes, branches):
    grid = np.linspace(0.0, 1.0, probes)
    on_curve = _cubic_at(cubic, grid)
    apart = np.hypot(
        points[:, None, 0] - on_curve[None, :, 0], points[:, None, 1] - on_curve[None, :, 1]
    )
    step = 1.0 / (probes - 1)
    found = []
    for _ in range(branches):  # other branches of a curve that passes twice
        nearest = apart.argmin(axis=1)
        found.append(_refined(points, cubic, grid[nearest], step))
        apart[np.abs(np.arange(probes)[None] - nearest[:, None]) <= 2] = np.inf
    away = np.stack([d for d, _ in found])
    best = away.argmin(axis=0), np.arange(len(points))
    return away[best], np.stack([t for _, t in found])[best]


def _refined(points, cubic, best, step):
    """A ternary search between the neighbours of the nearest probe."""
    low, high = np.clip(best - step, 0, 1), np.clip(best + step, 0, 1)
    for _ in range(20):
        third = (high - low) / 3
        left, right = low + third, high - third
        nearer = np.hypot(*(points - _cubic_at(cubic, left)).T) < np.hypot(
            *(points - _cubic_at(cubic, right)).T
        )
        low, high = np.where(nearer, low, left), np.where(nearer, right, high)
    t = (low + high) / 2
    return np.hypot(*(points - _cubic_at(cubic, t)).T), t


def distance_and_place(points, segment, probes=41, branches=1):
    """Distances in mm of an (n, 2) array from one segment, and where on it (0 to 1) the feet are."""
    points = np.asarray(points, dtype=float)
    if isinstance(segment, Cubic):
        return _cubic(points, segment, probes, branches)
    if isinstance(segment, Arc):
        return _arc(points, segment)
    return _line(points, segment.start, segment.end)


def _on(segment, t):
    """The points at places t on a segment."""
    if isinstance(segment, Cubic):
        return _cubic_at(segment, t)
    start, end = np.asarray(segment.start), np.asarray(segment.end)
    bulge = getattr(segment, "bulge", 0.0)
    if bulge == 0.0:
        return start + t[:, None] * (end - start)
    sweep = 4 * math.atan(bulge)
    chord = end - start
    centre = (start + end) / 2 + (1 - bulge**2) / (4 * bulge) * np.array([-chord[1], chord[0]])
    spoke = start - centre
    cos, sin = np.cos(sweep * t), np.sin(sweep * t)
    return centre + np.stack(
        [spoke[0] * cos - spoke[1] * sin, spoke[0] * sin + spoke[1] * cos], axis=1
    )


def lies_outside(points, segment, t):
    """Whether each point is on the right of the segment at its foot: outside, seen from there."""
    h = 1e-4
    low, high = np.clip(t - h, 0, 1), np.clip(t + h, 0, 1)
    along = _on(segment, high) - _on(segment, low)
    away = np.asarray(points) - _on(segment, t)
    return along[:, 0] * away[:, 1] - along[:, 1] * away[:, 0] <= 0.0
