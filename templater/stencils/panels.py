"""Cutting a zone into panels that fit the sheet, and choosing the sheet."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from templater.catalogue.papers import find_paper, paper_names
from templater.geometry.hole_sheets import (
    MARGIN_MM,
    MARK_OUT_MM,
    SMALLEST_CORE_MM,
    HoleSheet,
    margin_for,
    sheet_for_core,
)
from templater.geometry.measure import box_of
from templater.geometry.register import UNLIKE_MM, corner_marks
from templater.model.curves import Box, Point
from templater.model.problems import Problem, Severity

if TYPE_CHECKING:
    from templater.job.schema import Job

_MARK_CLEAR_MM = 3.5
"""From a register mark's centre to the nearest hole's edge, at least."""


@dataclass(frozen=True, slots=True)
class Panel:
    """Part of a group: indices of its stones, register marks and core on the garment, its sheet."""

    letter: str
    members: tuple[int, ...]
    marks: tuple[Point, ...]
    core: Box
    sheet: HoleSheet


def sheets_to_use(job: Job) -> tuple[tuple[HoleSheet, ...], Problem | None]:
    """The job's sheet upright and lying; a roll's is as high as it need be (infinite)."""
    wanted = job.templates.sheet
    if isinstance(wanted, str):
        size = find_paper(wanted)
        if size is None:
            return (), Problem(
                "sheet-unknown",
                Severity.ERROR,
                f"[templates] sheet = {wanted!r} is no paper this program knows",
                "use one of " + ", ".join(paper_names()) + ", or [width, height] in mm",
            )
    elif isinstance(wanted, tuple):
        size = wanted
    else:
        size = (wanted.width, math.inf)
    margin = margin_for(job.templates.paper.margin)
    upright = HoleSheet(*size, margin)
    both = [upright]
    if math.isfinite(size[1]) and size[0] != size[1]:
        both.append(HoleSheet(size[1], size[0], margin))
    fit = tuple(sheet for sheet in both if _has_room(sheet))
    if fit:
        return fit, None
    return (), _too_small(size, margin)


def _too_small(size_mm: tuple[float, float], margin_mm: float) -> Problem:
    """The sheet is at fault, or the paper's margin where the same sheet serves with a usual one."""
    serves = any(_has_room(HoleSheet(*side)) for side in (size_mm, size_mm[::-1]))
    if serves and margin_mm > MARGIN_MM:
        return Problem(
            "sheet-too-small",
            Severity.ERROR,
            f"a paper margin of {margin_mm:g} mm leaves no room for holes on a sheet of "
            f"{_size_words(size_mm)} mm beside its title, test bars and register marks",
            f"lower paper.margin in [templates]: {MARGIN_MM:g} mm is usual; it is what the "
            "printer leaves bare along a page's edges",
        )
    return Problem(
        "sheet-too-small",
        Severity.ERROR,
        f"a sheet of {_size_words(size_mm)} mm leaves no room for holes beside its title, "
        "test bars and register marks",
        "choose a larger sheet in [templates]; 120 × 150 mm is about the least",
    )


def _has_room(sheet: HoleSheet) -> bool:
    return min(sheet.core_width_mm, sheet.core_height_mm) >= SMALLEST_CORE_MM


def _size_words(size_mm: tuple[float, float]) -> str:
    return " × ".join("any" if math.isinf(side) else f"{side:g}" for side in size_mm)


def make_panels(
    points: Sequence[Point],
    radii: Sequence[float],
    zone_marks: Sequence[Point],
    sheets: Sequence[HoleSheet],
) -> tuple[Panel, ...]:
    """Panels of a grid of like cells, from the lower left, row by row; empty ones are left out.

    `radii` reach round every hole at its stone. Where all fits one sheet, the zone's own marks
    serve if they fit it too and clear the holes.
    """
    whole = _reach_box(points, radii, range(len(points)))
    for sheet in sheets:
        core = box_of([*zone_marks, whole[:2], whole[2:]])
        if len(zone_marks) >= 3 and _fits(core, sheet) and _clear(zone_marks, points, radii):
            return (_panel("", range(len(points)), tuple(zone_marks), core, sheet),)
    # Marks may be pushed out by as much as UNLIKE_MM, so that much is kept in hand.
    spare = 2.0 * MARK_OUT_MM + UNLIKE_MM
    reach = max(radii)
    choices = []
    for place, sheet in enumerate(sheets):
        room_x = sheet.core_width_mm - spare
        room_y = sheet.core_height_mm - spare
        columns = _cells(whole[2] - whole[0], room_x, reach)
        rows = _cells(whole[3] - whole[1], room_y, reach)
        choices.append((columns * rows, place, columns, rows))
    _, place, columns, rows = min(choices)
    cells: dict[tuple[int, int], list[int]] = {}
    for index, point in enumerate(points):
        column = _cell(point[0], whole[0], whole[2], reach, columns)
        row = _cell(point[1], whole[1], whole[3], reach, rows)
        cells.setdefault((row, column), []).append(index)
    panels = []
    for number, key in enumerate(sorted(cells)):
        box = _reach_box(points, radii, cells[key])
        marks = corner_marks(box, MARK_OUT_MM)
        core = box_of([*marks, box[:2], box[2:]])
        letter = "" if len(cells) == 1 else letters(number)
        panels.append(_panel(letter, cells[key], marks, core, sheets[place]))
    return tuple(panels)


def letters(number: int) -> str:
    """0 is a, 25 z, 26 aa."""
    text = ""
    number += 1
    while number:
        number, rest = divmod(number - 1, 26)
        text = chr(ord("a") + rest) + text
    return text


def _cells(span_mm: float, room_mm: float, reach_mm: float) -> int:
    """How many like cells of centres are needed, each cell's holes reaching beyond it."""
    if span_mm <= room_mm:
        return 1
    return math.ceil((span_mm - 2.0 * reach_mm) / (room_mm - 2.0 * reach_mm))


def _cell(place: float, low: float, high: float, reach: float, count: int) -> int:
    if count == 1:
        return 0
    span = (high - low - 2.0 * reach) / count
    return min(max(math.floor((place - low - reach) / span), 0), count - 1)


def _reach_box(points: Sequence[Point], radii: Sequence[float], members: Sequence[int]) -> Box:
    low = box_of((points[i][0] - radii[i], points[i][1] - radii[i]) for i in members)
    high = box_of((points[i][0] + radii[i], points[i][1] + radii[i]) for i in members)
    return (low[0], low[1], high[2], high[3])


def _fits(core: Box, sheet: HoleSheet) -> bool:
    return core[2] - core[0] <= sheet.core_width_mm and core[3] - core[1] <= sheet.core_height_mm


def _clear(marks: Sequence[Point], points: Sequence[Point], radii: Sequence[float]) -> bool:
    return all(
        math.dist(mark, point) >= radius + _MARK_CLEAR_MM
        for mark in marks
        for point, radius in zip(points, radii, strict=True)
    )


def _panel(
    letter: str, members: Sequence[int], marks: tuple[Point, ...], core: Box, sheet: HoleSheet
) -> Panel:
    if not math.isfinite(sheet.height_mm):
        sheet = sheet_for_core(sheet.width_mm, core[3] - core[1], sheet.margin_mm)
    return Panel(letter, tuple(members), marks, core, sheet)
