"""Arcs of circles and ellipses, under any transform of the plane, as our segments.

An arc is held as centre + u·cos t + v·sin t, which a transform of the plane turns into another of
its kind. Where u and v are perpendicular and equal it is an exact `Arc`; else it becomes Béziers.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from templater.geometry.flatten import arc_centre
from templater.model.curves import Arc, Cubic, Line, Point, Segment, Transform

CURVE_TOLERANCE_MM = 1e-5
_ROUND = 1e-9


@dataclass(frozen=True, slots=True)
class Conic:
    """centre + u·cos t + v·sin t for t from `start` over `sweep`, radians, sweep signed."""

    centre: Point
    u: Point
    v: Point
    start: float
    sweep: float

    def at(self, t: float) -> Point:
        cos, sin = math.cos(t), math.sin(t)
        return (
            self.centre[0] + self.u[0] * cos + self.v[0] * sin,
            self.centre[1] + self.u[1] * cos + self.v[1] * sin,
        )

    def slope(self, t: float) -> Point:
        """The derivative by t."""
        cos, sin = math.cos(t), math.sin(t)
        return (self.v[0] * cos - self.u[0] * sin, self.v[1] * cos - self.u[1] * sin)

    def moved(self, transform: Transform) -> Conic:
        x, y = transform.e, transform.f
        u, v = transform.apply(self.u), transform.apply(self.v)
        return Conic(
            transform.apply(self.centre),
            (u[0] - x, u[1] - y),
            (v[0] - x, v[1] - y),
            self.start,
            self.sweep,
        )


def circle_conic(
    centre: Point, radius: float, start: float = 0.0, sweep: float = math.tau
) -> Conic:
    """An arc of a circle; angles in radians."""
    return Conic(centre, (radius, 0.0), (0.0, radius), start, sweep)


def conic_segments(conic: Conic, *, whole: bool) -> tuple[Segment, ...]:
    """The arc as segments: exact arcs of at most a half circle, or Béziers within 1e-5 mm.

    `whole` closes a full turn to the bit. The Bézier of an arc of angle θ on the unit circle, with
    handles 4/3·tan(θ/4), errs by at most 2/27·sin⁶(θ/4)/cos²(θ/4) (Goldapp, Approximation of
    circular arcs by cubic polynomials, CAGD 8, 1991); a transform of the plane stretches the error
    by no more than its longest axis, which |u| + |v| bounds.
    """
    lu, lv = math.hypot(*conic.u), math.hypot(*conic.v)
    across = conic.u[0] * conic.v[0] + conic.u[1] * conic.v[1]
    size = max(lu, lv)
    if abs(lu - lv) <= _ROUND * size and abs(across) <= _ROUND * size * size:
        return _as_arcs(conic, whole=whole)
    pieces = _pieces(abs(conic.sweep), lu + lv, whole=whole)
    step = conic.sweep / pieces
    handle = 4.0 / 3.0 * math.tan(step / 4.0)
    points = _points(conic, pieces, whole=whole)
    segments = []
    for k in range(pieces):
        t0, t1 = conic.start + k * step, conic.start + (k + 1) * step
        (x0, y0), (x1, y1) = points[k], points[k + 1]
        (dx0, dy0), (dx1, dy1) = conic.slope(t0), conic.slope(t1)
        segments.append(
            Cubic(
                (x0, y0),
                (x0 + handle * dx0, y0 + handle * dy0),
                (x1 - handle * dx1, y1 - handle * dy1),
                (x1, y1),
            )
        )
    return tuple(segments)


def _pieces(sweep: float, size_mm: float, *, whole: bool) -> int:
    pieces = 4 if whole else max(1, math.ceil(sweep / (math.pi / 2.0) - 1e-12))
    while True:
        quarter = sweep / pieces / 4.0
        error = 2.0 / 27.0 * math.sin(quarter) ** 6 / math.cos(quarter) ** 2
        if error * size_mm <= CURVE_TOLERANCE_MM or pieces >= 1 << 14:
            return pieces
        pieces *= 2


def _points(conic: Conic, pieces: int, *, whole: bool) -> list[Point]:
    points = [conic.at(conic.start + conic.sweep * k / pieces) for k in range(pieces + 1)]
    if whole:
        points[-1] = points[0]
    return points


def _as_arcs(conic: Conic, *, whole: bool) -> tuple[Segment, ...]:
    pieces = 2 if abs(conic.sweep) > math.pi + 1e-9 else 1
    turns = conic.u[0] * conic.v[1] - conic.u[1] * conic.v[0]
    bulge = math.copysign(1.0, turns) * math.tan(conic.sweep / pieces / 4.0)
    if whole:
        bulge = math.copysign(1.0, bulge)
    points = _points(conic, pieces, whole=whole)
    return tuple(Arc(points[k], points[k + 1], bulge) for k in range(pieces))


def moved_bulge(
    start: Point, end: Point, bulge: float, transform: Transform
) -> tuple[Segment, ...]:
    """A line or bulged segment under any transform of the plane; its ends exactly transformed."""
    at = transform.apply
    if bulge == 0.0:
        return (Line(at(start), at(end)),)
    one, other = math.hypot(transform.a, transform.b), math.hypot(transform.c, transform.d)
    across = transform.a * transform.c + transform.b * transform.d
    size = max(one, other)
    if abs(one - other) <= _ROUND * size and abs(across) <= _ROUND * size * size:
        return (Arc(at(start), at(end), -bulge if transform.mirrors else bulge),)
    centre, radius, sweep = arc_centre(Arc(start, end, bulge))
    first = math.atan2(start[1] - centre[1], start[0] - centre[0])
    conic = circle_conic(centre, radius, first, sweep).moved(transform)
    segments = list(conic_segments(conic, whole=False))
    head, tail = segments[0], segments[-1]
    if isinstance(head, Cubic):
        segments[0] = Cubic(at(start), head.control1, head.control2, head.end)
    tail = segments[-1]
    if isinstance(tail, Cubic):
        segments[-1] = Cubic(tail.start, tail.control1, tail.control2, at(end))
    return tuple(segments)
