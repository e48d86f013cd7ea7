"""From a union of polygons back to the lines and arcs it was made of.

The union decides only which curve bounds the result where; the curves themselves are taken from
the pieces, and their crossings computed from the curves. So nothing is lost to the flattening.
Imports numpy and shapely inside functions.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from templater.geometry.flatten import arc_centre, flatten
from templater.geometry.offset_curves import Curve
from templater.model.curves import Arc, Line, Path, Point, Ring

_NEAR_MM = 1e-6
_REFINE_MM = 0.1
_SHORTEST_MM = 1e-4
_LOOP_SEGMENTS = 4


@dataclass(frozen=True, slots=True)
class Traced:
    """One segment of a result and the number of the Bézier it stands for (−1: none)."""

    segment: Line | Arc
    bend: int


class Tracer:
    """Finds the curves under a ring's sides. Built once for all rings of a result."""

    def __init__(self, curves: Sequence[Curve], flat_mm: float) -> None:
        import numpy as np
        import shapely

        self._curves = curves
        chords: list[tuple[Point, Point]] = []
        owners: list[int] = []
        for number, curve in enumerate(curves):
            points = flatten(Path((curve.segment,), closed=False), flat_mm)
            pairs = list(pairwise(points))
            chords.extend(pairs)
            owners.extend([number] * len(pairs))
        self._owners = np.asarray(owners)
        self._tree = shapely.STRtree(shapely.linestrings(np.asarray(chords)))

    def trace(self, ring: Ring) -> tuple[Traced, ...]:
        """The ring's own curves, in order, from one crossing to the next."""
        return _tidy(self._segments(ring))

    def _candidates(self, ring: Ring) -> list[frozenset[int]]:
        import numpy as np
        import shapely

        points = np.asarray(ring)
        middles = (points + np.roll(points, -1, axis=0)) / 2.0
        pairs = self._tree.query(shapely.points(middles), predicate="dwithin", distance=_NEAR_MM)
        found: list[set[int]] = [set() for _ in ring]
        for side, chord in zip(pairs[0].tolist(), pairs[1].tolist(), strict=True):
            found[side].add(int(self._owners[chord]))
        return [frozenset(each) for each in found]

    def _runs(self, ring: Ring) -> list[tuple[int, int, int]]:
        """(curve or −1, first side, number of sides), round the ring."""
        candidates = self._candidates(ring)
        count = len(ring)
        first = next(
            (i for i in range(count) if not candidates[i] & candidates[i - 1]),
            0,
        )
        runs: list[tuple[int, int, int]] = []
        i = 0
        while i < count:
            shared = candidates[(first + i) % count]
            length = 1
            while i + length < count:
                both = shared & candidates[(first + i + length) % count]
                if not both:
                    break
                shared, length = both, length + 1
            runs.append((self._choice(shared), (first + i) % count, length))
            i += length
        return runs

    def _choice(self, shared: frozenset[int]) -> int:
        """A curve proper rather than a wall, then the first: the same on every run."""
        return min(shared, key=lambda n: (self._curves[n].wall, n), default=-1)

    def _segments(self, ring: Ring) -> list[Traced]:
        runs, count = self._runs(ring), len(ring)
        while len(runs) > 1:
            starts = [
                self._crossing(runs[k - 1][0], number, ring[side])
                for k, (number, side, _) in enumerate(runs)
            ]
            overrun = self._overrun(ring, runs, starts)
            if overrun is None:
                break
            # The curves cross beyond this one's end: its neighbours meet without it.
            runs.pop(overrun)
        if len(runs) == 1:
            return [Traced(Line(ring[i], ring[(i + 1) % count]), -1) for i in range(count)]
        result: list[Traced] = []
        for k, (number, side, length) in enumerate(runs):
            start, end = starts[k], starts[(k + 1) % len(runs)]
            between = [ring[(side + j) % count] for j in range(1, length)]
            result.append(self._segment(number, start, between, end))
        return result

    def _overrun(
        self, ring: Ring, runs: Sequence[tuple[int, int, int]], starts: Sequence[Point]
    ) -> int | None:
        """A short run whose exact ends would make it go backwards."""
        for k, (number, side, length) in enumerate(runs):
            start, end = starts[k], starts[(k + 1) % len(runs)]
            if number < 0 or math.dist(start, end) > _REFINE_MM:
                continue
            (x0, y0), (x1, y1) = ring[side], ring[(side + length) % len(ring)]
            ahead = (end[0] - start[0]) * (x1 - x0) + (end[1] - start[1]) * (y1 - y0)
            if ahead < 0.0 and math.hypot(x1 - x0, y1 - y0) < _REFINE_MM:
                return k
        return None

    def _segment(self, number: int, start: Point, between: list[Point], end: Point) -> Traced:
        if number < 0:
            return Traced(Line(start, end), -1)
        curve = self._curves[number]
        segment = curve.segment
        if isinstance(segment, Line) or segment.bulge == 0.0:
            return Traced(Line(start, end), curve.bend)
        centre, _, _ = arc_centre(segment)
        sweep = _swept(centre, (start, *between, end))
        return Traced(Arc(start, end, math.tan(sweep / 4.0)), curve.bend)

    def _crossing(self, before: int, after: int, near: Point) -> Point:
        """Where two curves meet, exactly; the ring's own point where they only touch."""
        if before < 0 or after < 0:
            return near
        first, second = self._curves[before].segment, self._curves[after].segment
        for end in _ends(first):
            if math.dist(end, near) < _NEAR_MM and any(
                math.dist(end, other) < _NEAR_MM for other in _ends(second)
            ):
                return end
        found = [p for p in _crossings(first, second) if math.dist(p, near) <= _REFINE_MM]
        return min(found, key=lambda p: math.dist(p, near), default=near)


