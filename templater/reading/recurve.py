"""Polygons worked out from flattened paths, given their curves back.

Where outlines cross, their inside is found on fine polygons; every corner of the result is either
a point of the flattening, whose place on its curve is known, or a crossing on a known chord. So
runs of corners become pieces of the curves they came from, to within the flattening's tolerance.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from templater.geometry.flatten import arc_centre, flatten
from templater.model.curves import Arc, Cubic, Line, Path, Point, Ring, Segment

GRID_MM = 1e-5
"""The grid that crossings are rounded to."""
_FARTHEST_MM = 0.05  # from the chords' crossing to the curves' own; more is another crossing
_ON_CHORD_MM = 3.0 * GRID_MM
Key = tuple[int, int]


@dataclass(frozen=True, slots=True)
class _Place:
    """A corner of the flattening: the k-th of n + 1 on a segment."""

    segment: int
    k: int


@dataclass(frozen=True, slots=True)
class _Step:
    """An edge of the result on a segment, from one parameter to another (both 0 to 1)."""

    segment: int
    first: float
    last: float


class Traces:
    """Paths flattened, with the way back."""

    def __init__(self, paths: Sequence[Path], tolerance_mm: float) -> None:
        self.segments: list[Segment] = []
        self.points: list[Ring] = []
        self.rings: list[Ring] = []
        self._places: dict[Key, list[_Place]] = {}
        for path in paths:
            ring: list[Point] = []
            for segment in path.segments:
                points = flatten(Path((segment,), closed=False), tolerance_mm)
                for k, point in enumerate(points):
                    self._places.setdefault(_key(point), []).append(_Place(len(self.segments), k))
                self.segments.append(segment)
                self.points.append(points)
                ring.extend(points[:-1])
            self.rings.append(tuple(ring))

    def recurved(self, ring: Ring) -> Path:
        """A ring of the result as a closed path of pieces of the original segments."""
        steps = [self._step(ring[i], ring[(i + 1) % len(ring)]) for i in range(len(ring))]
        first = next((i for i in range(len(ring)) if not _goes_on(steps[i - 1], steps[i])), 0)
        runs: list[_Run] = []
        i = 0
        while i < len(ring):
            at = (first + i) % len(ring)
            length = 1
            while i + length < len(ring) and _goes_on(
                steps[(at + length - 1) % len(ring)], steps[(at + length) % len(ring)]
            ):
                length += 1
            begun, ended = steps[at], steps[(at + length - 1) % len(ring)]
            run = _Run(None, ring[at], 0.0, 0.0)
            if begun is not None and ended is not None:
                run = _Run(self.segments[begun.segment], ring[at], begun.first, ended.last)
            runs.append(run)
            i += length
        _sharpen(runs)
        ends = [run.start for run in (*runs[1:], runs[0])]
        return Path(tuple(run.piece(end) for run, end in zip(runs, ends, strict=True)), closed=True)

    def _step(self, start: Point, end: Point) -> _Step | None:
        """Where an edge lies on the original paths; None where that is not known."""
        ends = self._places.get(_key(end), ())
        for place in self._places.get(_key(start), ()):
            for other in ends:
                if other.segment == place.segment and abs(other.k - place.k) == 1:
                    return self._between(place.segment, place.k, other.k)
            found = self._on_chord(place, end)
            if found is not None:
                count = len(self.points[place.segment]) - 1
                return _Step(place.segment, place.k / count, found)
        for place in ends:
            found = self._on_chord(place, start)
            if found is not None:
                count = len(self.points[place.segment]) - 1
                return _Step(place.segment, found, place.k / count)
        return None

    def _between(self, segment: int, k: int, other: int) -> _Step:
        count = len(self.points[segment]) - 1
        return _Step(segment, k / count, other / count)

    def _on_chord(self, place: _Place, point: Point) -> float | None:
        """The parameter of a point on a chord that begins or ends at a place."""
        points = self.points[place.segment]
        for k in (place.k, place.k - 1):
            if 0 <= k < len(points) - 1:
                (x0, y0), (x1, y1) = points[k], points[k + 1]
                dx, dy = x1 - x0, y1 - y0
                length = math.hypot(dx, dy)
                if length == 0.0:
                    continue
                along = ((point[0] - x0) * dx + (point[1] - y0) * dy) / (length * length)
                off = abs((point[0] - x0) * dy - (point[1] - y0) * dx) / length
                if off <= _ON_CHORD_MM and -1e-9 <= along <= 1.0 + 1e-9:
                    return (k + min(max(along, 0.0), 1.0)) / (len(points) - 1)
        return None


def _key(point: Point) -> Key:
    return (round(point[0] / GRID_MM), round(point[1] / GRID_MM))


def _goes_on(one: _Step | None, other: _Step | None) -> bool:
    """Whether the second edge runs on along the same segment, the same way."""
    if one is None or other is None or one.segment != other.segment:
        return False
    return abs(one.last - other.first) < 1e-9 and (one.last > one.first) == (
        other.last > other.first
    )


@dataclass(slots=True)
class _Run:
    """A stretch of the result on one segment, from one of its parameters to another."""

    segment: Segment | None
    start: Point
    first: float
    last: float

    def piece(self, end: Point) -> Segment:
        """The part of the segment, made to begin and end exactly where it must."""
        match self.segment:
            case Arc():
                sweep = 4.0 * math.atan(self.segment.bulge) * (self.last - self.first)
                return Arc(self.start, end, math.tan(sweep / 4.0))
            case Cubic():
                one, two = _cut(self.segment, self.first, self.last)
                return Cubic(self.start, one, two, end)
            case _:
                return Line(self.start, end)


def _sharpen(runs: list[_Run]) -> None:
    """Move each corner from where chords cross to where the curves themselves do."""
    for before, after in zip((runs[-1], *runs[:-1]), runs, strict=True):
        if before.segment is None or after.segment is None or before is after:
            continue
        found = _crossing(before.segment, before.last, after.segment, after.first)
        if found is None or math.dist(found[2], after.start) > _FARTHEST_MM:
            continue
        before.last, after.first, after.start = found


def _crossing(
    one: Segment, s: float, other: Segment, t: float
) -> tuple[float, float, Point] | None:
    """Where two segments cross, by Newton's method from a near pair of parameters."""
    for _ in range(8):
        (x0, y0), (dx0, dy0) = _at(one, s)
        (x1, y1), (dx1, dy1) = _at(other, t)
        flat = dx0 * dy1 - dy0 * dx1
        if abs(flat) <= 1e-3 * math.hypot(dx0, dy0) * math.hypot(dx1, dy1):
            return None  # they run along each other: no one place is the crossing
        gap_x, gap_y = x1 - x0, y1 - y0
        if math.hypot(gap_x, gap_y) < 1e-10:
            break
        s += (gap_x * dy1 - gap_y * dx1) / flat
        t += (gap_x * dy0 - gap_y * dx0) / flat
    if not (-1e-9 <= s <= 1.0 + 1e-9 and -1e-9 <= t <= 1.0 + 1e-9):
        return None
    return s, t, _at(one, s)[0]


