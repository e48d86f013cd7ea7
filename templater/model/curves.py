"""Points, curve segments, paths, areas and rigid moves: the geometry every room speaks.

Millimetres, x right, y up, degrees anticlockwise. Values are frozen; what computes with them
lives in `templater.geometry`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

Point = tuple[float, float]
Ring = tuple[Point, ...]
"""A closed polygon: its corners once, the last joined to the first."""
Box = tuple[float, float, float, float]
"""x0, y0, x1, y1 with x0 <= x1 and y0 <= y1."""


@dataclass(frozen=True, slots=True)
class Line:
    """A straight segment."""

    start: Point
    end: Point


@dataclass(frozen=True, slots=True)
class Arc:
    """A circular arc; `bulge` is the tangent of a quarter of its signed angle.

    Positive turns anticlockwise; 1 is a half circle. A whole circle is two arcs.
    Source: DXF reference, LWPOLYLINE group code 42.
    """

    start: Point
    end: Point
    bulge: float


@dataclass(frozen=True, slots=True)
class Cubic:
    """A cubic Bézier segment. Quadratic ones are raised to cubic exactly at the door."""

    start: Point
    control1: Point
    control2: Point
    end: Point


Segment = Line | Arc | Cubic


@dataclass(frozen=True, slots=True)
class Path:
    """Segments joined end to start, exactly. A closed path ends where it began, to the bit."""

    segments: tuple[Segment, ...]
    closed: bool

    @property
    def start(self) -> Point:
        return self.segments[0].start

    @property
    def end(self) -> Point:
        return self.segments[-1].end


@dataclass(frozen=True, slots=True)
class Area:
    """A region: outline anticlockwise, holes clockwise, valid."""

    outline: Path
    holes: tuple[Path, ...] = ()


@dataclass(frozen=True, slots=True)
class Transform:
    """x' = a·x + c·y + e, y' = b·x + d·y + f (the order of an SVG matrix)."""

    a: float = 1.0
    b: float = 0.0
    c: float = 0.0
    d: float = 1.0
    e: float = 0.0
    f: float = 0.0

    def apply(self, point: Point) -> Point:
        x, y = point
        return (self.a * x + self.c * y + self.e, self.b * x + self.d * y + self.f)

    def then(self, after: Transform) -> Transform:
        """This transform first, `after` second."""
        return Transform(
            after.a * self.a + after.c * self.b,
            after.b * self.a + after.d * self.b,
            after.a * self.c + after.c * self.d,
            after.b * self.c + after.d * self.d,
            after.a * self.e + after.c * self.f + after.e,
            after.b * self.e + after.d * self.f + after.f,
        )

    @property
    def determinant(self) -> float:
        return self.a * self.d - self.b * self.c

    @property
    def mirrors(self) -> bool:
        return self.determinant < 0

    def turned(self, turn_deg: float) -> float:
        """What a direction of `turn_deg` becomes, in [0, 360)."""
        angle = math.radians(turn_deg)
        x, y = math.cos(angle), math.sin(angle)
        turned = math.degrees(math.atan2(self.b * x + self.d * y, self.a * x + self.c * y))
        return turned % 360.0


IDENTITY = Transform()


def shift(dx_mm: float, dy_mm: float) -> Transform:
    """A move without turning."""
    return Transform(e=dx_mm, f=dy_mm)


def mirror_about(start: Point, end: Point) -> Transform:
    """The reflection about the line through two distinct points. Raises ValueError if they coincide."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    squared = dx * dx + dy * dy
    if squared == 0.0:
        raise ValueError("a mirror line needs two distinct points")
    a = (dx * dx - dy * dy) / squared
    b = 2.0 * dx * dy / squared
    return Transform(
        a, b, b, -a, start[0] - a * start[0] - b * start[1], start[1] - b * start[0] + a * start[1]
    )