def _ends(segment: Line | Arc) -> tuple[Point, Point]:
    return segment.start, segment.end


def _swept(centre: Point, points: Iterable[Point]) -> float:
    total, last = 0.0, None
    for x, y in points:
        angle = math.atan2(y - centre[1], x - centre[0])
        if last is not None:
            total += math.remainder(angle - last, math.tau)
        last = angle
    return total


def _crossings(first: Line | Arc, second: Line | Arc) -> tuple[Point, ...]:
    """Where the whole lines or circles of two segments cross."""
    round_first = isinstance(first, Arc) and first.bulge != 0.0
    round_second = isinstance(second, Arc) and second.bulge != 0.0
    if round_first and round_second:
        return _circles_cross(first, second)  # type: ignore[arg-type]  # both are arcs here
    if round_first:
        return _line_circle(second, first)  # type: ignore[arg-type]  # likewise
    if round_second:
        return _line_circle(first, second)  # type: ignore[arg-type]  # likewise
    return _lines_cross(first, second)


def _lines_cross(first: Line | Arc, second: Line | Arc) -> tuple[Point, ...]:
    (x0, y0), (x1, y1) = first.start, first.end
    (x2, y2), (x3, y3) = second.start, second.end
    ax, ay, bx, by = x1 - x0, y1 - y0, x3 - x2, y3 - y2
    cross = ax * by - ay * bx
    if abs(cross) <= 1e-9 * math.hypot(ax, ay) * math.hypot(bx, by):
        return ()
    t = ((x2 - x0) * by - (y2 - y0) * bx) / cross
    return ((x0 + t * ax, y0 + t * ay),)


def _line_circle(line: Line | Arc, arc: Arc) -> tuple[Point, ...]:
    (cx, cy), radius, _ = arc_centre(arc)
    (x0, y0), (x1, y1) = line.start, line.end
    length = math.hypot(x1 - x0, y1 - y0)
    ux, uy = (x1 - x0) / length, (y1 - y0) / length
    along = (cx - x0) * ux + (cy - y0) * uy
    away = (cx - x0) * uy - (cy - y0) * ux
    rest = radius * radius - away * away
    if rest < 0.0:
        return ()
    half = math.sqrt(rest)
    return tuple((x0 + (along + s) * ux, y0 + (along + s) * uy) for s in (-half, half))


def _circles_cross(first: Arc, second: Arc) -> tuple[Point, ...]:
    (ax, ay), ra, _ = arc_centre(first)
    (bx, by), rb, _ = arc_centre(second)
    apart = math.hypot(bx - ax, by - ay)
    if apart <= 1e-9 * (ra + rb):
        return ()
    ux, uy = (bx - ax) / apart, (by - ay) / apart
    along = (apart * apart + ra * ra - rb * rb) / (2.0 * apart)
    rest = ra * ra - along * along
    if rest < 0.0:
        return ()
    half = math.sqrt(rest)
    return tuple((ax + along * ux - s * uy, ay + along * uy + s * ux) for s in (-half, half))


def _tidy(traced: list[Traced]) -> tuple[Traced, ...]:
    """Segments too short to cut taken out, straight ones in one line made one."""
    kept = _without_loops([each for each in traced if _extent(each.segment) >= _SHORTEST_MM])
    if len(kept) < 2:
        return tuple(traced)
    kept = [
        Traced(_to(each.segment, kept[(i + 1) % len(kept)].segment.start), each.bend)
        for i, each in enumerate(kept)
    ]
    merged: list[Traced] = []
    for each in kept:
        last = merged[-1] if merged else None
        if last is not None and _in_line(last, each):
            merged[-1] = Traced(Line(last.segment.start, each.segment.end), last.bend)
        else:
            merged.append(each)
    if len(merged) > 2 and _in_line(merged[-1], merged[0]):
        merged[0] = Traced(Line(merged[-1].segment.start, merged[0].segment.end), merged[0].bend)
        merged.pop()
    return tuple(merged)


def _without_loops(traced: list[Traced]) -> list[Traced]:
    """Without a few short segments that come back to where they began: the rest of a filled crack."""
    kept: list[Traced] = []
    for each in traced:
        kept.append(each)
        for count in range(2, min(_LOOP_SEGMENTS, len(kept) - 1) + 1):
            loop = kept[-count:]
            if (
                math.dist(loop[0].segment.start, loop[-1].segment.end) < _NEAR_MM
                and sum(_extent(part.segment) for part in loop) < _REFINE_MM
            ):
                del kept[-count:]
                break
    return kept


def _extent(segment: Line | Arc) -> float:
    return math.dist(segment.start, segment.end) * (
        max(1.0, abs(segment.bulge)) if isinstance(segment, Arc) else 1.0
    )


def _to(segment: Line | Arc, end: Point) -> Line | Arc:
    if isinstance(segment, Arc):
        return Arc(segment.start, end, segment.bulge)
    return Line(segment.start, end)


def _in_line(first: Traced, second: Traced) -> bool:
    a, b = first.segment, second.segment
    if not (isinstance(a, Line) and isinstance(b, Line)) or first.bend != second.bend:
        return False
    (x0, y0), (x1, y1), (x2, y2) = a.start, a.end, b.end
    length = math.dist(a.start, b.end)
    if length == 0.0:
        return False
    away = abs((x1 - x0) * (y2 - y0) - (y1 - y0) * (x2 - x0)) / length
    forward = (x1 - x0) * (x2 - x1) + (y1 - y0) * (y2 - y1)
    return away < 1e-7 and forward > 0.0