def _at(segment: Segment, t: float) -> tuple[Point, Point]:
    """Place and derivative at a parameter."""
    (x0, y0), (x1, y1) = segment.start, segment.end
    match segment:
        case Arc() if segment.bulge != 0.0 and segment.start != segment.end:
            (cx, cy), radius, sweep = arc_centre(segment)
            angle = math.atan2(y0 - cy, x0 - cx) + sweep * t
            cos, sin = radius * math.cos(angle), radius * math.sin(angle)
            return (cx + cos, cy + sin), (-sweep * sin, sweep * cos)
        case Cubic():
            (ax, ay), (bx, by) = segment.control1, segment.control2
            u = 1.0 - t
            a, b, c, d = u * u * u, 3.0 * u * u * t, 3.0 * u * t * t, t * t * t
            e, f, g = 3.0 * u * u, 6.0 * u * t, 3.0 * t * t
            return (
                (a * x0 + b * ax + c * bx + d * x1, a * y0 + b * ay + c * by + d * y1),
                (
                    e * (ax - x0) + f * (bx - ax) + g * (x1 - bx),
                    e * (ay - y0) + f * (by - ay) + g * (y1 - by),
                ),
            )
        case _:
            return (x0 + t * (x1 - x0), y0 + t * (y1 - y0)), (x1 - x0, y1 - y0)


def _cut(cubic: Cubic, first: float, last: float) -> tuple[Point, Point]:
    """The controls of the part of a cubic between two parameters, run from first to last.

    By blossoming: the part's controls are the curve's polar form at (first, first, last) and
    (first, last, last). Source: the de Casteljau algorithm in its polar form (textbook).
    """

    def polar(r: float, s: float, t: float) -> Point:
        points = (cubic.start, cubic.control1, cubic.control2, cubic.end)
        for u in (r, s, t):
            points = tuple(  # type: ignore[assignment] # one point fewer each time
                (p[0] + u * (q[0] - p[0]), p[1] + u * (q[1] - p[1])) for p, q in pairwise(points)
            )
        return points[0]

    return polar(first, first, last), polar(first, last, last)
