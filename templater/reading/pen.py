"""A pen that draws in a file's own units and leaves paths in millimetres.

Every reader of curves drives one: it carries the transform, keeps lines lines, circles circular
arcs where the transform leaves them round, and turns what is left of ellipses into Béziers.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from templater.model.curves import Arc, Cubic, Line, Path, Point, Segment, Transform

ARC_TOLERANCE_MM = 1e-5
"""How far a Bézier may lie from the elliptic arc it stands for."""
CLOSING_GAP_MM = 0.05
"""An outline whose ends are no farther apart than this is closed (and counted)."""
CLOSING_SHARE = 0.01
"""But never a gap of more than this share of the outline's length."""
_CLOSING_STEP = 0.1
SAME_PLACE_MM = 1e-6
"""Points nearer than this are one point; segments shorter than this have no direction."""
_BEYOND_MM = 1e9
_ROUND_MM = 1e-7
_QUARTER_ERROR = 2.8e-4  # of the radius: one cubic for a quarter of a circle (from memory: 2.73e-4)


@dataclass(slots=True)
class Subpath:
    """What was drawn between two moves. `closed` as the file says; `start` even without segments."""

    start: Point
    segments: list[Segment] = field(default_factory=list)
    closed: bool = False
    zero_length: int = 0
    by_a_hair: bool = False

    def path(self) -> Path:
        return Path(tuple(self.segments), self.closed)


class Pen:
    """Draws subpaths. Coordinates come in user units and leave through the transform, in mm."""

    def __init__(self, transform: Transform) -> None:
        self.transform = transform
        self.subpaths: list[Subpath] = []
        self._a, self._b, self._c = transform.a, transform.b, transform.c
        self._d, self._e, self._f = transform.d, transform.e, transform.f
        self._now: Subpath | None = None
        self._at: Point = (0.0, 0.0)

    def _out(self, x: float, y: float) -> Point:
        return (self._a * x + self._c * y + self._e, self._b * x + self._d * y + self._f)

    def move(self, x: float, y: float) -> None:
        """Begin a subpath."""
        self._at = self._out(x, y)
        self._now = Subpath(self._at)
        self.subpaths.append(self._now)

    def _pen(self) -> Subpath:
        """The subpath being drawn: after a closing one, a new one from the same start."""
        now = self._now
        assert now is not None, "the first command moves"
        if now.closed:
            self._at = now.start
            now = self._now = Subpath(now.start)
            self.subpaths.append(now)
        return now

    def line(self, x: float, y: float) -> None:
        now = self._pen()
        end = (self._a * x + self._c * y + self._e, self._b * x + self._d * y + self._f)
        at = self._at
        if abs(end[0] - at[0]) < SAME_PLACE_MM and abs(end[1] - at[1]) < SAME_PLACE_MM:
            now.zero_length += 1
            return
        now.segments.append(Line(at, end))
        self._at = end

    def cubic(self, x1: float, y1: float, x2: float, y2: float, x: float, y: float) -> None:
        now, at = self._pen(), self._at
        one, two, end = self._out(x1, y1), self._out(x2, y2), self._out(x, y)
        if max(math.dist(at, p) for p in (one, two, end)) < SAME_PLACE_MM:
            now.zero_length += 1
            return
        now.segments.append(Cubic(at, one, two, end))
        self._at = end

    def quadratic(self, x1: float, y1: float, x: float, y: float) -> None:
        """Raised to a cubic exactly: the controls lie two thirds of the way to the quadratic's."""
        now, at = self._pen(), self._at
        (cx, cy), end = self._out(x1, y1), self._out(x, y)
        if max(math.dist(at, (cx, cy)), math.dist(at, end)) < SAME_PLACE_MM:
            now.zero_length += 1
            return
        one = (at[0] + (cx - at[0]) * 2.0 / 3.0, at[1] + (cy - at[1]) * 2.0 / 3.0)
        two = (end[0] + (cx - end[0]) * 2.0 / 3.0, end[1] + (cy - end[1]) * 2.0 / 3.0)
        now.segments.append(Cubic(at, one, two, end))
        self._at = end

    def sweep(
        self,
        centre: Point,
        half_axis_x: Point,
        half_axis_y: Point,
        first_rad: float,
        turn_rad: float,
        end: Point,
    ) -> None:
        """An elliptic arc: centre + cos t · half_axis_x + sin t · half_axis_y, all in user units.

        `t` runs from `first_rad` by `turn_rad`; `end` is where it ends, exactly.
        """
        now, at = self._pen(), self._at
        a, b, c, d = self._a, self._b, self._c, self._d
        ux, uy = a * half_axis_x[0] + c * half_axis_x[1], b * half_axis_x[0] + d * half_axis_x[1]
        vx, vy = a * half_axis_y[0] + c * half_axis_y[1], b * half_axis_y[0] + d * half_axis_y[1]
        finish = self._out(*end)
        whole = abs(turn_rad) >= 2.0 * math.pi - 1e-12
        if math.dist(at, finish) < SAME_PLACE_MM and not whole:
            now.zero_length += 1
            return
        long, short = _half_axes(ux, uy, vx, vy)
        if not long <= _BEYOND_MM:  # not a number, or far beyond any drawing: refused later
            now.segments.append(Line(at, finish))
            self._at = finish
            return
        round_ = long - short <= max(_ROUND_MM, 1e-12 * long) and long > 0.0
        if round_:
            pieces = max(1, math.ceil(abs(turn_rad) / math.pi - 1e-9))
        elif short <= SAME_PLACE_MM:
            pieces = max(1, math.ceil(abs(turn_rad) / (math.pi / 8.0)))
        else:
            finer = (_QUARTER_ERROR * long / ARC_TOLERANCE_MM) ** (1.0 / 6.0)
            pieces = max(1, math.ceil(abs(turn_rad) / (math.pi / 2.0) * max(finer, 1.0)))
        cx, cy = self._out(*centre)
        step = turn_rad / pieces
        quarter = 1.0 if abs(abs(step) - math.pi) < 1e-12 else math.tan(abs(step) / 4.0)
        bulge = math.copysign(quarter, step) * (1.0 if ux * vy - uy * vx >= 0.0 else -1.0)
        reach = 4.0 / 3.0 * math.tan(step / 4.0)
        cos0, sin0 = math.cos(first_rad), math.sin(first_rad)
        for i in range(1, pieces + 1):
            angle = first_rad + step * i
            cos1, sin1 = math.cos(angle), math.sin(angle)
            to = finish if i == pieces else (cx + ux * cos1 + vx * sin1, cy + uy * cos1 + vy * sin1)
            if round_:
                now.segments.append(Arc(at, to, bulge))
            else:
                tx0, ty0 = vx * cos0 - ux * sin0, vy * cos0 - uy * sin0
                tx1, ty1 = vx * cos1 - ux * sin1, vy * cos1 - uy * sin1
                now.segments.append(
                    Cubic(
                        at,
                        (at[0] + reach * tx0, at[1] + reach * ty0),
                        (to[0] - reach * tx1, to[1] - reach * ty1),
                        to,
                    )
                )
            at, cos0, sin0 = to, cos1, sin1
        self._at = finish

    def close(self) -> None:
        """Back to the start, by a line where one is needed."""
        now = self._pen()
        if now.segments:
            gap = math.dist(self._at, now.start)
            if 0.0 < gap <= min(_closing_gap(now), _CLOSING_STEP * _shorter_end(now)):
                now.by_a_hair = gap > 1e-4
                now.segments[-1] = ended_at(now.segments[-1], now.start)
            elif gap > 0.0:
                now.segments.append(Line(self._at, now.start))
        now.closed = True
        self._at = now.start

    def lift(self) -> list[Subpath]:
        """Every subpath drawn, the open ones whose ends all but meet closed."""
        for drawn in self.subpaths:
            if drawn.closed or not drawn.segments:
                continue
            if len(drawn.segments) == 1 and isinstance(drawn.segments[0], Line):
                continue
            gap = math.dist(drawn.segments[-1].end, drawn.start)
            if gap <= _closing_gap(drawn):
                drawn.by_a_hair = gap > 1e-4
                if gap > 0.0:
                    drawn.segments[-1] = ended_at(drawn.segments[-1], drawn.start)
                drawn.closed = True
        return self.subpaths


