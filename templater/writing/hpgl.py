"""A sheet as HP-GL for plotters and knife cutters: 40 units to the mm, whole numbers, absolute.

Source: HP-GL/2 as in "PCL 5 Printer Language Technical Reference Manual" (Hewlett-Packard, 1992),
part II: IN, SP, PU, PD, CI; of these only what the first HP-GL plotters know as well. Commands end
in a semicolon and a line feed, which some cutters want. No comment (CO), no speed, no force.

Pen 3 draws register and match marks first, pen 1 then cuts the holes, pen 2 last the outlines.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

from templater.geometry.flatten import flatten
from templater.model.curves import Path, Point
from templater.model.sheets import Circle, Sheet
from templater.writing.machine_work import Shape, machine_work

UNITS_PER_MM = 40.0
"""A plotter unit is 0.025 mm (same source)."""
HOLES_PEN, OUTLINES_PEN, MARKS_PEN = 1, 2, 3
_FLAT_MM = 0.005
_CI_MOST_MM = 10.0
"""Largest radius drawn by CI: its chords of 5° (the default) leave a circle by 0.00095 radii."""
_POINTS_A_LINE = 40
_Unit = tuple[int, int]


def hpgl_bytes(sheet: Sheet, units_per_mm: float = UNITS_PER_MM) -> bytes:
    """The sheet's cutting work as HP-GL. `units_per_mm` other than 40 corrects a plotter that is off.

    Raises ValueError for a number that is not finite.
    """
    work = machine_work(sheet)
    pens = ((MARKS_PEN, work.marks), (HOLES_PEN, work.holes), (OUTLINES_PEN, work.outlines))
    commands = ["IN"]
    for pen, shapes in pens:
        if shapes:
            commands.append(f"SP{pen}")
            for shape in shapes:
                commands += _shape(shape, units_per_mm)
    commands += ["PU", "SP0"]
    return "".join(f"{command};\n" for command in commands).encode("ascii")


def _shape(shape: Shape, units_per_mm: float) -> Iterator[str]:
    def unit(point: Point) -> _Unit:
        return (round(point[0] * units_per_mm), round(point[1] * units_per_mm))

    if isinstance(shape, Circle):
        radius = shape.diameter_mm / 2.0
        at = (shape.x_mm, shape.y_mm)
        if radius <= _CI_MOST_MM:
            yield f"PU{_words([unit(at)])}"
            yield f"CI{round(radius * units_per_mm)}"
            return
        from templater.geometry.polygons import circle

        shape = circle(at, shape.diameter_mm)
    yield from _polyline([unit(point) for point in _points(shape)])


def _points(path: Path) -> tuple[Point, ...]:
    points = flatten(path, _FLAT_MM)
    return (*points, points[0]) if path.closed else points


def _polyline(points: Sequence[_Unit]) -> Iterator[str]:
    kept = [points[0], *(b for a, b in pairwise(points) if a != b)]
    yield f"PU{_words(kept[:1])}"
    for first in range(1, len(kept), _POINTS_A_LINE):
        yield f"PD{_words(kept[first : first + _POINTS_A_LINE])}"


def _words(points: Sequence[_Unit]) -> str:
    return ",".join(f"{x},{y}" for x, y in points)
