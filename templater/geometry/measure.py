"""Lengths, areas, boxes and places along curves."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import pairwise

from templater.geometry.flatten import arc_centre, flatten
from templater.model.curves import Arc, Area, Box, Cubic, Line, Path, Point, Ring

_FINE_MM = 1e-4


def path_length(path: Path) -> float:
    """Length in mm: exact for lines and arcs, within 1e-6 of itself for Béziers."""
    total = 0.0
    for segment in path.segments:
        match segment:
            case Line():
                total += math.dist(segment.start, segment.end)
            case Arc():
                if segment.bulge == 0.0 or segment.start == segment.end:
                    total += math.dist(segment.start, segment.end)
                else:
                    _, radius, sweep = arc_centre(segment)
                    total += abs(radius * sweep)
            case Cubic():
                total += _cubic_length(segment)
    return total


def _cubic_length(cubic: Cubic) -> float:
    """Composite Gauss-Legendre, five points on each of sixteen parts."""
    nodes = (0.0, 0.5384693101056831, 0.9061798459386640)
    weights = (0.5688888888888889, 0.4786286704993665, 0.2369268850561891)
    p0, p1, p2, p3 = cubic.start, cubic.control1, cubic.control2, cubic.end

    def speed(t: float) -> float:
        u = 1.0 - t
        a, b, c = 3.0 * u * u, 6.0 * u * t, 3.0 * t * t
        return math.hypot(
            *(a * (p1[i] - p0[i]) + b * (p2[i] - p1[i]) + c * (p3[i] - p2[i]) for i in (0, 1))
        )

    total, parts = 0.0, 16
    for part in range(parts):
        middle, half = (part + 0.5) / parts, 0.5 / parts
        for node, weight in zip(nodes, weights, strict=True):
            values = (
                [speed(middle)]
                if node == 0.0
                else [
                    speed(middle - half * node),
                    speed(middle + half * node),
                ]
            )
            total += weight * half * sum(values)
    return total


def signed_ring_area(ring: Sequence[Point]) -> float:
    """Shoelace area in mm², positive anticlockwise."""
    total = 0.0
    x0, y0 = ring[-1]
    for x1, y1 in ring:
        total += x0 * y1 - x1 * y0
        x0, y0 = x1, y1
    return total / 2.0


def signed_path_area(path: Path) -> float:
    """Area in mm² inside a closed path, positive anticlockwise; exact for every kind of segment."""
    total = 0.0
    for segment in path.segments:
        (x0, y0), (x1, y1) = segment.start, segment.end
        total += (x0 * y1 - x1 * y0) / 2.0
        match segment:
            case Arc():
                if segment.bulge != 0.0 and segment.start != segment.end:
                    _, radius, sweep = arc_centre(segment)
                    total += radius * radius * (sweep - math.sin(sweep)) / 2.0
            case Cubic():
                total += _cubic_bow_area(segment)
            case Line():
                pass
    return total


def _cubic_bow_area(cubic: Cubic) -> float:
    """Signed area between a cubic and its chord: (3/20)·(…) by Green's theorem, chord at origin."""
    x0, y0 = cubic.start
    x1, y1 = cubic.control1[0] - x0, cubic.control1[1] - y0
    x2, y2 = cubic.control2[0] - x0, cubic.control2[1] - y0
    x3, y3 = cubic.end[0] - x0, cubic.end[1] - y0
    return 3.0 / 20.0 * (2.0 * (x2 * y3 - x3 * y2) + (x1 * y3 - x3 * y1) + (x1 * y2 - x2 * y1))


def area_mm2(area: Area) -> float:
    """The area less its holes."""
    return abs(signed_path_area(area.outline)) - sum(
        abs(signed_path_area(hole)) for hole in area.holes
    )


def box_of(points: Iterable[Point]) -> Box:
    """The box of at least one point."""
    xs, ys = zip(*points, strict=True)
    return (min(xs), min(ys), max(xs), max(ys))


def path_box(path: Path) -> Box:
    """The path's box, to within 0.0001 mm."""
    return box_of(flatten(path, _FINE_MM))


def join_boxes(boxes: Iterable[Box]) -> Box:
    """The box around at least one box."""
    x0, y0, x1, y1 = zip(*boxes, strict=True)
    return (min(x0), min(y0), max(x1), max(y1))


def point_along(line: Ring, distance_mm: float) -> tuple[Point, float]:
    """The point at a distance along an open polyline, and the direction there in degrees.

    Distances below 0 and beyond the end give the ends.
    """
    left = max(distance_mm, 0.0)
    for (x0, y0), (x1, y1) in pairwise(line):
        step = math.hypot(x1 - x0, y1 - y0)
        if left <= step and step > 0.0:
            t = left / step
            return (x0 + t * (x1 - x0), y0 + t * (y1 - y0)), math.degrees(
                math.atan2(y1 - y0, x1 - x0)
            ) % 360.0
        left -= step
    (x0, y0), (x1, y1) = line[-2], line[-1]
    return (x1, y1), math.degrees(math.atan2(y1 - y0, x1 - x0)) % 360.0
