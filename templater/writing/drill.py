"""A sheet's round holes as a drill table: Excellon, metric, with explicit decimals.

Source: Excellon's format as its machines' manual gives it ("Excellon Format 2"): header from M48
to %, METRIC, tools as TnCd with their diameter d; then G90 (absolute), G05 (drill), a tool, its
holes as XxYy, and M30. With decimal points the question of leading or trailing zeros is not asked.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from templater.geometry.tour import tour
from templater.model.curves import Point
from templater.model.sheets import Circle, Sheet
from templater.writing.machine_words import ascii_words
from templater.writing.machine_work import machine_work


def drill_bytes(sheet: Sheet) -> bytes:
    """The sheet's round holes, smallest tool first, each tool's holes in the order of a short way.

    Shaped holes cannot be drilled; the header says how many there are. Raises ValueError for a
    number that is not finite.
    """
    work = machine_work(sheet)
    return "".join(f"{line}\n" for line in _lines(sheet, work.round_holes, len(work.holes))).encode(
        "ascii"
    )


def _lines(sheet: Sheet, holes: tuple[Circle, ...], all_holes: int) -> Iterator[str]:
    by_width: defaultdict[float, list[Point]] = defaultdict(list)
    for hole in holes:
        by_width[hole.diameter_mm].append((hole.x_mm, hole.y_mm))
    widths = sorted(by_width)
    yield "M48"
    yield f"; templater, sheet {ascii_words(sheet.name)}"
    yield f"; {ascii_words(sheet.title)}"
    yield f"; {len(holes)} holes. Origin: the sheet's lower left corner, y up"
    if all_holes > len(holes):
        yield f"; {all_holes - len(holes)} shaped holes cannot be drilled and are not in this table"
    yield "FMAT,2"
    yield "METRIC,TZ"
    for number, width in enumerate(widths, start=1):
        yield f"T{number}C{width:.4f}"
    yield "%"
    yield "G90"
    yield "G05"
    at: Point = (0.0, 0.0)
    for number, width in enumerate(widths, start=1):
        yield f"T{number}"
        points = by_width[width]
        for place in tour(points, at, 0) if number > 1 else range(len(points)):
            at = points[place]
            yield f"X{at[0]:.4f}Y{at[1]:.4f}"
    yield "T0"
    yield "M30"
