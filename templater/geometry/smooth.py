"""Curves as circular arcs: each Bézier becomes arcs that keep its ends and its tangents.

Arcs are what a cutting machine runs smoothly, and the only curves whose parallels are of their
own kind: an outline of arcs and lines can be offset exactly.
"""

from __future__ import annotations

import math

from templater.geometry.flatten import arc_centre
from templater.model.curves import Arc, Cubic, Line, Path, Point, Segment

_DEPTH = 14
_PROBES = tuple(i / 10.0 for i in range(1, 10))
_STRAIGHT = 1e-9


def arcs_of(path: Path, tolerance_mm: float) -> Path:
    """The path with every Bézier replaced by lines and arcs within `tolerance_mm` of it.

    Where the path is smooth the result is smooth, corners stay where they are, and lines and arcs
    are kept as they are. Raises ValueError for a tolerance that is not positive.
    """
    if not tolerance_mm > 0.0:
        raise ValueError("the fitting tolerance must be positive")
    return Path(
        tuple(part for segment in path.segments for part in arcs_of_segment(segment, tolerance_mm)),
        path.closed,
    )


def arcs_of_segment(segment: Segment, tolerance_mm: float) -> tuple[Line | Arc, ...]:
    """One segment as lines and arcs."""
    match segment:
        case Line():
            return (segment,)
        case Arc():
            flat = segment.bulge == 0.0 or segment.start == segment.end
            return (Line(segment.start, segment.end) if flat else segment,)
        case Cubic():
            return tuple(_fit(segment, tolerance_mm, _DEPTH))


def start_direction(segment: Segment) -> Point:
    """The unit tangent where a segment begins, (0, 0) for one that is a point."""
    match segment:
        case Line():
            return _unit(segment.start, segment.end)
        case Arc():
            return _turned(_unit(segment.start, segment.end), segment.bulge, -1.0)
        case Cubic():
            for other in (segment.control1, segment.control2, segment.end):
                direction = _unit(segment.start, other)
                if direction != (0.0, 0.0):
                    return direction
            return (0.0, 0.0)


def end_direction(segment: Segment) -> Point:
    """The unit tangent where a segment ends, (0, 0) for one that is a point."""
    match segment:
        case Line():
            return _unit(segment.start, segment.end)
        case Arc():
            return _turned(_unit(segment.start, segment.end), segment.bulge, 1.0)
        case Cubic():
            for other in (segment.control2, segment.control1, segment.start):
                direction = _unit(other, segment.end)
                if direction != (0.0, 0.0):
                    return direction
            return (0.0, 0.0)


def distance_to(segment: Line | Arc, point: Point) -> float:
    """The distance in mm from a point to a line or an arc."""
    if isinstance(segment, Arc) and segment.bulge != 0.0 and segment.start != segment.end:
        centre, radius, sweep = arc_centre(segment)
        first = math.atan2(segment.start[1] - centre[1], segment.start[0] - centre[0])
        at = math.atan2(point[1] - centre[1], point[0] - centre[0])
        along = (at - first) % math.tau if sweep > 0.0 else (first - at) % math.tau
        if along <= abs(sweep):
            return abs(math.dist(point, centre) - radius)
        return min(math.dist(point, segment.start), math.dist(point, segment.end))
    (x0, y0), (x1, y1) = segment.start, segment.end
    dx, dy = x1 - x0, y1 - y0
    squared = dx * dx + dy * dy
    if squared == 0.0:
        return math.dist(point, segment.start)
    t = min(1.0, max(0.0, ((point[0] - x0) * dx + (point[1] - y0) * dy) / squared))
    return math.hypot(point[0] - x0 - t * dx, point[1] - y0 - t * dy)


def cubic_point(cubic: Cubic, t: float) -> Point:
    """The point at parameter t in [0, 1]."""
    u = 1.0 - t
    a, b, c, d = u * u * u, 3.0 * u * u * t, 3.0 * u * t * t, t * t * t
    return (
        a * cubic.start[0] + b * cubic.control1[0] + c * cubic.control2[0] + d * cubic.end[0],
        a * cubic.start[1] + b * cubic.control1[1] + c * cubic.control2[1] + d * cubic.end[1],
    )


def split_cubic(cubic: Cubic, t: float) -> tuple[Cubic, Cubic]:
    """The two halves of a Bézier at parameter t (de Casteljau)."""

    def between(p: Point, q: Point) -> Point:
        return (p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1]))

    a, b, c = (
        between(cubic.start, cubic.control1),
        between(cubic.control1, cubic.control2),
        between(cubic.control2, cubic.end),
    )
    ab, bc = between(a, b), between(b, c)
    middle = between(ab, bc)
    return Cubic(cubic.start, a, ab, middle), Cubic(middle, bc, c, cubic.end)