def _half_axes(ux: float, uy: float, vx: float, vy: float) -> tuple[float, float]:
    """The half axes of the ellipse that the two vectors span (singular values of the matrix)."""
    plus, minus = math.hypot(ux + vy, uy - vx), math.hypot(ux - vy, uy + vx)
    return (plus + minus) / 2.0, abs(plus - minus) / 2.0


def _shorter_end(drawn: Subpath) -> float:
    """The shorter of the first and last chord: a closing line like its neighbours is no gap."""
    first, last = drawn.segments[0], drawn.segments[-1]
    return min(math.dist(first.start, first.end), math.dist(last.start, last.end))


def _closing_gap(drawn: Subpath) -> float:
    """The widest gap that counts as closed, in mm; chords stand for the length."""
    length = 0.0
    for segment in drawn.segments:
        length += math.dist(segment.start, segment.end)
        if length * CLOSING_SHARE >= CLOSING_GAP_MM:
            return CLOSING_GAP_MM
    return length * CLOSING_SHARE


def ended_at(segment: Segment, end: Point) -> Segment:
    """The segment with its end moved; a Bézier's last control goes with it."""
    match segment:
        case Line():
            return Line(segment.start, end)
        case Arc():
            return Arc(segment.start, end, segment.bulge)
        case Cubic():
            dx, dy = end[0] - segment.end[0], end[1] - segment.end[1]
            control = (segment.control2[0] + dx, segment.control2[1] + dy)
            return Cubic(segment.start, segment.control1, control, end)
