"""Cutting curves at parameters: the parts are the same curve, joined to the bit."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from templater.geometry.flatten import arc_centre
from templater.geometry.moves import reversed_segment
from templater.model.curves import Arc, Cubic, Line, Path, Point, Segment


def point_at(segment: Segment, t: float) -> Point:
    """The point at parameter t in 0..1 (for arcs: the share of the angle)."""
    (x0, y0), (x1, y1) = segment.start, segment.end
    match segment:
        case Line():
            return (x0 + t * (x1 - x0), y0 + t * (y1 - y0))
        case Arc():
            if segment.bulge == 0.0 or segment.start == segment.end:
                return (x0 + t * (x1 - x0), y0 + t * (y1 - y0))
            (cx, cy), _, sweep = arc_centre(segment)
            c, s = math.cos(sweep * t), math.sin(sweep * t)
            return (cx + c * (x0 - cx) - s * (y0 - cy), cy + s * (x0 - cx) + c * (y0 - cy))
        case Cubic():
            return _halves(segment, t)[0].end


def part_of(segment: Segment, t0: float, t1: float) -> Segment:
    """The part between two parameters, 0 <= t0 < t1 <= 1; its own ends are kept to the bit."""
    start = segment.start if t0 == 0.0 else point_at(segment, t0)
    end = segment.end if t1 == 1.0 else point_at(segment, t1)
    match segment:
        case Line():
            return Line(start, end)
        case Arc():
            return Arc(start, end, math.tan(math.atan(segment.bulge) * (t1 - t0)))
        case Cubic():
            if t1 < 1.0:
                segment, t0 = _halves(segment, t1)[0], t0 / t1
            if t0 > 0.0:
                segment = _halves(segment, t0)[1]
            return Cubic(start, segment.control1, segment.control2, end)


def _halves(cubic: Cubic, t: float) -> tuple[Cubic, Cubic]:
    """De Casteljau's construction."""

    def between(a: Point, b: Point) -> Point:
        return (a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1]))

    a = between(cubic.start, cubic.control1)
    b = between(cubic.control1, cubic.control2)
    c = between(cubic.control2, cubic.end)
    d, e = between(a, b), between(b, c)
    middle = between(d, e)
    return Cubic(cubic.start, a, d, middle), Cubic(middle, e, c, cubic.end)


_STEPS = 32
_AT_END = 1e-7

Place = tuple[int, float]
"""A place on a path: which segment, and the parameter on it in 0..1."""


def cut_closed(path: Path, places: Sequence[Place]) -> tuple[Path, ...]:
    """A closed path cut at ascending, distinct places: as many open paths, the first from places[0].

    Raises ValueError without a place.
    """
    if not places:
        raise ValueError("a closed path is cut at one place or more")
    return tuple(
        _between(path, place, places[(i + 1) % len(places)]) for i, place in enumerate(places)
    )


def cut_open(path: Path, places: Sequence[Place]) -> tuple[Path, ...]:
    """An open path cut at ascending, distinct places inside it: one part more than places."""
    ends = [(0, 0.0), *places, (len(path.segments), 0.0)]
    return tuple(_between(path, first, last) for first, last in pairwise(ends))


def _between(path: Path, first: Place, last: Place) -> Path:
    count = len(path.segments)
    segments: list[Segment] = []
    index, t = first
    end_index, end_t = last
    if (end_index, end_t) <= (index, t):
        end_index += count
    while (index, t) < (end_index, end_t):
        until = end_t if index == end_index else 1.0
        if until > t:
            segments.append(part_of(path.segments[index % count], t, until))
        if index == end_index:
            break
        index, t = index + 1, 0.0
    return Path(_joined(segments), closed=False)


def _joined(segments: Sequence[Segment]) -> tuple[Segment, ...]:
    """Rounding may part the ends of parts by a bit: each begins where the last one ended."""
    joined: list[Segment] = []
    for segment in segments:
        if joined and joined[-1].end != segment.start:
            segment = starting(segment, joined[-1].end)  # noqa: PLW2901 - the same part, mended
        joined.append(segment)
    return tuple(joined)


def starting(segment: Segment, start: Point) -> Segment:
    """The segment with another start; a Bézier's first control moves with it."""
    match segment:
        case Line():
            return Line(start, segment.end)
        case Arc():
            return Arc(start, segment.end, segment.bulge)
        case Cubic():
            dx, dy = start[0] - segment.start[0], start[1] - segment.start[1]
            control = (segment.control1[0] + dx, segment.control1[1] + dy)
            return Cubic(start, control, segment.control2, segment.end)


def ending(segment: Segment, end: Point) -> Segment:
    """The segment with another end; a Bézier's last control moves with it."""
    return reversed_segment(starting(reversed_segment(segment), end))


CORNER_DEG = 30.0
"""A corner: the tangent turns by this or more (design, section 2)."""


def turn_deg(before: Segment, after: Segment) -> float:
    """How far the direction turns where one segment joins the next, 0 to 180."""
    a, b = _direction(reversed_segment(before)), _direction(after)
    straight = math.atan2(-a[1], -a[0])
    turn = math.degrees(math.atan2(b[1], b[0]) - straight)
    return abs((turn + 180.0) % 360.0 - 180.0)


def _direction(segment: Segment) -> Point:
    """The direction in which a segment sets out."""
    x0, y0 = segment.start
    near = point_at(segment, 1e-4)
    return (near[0] - x0, near[1] - y0)


def nearest_place(path: Path, point: Point) -> Place:
    """The place on a path nearest to a point, to within 1e-9 of the parameter."""
    best = min(
        (math.dist(point_at(segment, t / _STEPS), point), index, t / _STEPS)
        for index, segment in enumerate(path.segments)
        for t in range(_STEPS + 1)
    )
    _, index, t = best
    segment, step = path.segments[index], 1.0 / _STEPS
    low, high = max(0.0, t - step), min(1.0, t + step)
    for _ in range(60):
        a, b = low + (high - low) / 3.0, high - (high - low) / 3.0
        if math.dist(point_at(segment, a), point) <= math.dist(point_at(segment, b), point):
            high = b
        else:
            low = a
    t = (low + high) / 2.0
    if t > 1.0 - _AT_END:
        index, t = (index + 1) % len(path.segments), 0.0
    return (index, 0.0 if t < _AT_END else t)
