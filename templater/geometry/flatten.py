"""Curves to polylines within a stated tolerance. Points of the result lie on the curve."""

from __future__ import annotations

import math

from templater.model.curves import Arc, Cubic, Line, Path, Point, Ring, Segment

_MAX_PIECES = 1 << 16


def flatten(path: Path, tolerance_mm: float) -> Ring:
    """The path as points, none farther than `tolerance_mm` from the curve it stands for.

    Corners are kept exactly. A closed path gives its first point once. Raises ValueError for a
    tolerance that is not positive.
    """
    if not tolerance_mm > 0.0:
        raise ValueError("the flattening tolerance must be positive")
    points: list[Point] = [path.start]
    for segment in path.segments:
        points.extend(_after_start(segment, tolerance_mm))
    if path.closed and len(points) > 1 and points[-1] == points[0]:
        points.pop()
    return tuple(points)


def _after_start(segment: Segment, tolerance_mm: float) -> list[Point]:
    match segment:
        case Line():
            return [segment.end]
        case Arc():
            return _arc_points(segment, tolerance_mm)
        case Cubic():
            return _cubic_points(segment, tolerance_mm)


def arc_centre(arc: Arc) -> tuple[Point, float, float]:
    """Centre, radius and signed sweep in radians of an arc with a bulge other than 0.

    Source: bulge = tan(sweep / 4), DXF reference.
    """
    (x0, y0), (x1, y1) = arc.start, arc.end
    half = (1.0 - arc.bulge * arc.bulge) / (4.0 * arc.bulge)
    centre = ((x0 + x1) / 2.0 - (y1 - y0) * half, (y0 + y1) / 2.0 + (x1 - x0) * half)
    return centre, math.dist(centre, arc.start), 4.0 * math.atan(arc.bulge)


def _arc_points(arc: Arc, tolerance_mm: float) -> list[Point]:
    if arc.bulge == 0.0 or arc.start == arc.end:
        return [arc.end]
    (cx, cy), radius, sweep = arc_centre(arc)
    if radius <= tolerance_mm:
        step = math.pi / 2.0
    else:
        step = 2.0 * math.acos(1.0 - tolerance_mm / radius)
    pieces = min(max(1, math.ceil(abs(sweep) / step)), _MAX_PIECES)
    first = math.atan2(arc.start[1] - cy, arc.start[0] - cx)
    points = [
        (
            cx + radius * math.cos(first + sweep * i / pieces),
            cy + radius * math.sin(first + sweep * i / pieces),
        )
        for i in range(1, pieces)
    ]
    points.append(arc.end)
    return points


def _cubic_points(cubic: Cubic, tolerance_mm: float) -> list[Point]:
    """Even steps in t: the chord error is at most |second derivative|·(1/n)²/8."""
    (x0, y0), (x1, y1), (x2, y2), (x3, y3) = (
        cubic.start,
        cubic.control1,
        cubic.control2,
        cubic.end,
    )
    bend = 6.0 * max(
        math.hypot(x0 - 2.0 * x1 + x2, y0 - 2.0 * y1 + y2),
        math.hypot(x1 - 2.0 * x2 + x3, y1 - 2.0 * y2 + y3),
    )
    pieces = min(max(1, math.ceil(math.sqrt(bend / (8.0 * tolerance_mm)))), _MAX_PIECES)
    points = []
    for i in range(1, pieces):
        t = i / pieces
        u = 1.0 - t
        a, b, c, d = u * u * u, 3.0 * u * u * t, 3.0 * u * t * t, t * t * t
        points.append((a * x0 + b * x1 + c * x2 + d * x3, a * y0 + b * y1 + c * y2 + d * y3))
    points.append(cubic.end)
    return points
