"""What the three readers share: a place to lay down what they find, curves as points, circles known.

Points are numpy complex arrays while they are being transformed: x + y·i.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace

from templater.model.curves import Point, Transform
from templater.model.facts import CircleFact, PathFact, SheetFacts, TextFact

FLAT_MM = 0.002
"""How far a flattened curve may lie from the true one: less than half of what PathFact promises."""

_ROUND = 4e-4
# Four cubics approximate a circle to 2.73e-4 of its radius (T. Goldapp, "Approximation of circular
# arcs by cubic polynomials", CAGD 8, 1991); numbers written with few decimals add a little, which
# `_ROUND_MM` allows.
_ROUND_MM = 0.004


@dataclass
class Found:
    """What a reader has found so far on one sheet."""

    circles: list[CircleFact] = field(default_factory=list)
    paths: list[PathFact] = field(default_factory=list)
    texts: list[TextFact] = field(default_factory=list)

    def facts(self, file: str, page: int, size_mm: tuple[float, float]) -> SheetFacts:
        return SheetFacts(
            file, page, size_mm, tuple(self.circles), tuple(self.paths), tuple(self.texts)
        )

    def bare_facts(self, file: str, step_mm: float) -> SheetFacts:
        """The facts of a machine's file, which has no frame: as large as its content reaches."""
        xs = [x for path in self.paths for x, _ in path.points]
        ys = [y for path in self.paths for _, y in path.points]
        xs += [circle.x_mm + circle.diameter_mm / 2 for circle in self.circles]
        ys += [circle.y_mm + circle.diameter_mm / 2 for circle in self.circles]
        size_mm = (max(xs, default=0.0), max(ys, default=0.0))
        return replace(self.facts(file, 1, size_mm), bare=True, step_mm=step_mm)

    def add_path(self, points: Sequence[Point], layer: str, *, closed: bool, curved: bool) -> None:
        """A path, or the circle that it draws. A closed path's first point is not repeated."""
        kept = list(points)
        if len(kept) > 1 and math.dist(kept[0], kept[-1]) < 1e-6:
            closed = True
            kept.pop()
        if not kept:
            return
        circle = circle_of(kept) if closed and curved else None
        if circle is None:
            self.paths.append(PathFact(tuple(kept), closed, layer))
        else:
            x, y, diameter = circle
            self.circles.append(CircleFact(x, y, diameter, layer))


def circle_of(points: Sequence[Point]) -> tuple[float, float, float] | None:
    """Centre and diameter, if the closed curve through these points is a circle.

    The diameter is the mean of the box's sides: four-cubic circles touch their box exactly.
    """
    if len(points) < 8:
        return None
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    width, height = max(xs) - min(xs), max(ys) - min(ys)
    x, y = (max(xs) + min(xs)) / 2, (max(ys) + min(ys)) / 2
    radius = (width + height) / 4
    allowed = radius * _ROUND + _ROUND_MM
    if abs(width - height) > 2 * allowed or radius <= 2 * allowed:
        return None
    if any(abs(math.hypot(px - x, py - y) - radius) > allowed for px, py in points):
        return None
    turn = 0.0
    for (ax, ay), (bx, by) in zip(points, [*points[1:], points[0]], strict=True):
        ux, uy, vx, vy = ax - x, ay - y, bx - x, by - y
        step = math.atan2(ux * vy - uy * vx, ux * vx + uy * vy)
        if abs(step) > math.pi / 3:  # a polygon, or a circle with a flat
            return None
        turn += step
    return (x, y, 2 * radius) if abs(abs(turn) - 2 * math.pi) < 1e-6 else None


def cubic_points(
    start: complex, control1: complex, control2: complex, end: complex, flat: float
) -> list[complex]:
    """Points along a cubic after its start, at even steps of its parameter, always with the halves.

    A chord leaves the curve by at most max|B''|·h²/8, and |B''| ≤ 6·max of the second differences.
    """
    bend = max(abs(start - 2 * control1 + control2), abs(control1 - 2 * control2 + end))
    count = max(4, math.ceil(math.sqrt(0.75 * bend / flat)))
    count += -count % 4
    points = []
    for index in range(1, count):
        t = index / count
        s = 1.0 - t
        points.append(
            s * s * s * start
            + 3 * s * s * t * control1
            + 3 * s * t * t * control2
            + t * t * t * end
        )
    return [*points, end]


def arc_points(
    centre: complex, radius: float, start_rad: float, turn_rad: float, flat: float
) -> list[complex]:
    """Points along a circular arc, both ends among them, chords within `flat` of it."""
    widest = 2 * math.acos(max(0.0, 1.0 - min(flat / radius, 1.0))) if radius else math.pi
    count = max(2, math.ceil(abs(turn_rad) / max(widest, 1e-3)))
    return [
        centre + radius * complex(math.cos(angle), math.sin(angle))
        for angle in (start_rad + turn_rad * index / count for index in range(count + 1))
    ]


def bulge_points(start: complex, end: complex, bulge: float, flat: float) -> list[complex]:
    """Points after `start` along an arc whose quarter angle has the tangent `bulge`."""
    if bulge == 0.0 or start == end:
        return [end]
    chord = end - start
    turn = 4.0 * math.atan(bulge)
    centre = (start + end) / 2 + chord * 1j * (1.0 - bulge * bulge) / (4.0 * bulge)
    out = start - centre
    points = arc_points(centre, abs(out), math.atan2(out.imag, out.real), turn, flat)
    return [*points[1:-1], end]


def moved(points: Iterable[complex], transform: Transform) -> list[Point]:
    return [transform.apply((point.real, point.imag)) for point in points]


def scale_of(transform: Transform) -> float:
    """The most by which lengths grow."""
    a, b, c, d = transform.a, transform.b, transform.c, transform.d
    half = (a * a + b * b + c * c + d * d) / 2
    return math.sqrt(half + math.sqrt(max(0.0, half * half - transform.determinant**2)))


def keeps_circles(transform: Transform) -> bool:
    """Whether a circle stays one: equal scale both ways and no skew."""
    a, b, c, d = transform.a, transform.b, transform.c, transform.d
    scale = max(abs(a), abs(b), abs(c), abs(d)) ** 2
    return abs(a * c + b * d) <= 1e-9 * scale and abs(a * a + b * b - c * c - d * d) <= 1e-9 * scale
