"""Cutting curves at parameters: the parts are the same curve, joined to the bit."""

from __future__ import annotations

import math
from collections.abc import Sequence

from templater.geometry.flatten import arc_centre
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
            segment = _starting(segment, joined[-1].end)  # noqa: PLW2901 - the same part, mended
        joined.append(segment)
    return tuple(joined)


def _starting(segment: Segment, start: Point) -> Segment:
    match segment:
        case Line():
            return Line(start, segment.end)
        case Arc():
            return Arc(start, segment.end, segment.bulge)
        case Cubic():
            return Cubic(start, segment.control1, segment.control2, segment.end)
