"""Register targets, test bars and arrows."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence

from templater.geometry.polygons import polyline, rectangle
from templater.lettering import text_width_mm
from templater.model.curves import Box, Point
from templater.model.sheets import Anchor, Bar, Circle, Drawable, Lettering, Pen, Stroke

RING_MM = 4.0
CROSS_MM = 8.0
TICK_MM = 1.5
BAR_TEXT_MM = 2.5
_INCH_MM = 25.4


def line(start: Point, end: Point, pen: Pen) -> Stroke:
    return Stroke(polyline((start, end), closed=False), pen)


def register_targets(marks: Iterable[Point]) -> Iterator[Drawable]:
    """A ring and a cross at every mark."""
    half = CROSS_MM / 2.0
    for x, y in marks:
        yield Circle(x, y, RING_MM, Pen.REGISTER)
        yield line((x - half, y), (x + half, y), Pen.REGISTER)
        yield line((x, y - half), (x, y + half), Pen.REGISTER)


def mark_names(
    marks: Sequence[Point], names: Sequence[str], others: Sequence[Box] = ()
) -> Iterator[Drawable]:
    """Small names beside register marks, each in the first corner of its cross that is free of
    other marks and names, and of the `others`.

    A name without a free corner is left out: the marks nearby tell.
    """
    height, half = 1.8, CROSS_MM / 2.0
    taken = [(x - half, y - half, x + half, y + half) for x, y in marks]
    for (x, y), name in zip(marks, names, strict=True):
        width = text_width_mm(name, height)
        corners = (
            (x + 1.8, y + 1.8),
            (x - 1.8 - width, y + 1.8),
            (x + 1.8, y - 1.8 - height),
            (x - 1.8 - width, y - 1.8 - height),
        )
        for left, low in corners:
            box = (left, low - 0.5, left + width, low + height + 0.5)
            near = [other for other in taken if other[:2] != (x - half, y - half)]
            if name and not any(overlap(box, other) for other in (*near, *others)):
                taken.append(box)
                yield Lettering(name, (left, low), height)
                break


def overlap(a: Box, b: Box) -> bool:
    """Whether two boxes share more than an edge."""
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def bar_lengths_mm(display: str) -> tuple[float, ...]:
    """Lengths of test bars, longest first, and the side of the test square last."""
    if display == "in":
        return (4.0 * _INCH_MM, 2.0 * _INCH_MM)
    return (150.0, 100.0, 50.0)


def bar_words(length_mm: float, display: str) -> str:
    return f"{length_mm / _INCH_MM:g} in" if display == "in" else f"{length_mm:g} mm"


def fitting_bar(room_mm: float, display: str) -> float | None:
    """The longest test bar that fits, if any."""
    return next((bar for bar in bar_lengths_mm(display) if bar <= room_mm), None)


def bar_along(at: Point, length_mm: float, display: str) -> tuple[Bar, tuple[Drawable, ...]]:
    """A bar to the right from `at`, its words beneath."""
    x, y = at
    words = Lettering(
        f"{bar_words(length_mm, display)} across: measure before cutting",
        (x + length_mm / 2.0, y - TICK_MM - 1.0 - BAR_TEXT_MM),
        BAR_TEXT_MM,
        anchor=Anchor.MIDDLE,
    )
    ends = [line((a, y - TICK_MM), (a, y + TICK_MM), Pen.BAR) for a in (x, x + length_mm)]
    bar = Bar(x, y, round(x + length_mm, 4), y, length_mm)
    return bar, (line((bar.x0, y), (bar.x1, y), Pen.BAR), *ends, words)


def bar_up(at: Point, length_mm: float, display: str) -> tuple[Bar, tuple[Drawable, ...]]:
    """A bar upwards from `at`, its words to the left, reading upwards."""
    x, y = at
    words = Lettering(
        f"{bar_words(length_mm, display)} up",
        (x - TICK_MM - 1.0, y + length_mm / 2.0),
        BAR_TEXT_MM,
        90.0,
        Anchor.MIDDLE,
    )
    ends = [line((x - TICK_MM, b), (x + TICK_MM, b), Pen.BAR) for b in (y, y + length_mm)]
    bar = Bar(x, y, x, round(y + length_mm, 4), length_mm)
    return bar, (line((x, bar.y0), (x, bar.y1), Pen.BAR), *ends, words)


def test_square(at: Point, display: str) -> tuple[tuple[Bar, ...], tuple[Drawable, ...]]:
    """A square of 50 mm (2 in) from its lower left corner, its words inside."""
    side = bar_lengths_mm(display)[-1]
    x, y = at
    words = Lettering(
        f"{bar_words(side, display)} square",
        (x + side / 2.0, y + side / 2.0),
        BAR_TEXT_MM,
        anchor=Anchor.MIDDLE,
    )
    bars = (
        Bar(x, y, round(x + side, 4), y, side),
        Bar(x, y, x, round(y + side, 4), side),
    )
    return bars, (Stroke(rectangle(x, y, bars[0].x1, bars[1].y1), Pen.BAR), words)


def arrow(start: Point, end: Point, pen: Pen, *, both_ends: bool = False) -> Iterator[Drawable]:
    """A line with an open head at its end, or at both."""
    yield line(start, end, pen)
    yield _head(start, end, pen)
    if both_ends:
        yield _head(end, start, pen)


def _head(tail: Point, tip: Point, pen: Pen) -> Stroke:
    angle = math.atan2(tip[1] - tail[1], tip[0] - tail[0])
    size = min(3.0, math.dist(tail, tip) / 3.0)
    sides = [
        (tip[0] - size * math.cos(angle + turn), tip[1] - size * math.sin(angle + turn))
        for turn in (0.35, -0.35)
    ]
    return Stroke(polyline((sides[0], tip, sides[1]), closed=False), pen)
