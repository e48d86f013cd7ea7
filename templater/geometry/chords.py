"""Even steps along a line, measured straight from point to point as stones touch."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from templater.model.curves import Point, Ring


def chord_steps(line: Sequence[Point], pitch_mm: float) -> Ring:
    """Points along an open polyline, from its first, each `pitch_mm` straight from the one before.

    Ends before the line does. Raises ValueError for a pitch that is not positive.
    """
    if not pitch_mm > 0.0:
        raise ValueError("the pitch must be positive")
    at = line[0]
    points = [at]
    for before, after in pairwise(line):
        start = before
        while math.dist(at, after) >= pitch_mm:
            along = _leaves(at, start, after, pitch_mm)
            at = (
                start[0] + along * (after[0] - start[0]),
                start[1] + along * (after[1] - start[1]),
            )
            points.append(at)
            start = at
    return tuple(points)


def _leaves(centre: Point, a: Point, b: Point, radius: float) -> float:
    """Where on the way from a (within the circle) to b (not within) the circle is left, 0 to 1."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    px, py = a[0] - centre[0], a[1] - centre[1]
    square = dx * dx + dy * dy
    half = px * dx + py * dy
    rest = max(half * half - square * (px * px + py * py - radius * radius), 0.0)
    return min(max((math.sqrt(rest) - half) / square, 0.0), 1.0) if square > 0.0 else 1.0


def even_ring(ring: Ring, pitch_mm: float) -> Ring:
    """Points round a ring, at least `pitch_mm` apart along it by chord and as even as can be.

    The last is no nearer to the first than the rest to their neighbours. Fewer than two steps
    give the first point alone.
    """
    closed = (*ring, ring[0])
    count = len(_round(closed, pitch_mm))
    if count < 2:
        return (ring[0],)
    low, high = pitch_mm, pitch_mm * (1.0 + 2.0 / count)
    for _ in range(30):
        middle = (low + high) / 2.0
        if len(_round(closed, middle)) >= count:
            low = middle
        else:
            high = middle
    return _round(closed, low)


def _round(closed: Sequence[Point], pitch_mm: float) -> Ring:
    points = chord_steps(closed, pitch_mm)
    while len(points) > 1 and math.dist(points[-1], points[0]) < pitch_mm - 1e-9:
        points = points[:-1]
    return points
