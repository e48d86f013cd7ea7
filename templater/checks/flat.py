"""The checks' own flattening of curves to arrays of points. Imported late: numpy.

A chord leaves its curve by at most `FLAT_MM`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from templater.model.curves import Arc, Area, Cubic, Line, Path, Segment, Transform

Points = NDArray[np.float64]
"""n points, one a row: shape (n, 2), mm."""
Segments = NDArray[np.float64]
"""n straight segments, one a row: x0, y0, x1, y1, mm."""

FLAT_MM = 0.0001


def path_points(path: Path) -> Points:
    """The path's points in order, start and end among them."""
    pieces = [np.array([path.start])]
    pieces += [_after_start(segment) for segment in path.segments]
    return np.concatenate(pieces)


def path_segments(path: Path) -> Segments:
    points = path_points(path)
    return np.hstack([points[:-1], points[1:]])


def area_segments(area: Area) -> Segments:
    """Every ring's segments: what lies inside is inside by even and odd."""
    return np.concatenate([path_segments(ring) for ring in (area.outline, *area.holes)])


def joined(parts: Iterable[Segments]) -> Segments:
    found = list(parts)
    return np.concatenate(found) if found else np.empty((0, 4))


def shortened(segments: Segments, longest_mm: float) -> tuple[Segments, NDArray[np.intp]]:
    """The segments cut so that none is longer, and which segment each is a part of."""
    lengths = np.hypot(segments[:, 2] - segments[:, 0], segments[:, 3] - segments[:, 1])
    counts = np.maximum(1, np.ceil(lengths / longest_mm)).astype(np.intp)
    which = np.repeat(np.arange(len(segments)), counts)
    first = np.repeat(np.cumsum(counts) - counts, counts)
    part = np.arange(len(which)) - first
    low, high = (part / counts[which])[:, None], ((part + 1) / counts[which])[:, None]
    start, along = segments[which, :2], segments[which, 2:] - segments[which, :2]
    return np.hstack([start + low * along, start + high * along]), which


def moved(points: Points, transform: Transform) -> Points:
    t = transform
    x, y = points[:, 0], points[:, 1]
    return np.column_stack([t.a * x + t.c * y + t.e, t.b * x + t.d * y + t.f])


def moved_segments(segments: Segments, transform: Transform) -> Segments:
    return np.hstack([moved(segments[:, :2], transform), moved(segments[:, 2:], transform)])


def inverse(transform: Transform) -> Transform:
    """What undoes it. Raises ZeroDivisionError for a transform that flattens the plane."""
    t, det = transform, transform.determinant
    a, b, c, d = t.d / det, -t.b / det, -t.c / det, t.a / det
    return Transform(a, b, c, d, -(a * t.e + c * t.f), -(b * t.e + d * t.f))


def is_rigid(transform: Transform) -> bool:
    """Whether lengths stay as they are, to a hundredth of a millimetre in ten metres."""
    t = transform
    return (
        abs(t.a * t.a + t.b * t.b - 1) < 2e-6
        and abs(t.c * t.c + t.d * t.d - 1) < 2e-6
        and abs(t.a * t.c + t.b * t.d) < 1e-6
    )


def _after_start(segment: Segment) -> Points:
    match segment:
        case Line(_, end):
            return np.array([end])
        case Arc(start, end, bulge):
            return _arc(complex(*start), complex(*end), bulge)
        case Cubic():
            return _cubic(segment)


def _arc(start: complex, end: complex, bulge: float) -> Points:
    """Points after the start. Bulge is the tangent of a quarter of the turn (DXF, group 42)."""
    chord = end - start
    if bulge == 0.0 or chord == 0:
        return np.array([[end.real, end.imag]])
    turn = 4.0 * math.atan(bulge)
    centre = (start + end) / 2 + 1j * chord * (1.0 / bulge - bulge) / 4.0
    radius = abs(start - centre)
    step = 2.0 * math.acos(max(0.0, 1.0 - min(1.0, FLAT_MM / radius)))
    count = max(2, math.ceil(abs(turn) / max(step, 1e-4)))
    spots = centre + (start - centre) * np.exp(1j * turn * np.arange(1, count + 1) / count)
    spots[-1] = end
    return np.column_stack([spots.real, spots.imag])


def _cubic(cubic: Cubic) -> Points:
    p = np.array([cubic.start, cubic.control1, cubic.control2, cubic.end])
    bends = p[:-2] - 2 * p[1:-1] + p[2:]
    bend = float(np.max(np.hypot(bends[:, 0], bends[:, 1])))
    count = max(1, math.ceil(math.sqrt(0.75 * bend / FLAT_MM)))
    t = (np.arange(1, count + 1) / count)[:, None]
    s = 1.0 - t
    points: Points = s**3 * p[0] + 3 * s * s * t * p[1] + 3 * s * t * t * p[2] + t**3 * p[3]
    points[-1] = p[3]
    return points