def biarc(start: Point, leaving: Point, end: Point, arriving: Point) -> tuple[Line | Arc, ...]:
    """Two arcs from `start` to `end` with the given unit tangents and equal tangent lengths.

    With v = end − start and T0, T1 the tangents, the tangent length d solves
    2(1 − T0·T1)·d² + 2(v·(T0 + T1))·d − v·v = 0; the arcs meet halfway between their far
    tangent points. Textbook construction. Empty if none exists (a hairpin against the chord).
    """
    vx, vy = end[0] - start[0], end[1] - start[1]
    (ax, ay), (bx, by) = leaving, arriving
    squared = vx * vx + vy * vy
    along = vx * (ax + bx) + vy * (ay + by)
    spread = 2.0 * (1.0 - (ax * bx + ay * by))
    if spread < 1e-12:
        if along <= 0.0:
            return ()
        reach = squared / (2.0 * along)
    else:
        reach = (math.sqrt(along * along + spread * squared) - along) / spread
    if not math.isfinite(reach) or reach <= 0.0:
        return ()
    middle = (
        (start[0] + reach * ax + end[0] - reach * bx) / 2.0,
        (start[1] + reach * ay + end[1] - reach * by) / 2.0,
    )
    return (_arc_leaving(start, leaving, middle), _arc_arriving(middle, end, arriving))


def _arc_leaving(start: Point, direction: Point, end: Point) -> Line | Arc:
    return _arc(start, end, _angle(direction, _unit(start, end)))


def _arc_arriving(start: Point, end: Point, direction: Point) -> Line | Arc:
    return _arc(start, end, _angle(_unit(start, end), direction))


def _arc(start: Point, end: Point, half_sweep: float) -> Line | Arc:
    bulge = math.tan(half_sweep / 2.0)
    return Line(start, end) if abs(bulge) < _STRAIGHT else Arc(start, end, bulge)


def _fit(cubic: Cubic, tolerance_mm: float, depth: int) -> list[Line | Arc]:
    reach = max(math.dist(cubic.start, p) for p in (cubic.control1, cubic.control2, cubic.end))
    if depth == 0 or reach <= tolerance_mm / 2.0:
        # A cusp's very tip, or less than the tolerance: a point of it is as good as the rest.
        return [] if cubic.start == cubic.end else [Line(cubic.start, cubic.end)]
    if _is_straight(cubic, tolerance_mm * 1e-3):
        return [Line(cubic.start, cubic.end)]
    if _bends_gently(cubic):
        parts = biarc(cubic.start, start_direction(cubic), cubic.end, end_direction(cubic))
        if parts and all(
            min(distance_to(part, cubic_point(cubic, t)) for part in parts) <= 0.8 * tolerance_mm
            for t in _PROBES
        ):
            return list(parts)
    before, after = split_cubic(cubic, 0.5)
    return _fit(before, tolerance_mm, depth - 1) + _fit(after, tolerance_mm, depth - 1)


def _bends_gently(cubic: Cubic) -> bool:
    """Whether the control polygon turns by less than 60° in all: no cusp, loop or hairpin."""
    legs = (
        start_direction(cubic),
        _unit(cubic.control1, cubic.control2),
        end_direction(cubic),
    )
    first, middle, last = legs
    if middle == (0.0, 0.0):
        return abs(_angle(first, last)) < math.pi / 3.0
    return abs(_angle(first, middle)) + abs(_angle(middle, last)) < math.pi / 3.0


def _is_straight(cubic: Cubic, tolerance_mm: float) -> bool:
    """Whether the control points lie on the chord, in order along it."""
    chord = math.dist(cubic.start, cubic.end)
    if chord == 0.0:
        return False
    ux, uy = _unit(cubic.start, cubic.end)
    last = 0.0
    for x, y in (cubic.control1, cubic.control2):
        dx, dy = x - cubic.start[0], y - cubic.start[1]
        if abs(dx * uy - dy * ux) > tolerance_mm:
            return False
        along = dx * ux + dy * uy
        if along < last - tolerance_mm or along > chord + tolerance_mm:
            return False
        last = along
    return True


def _unit(start: Point, end: Point) -> Point:
    dx, dy = end[0] - start[0], end[1] - start[1]
    length = math.hypot(dx, dy)
    return (0.0, 0.0) if length == 0.0 else (dx / length, dy / length)


def _angle(first: Point, second: Point) -> float:
    """The signed turn in radians from one direction to another."""
    return math.atan2(
        first[0] * second[1] - first[1] * second[0], first[0] * second[0] + first[1] * second[1]
    )


def _turned(direction: Point, bulge: float, sign: float) -> Point:
    """A chord's direction turned by half the arc's sweep (sweep = 4·atan(bulge))."""
    squared = 1.0 + bulge * bulge
    cos, sin = (1.0 - bulge * bulge) / squared, sign * 2.0 * bulge / squared
    x, y = direction
    return (x * cos - y * sin, x * sin + y * cos)
