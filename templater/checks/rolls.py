"""Sheets on a plotter's roll: each is there, with its bars at their length and its holes in place.

Imported late: numpy.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from templater.checks.drawn import anchors_of
from templater.checks.drawn_tiles import holes_on_tiles
from templater.checks.findings import capped, error
from templater.checks.made import Made
from templater.checks.truesize import PAGE_MM, bars_on_pages
from templater.model.facts import HoleRow, SheetFacts
from templater.model.problems import Problem, Problems
from templater.model.sheets import Bar, Sheet


def rolls_hold_the_sheets(made: Made) -> Problems:
    """Where the job names a roll, every true-size sheet is printed on one as wide, lengthwise or
    turned by a quarter, its bars and holes true.
    """
    return capped(_rolls(made))


def _rolls(made: Made) -> Iterator[Problem]:
    rules = made.plan.rules
    if rules.roll_mm is None:
        return
    shaped = {
        (each.template, hole.order)
        for each in made.plan.passes
        for hole in each.holes
        if hole.shape not in {"", "round"}
    }
    for sheet in made.plan.sheets:
        if not sheet.bars:  # nothing on it is true to size
            continue
        pages = _pages_of(made, sheet)
        if not pages:
            yield error("roll-missing", f"{sheet.name} is on no roll in the folder print")
            continue
        file = pages[0].file
        for page in pages:
            if abs(page.size_mm[0] - rules.roll_mm) > PAGE_MM:
                yield error(
                    "page-size-wrong",
                    f"{file} is {page.size_mm[0]:.2f} mm wide; the roll is {rules.roll_mm:g} mm",
                    file=file,
                )
        own = made.holes.get(sheet.name, ())
        rows = [row for row in own if (sheet.name, row.order) not in shaped]
        faults = _faults(made, sheet, rows, pages, turned=False)
        if faults:
            faults = min(faults, _faults(made, sheet, rows, pages, turned=True), key=len)
        yield from faults


def _pages_of(made: Made, sheet: Sheet) -> tuple[SheetFacts, ...]:
    folder, last = sheet.name.rsplit("/", 1) if "/" in sheet.name else ("", sheet.name)
    stems = {f"print/{last}-roll", f"print/{folder.rsplit('/', 1)[-1]}-roll"}
    return made.printed.pages(made.printed.naming(sheet, stems))


def _faults(
    made: Made,
    sheet: Sheet,
    rows: list[HoleRow],
    pages: tuple[SheetFacts, ...],
    *,
    turned: bool,
) -> list[Problem]:
    file = pages[0].file
    calibrate = made.plan.rules.roll_calibrate
    bars = tuple(_turned_bar(bar) if turned else bar for bar in sheet.bars)
    found = list(bars_on_pages(file, pages, bars, calibrate))
    if rows and calibrate == (1.0, 1.0):
        marks = anchors_of(made, sheet.name)
        if turned:
            rows = [_turned_row(row) for row in rows]
            marks = np.column_stack([-marks[:, 1], marks[:, 0]])
        found += holes_on_tiles(file, pages, rows, marks)
    return found


def _turned_bar(bar: Bar) -> Bar:
    return Bar(-bar.y0, bar.x0, -bar.y1, bar.x1, bar.length_mm)


def _turned_row(row: HoleRow) -> HoleRow:
    return row._replace(x_mm=-row.y_mm, y_mm=row.x_mm)
