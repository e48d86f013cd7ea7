"""Holes of one sheet among those of many on a page as long as a plotter's roll."""

import numpy as np
import pytest

from templater.checks.drawn_tiles import holes_on_tiles
from templater.model.facts import CircleFact, HoleRow, SheetFacts

STEP_MM, WIDE_MM, SHEETS = 4.2, 4.1, 60
COLUMNS, ROWS = 20, 20
MARKS = np.array([(-6.0, -6.0), (95.0, -6.0), (-6.0, 88.0)])


def sheet(number):
    """Holes of a sheet on an even lattice, a corner of it bare: of the last one least, so that no
    other sheet holds all that it does.
    """
    bare = 1 if number == SHEETS - 1 else 3 + number % 7
    places = [
        (STEP_MM * (column + row % 2 / 2.0), 0.866 * STEP_MM * row)
        for row in range(ROWS)
        for column in range(COLUMNS)
        if column + row >= bare
    ]
    return [
        HoleRow(f"stencils/s{number}", 1, order, x, y, WIDE_MM, None, "stencil", f"s{order}")
        for order, (x, y) in enumerate(places, start=1)
    ]


def roll(lost=()):
    """All sheets on one page, five beside each other, some holes of the last one lost."""
    circles = []
    for number in range(SHEETS):
        x0, y0 = 12.0 + 110.0 * (number % 5), 15.0 + 105.0 * (number // 5)
        circles += [CircleFact(x0 + x, y0 + y, 3.0, "register") for x, y in MARKS]
        circles += [
            CircleFact(x0 + row.x_mm, y0 + row.y_mm, WIDE_MM, "cut")
            for row in sheet(number)
            if number < SHEETS - 1 or row.order not in lost
        ]
    return SheetFacts("print/stencils-roll.pdf", 1, (600.0, 1300.0), tuple(circles), (), ())


@pytest.mark.parametrize("number", [0, 27, SHEETS - 1])
def test_a_sheet_is_found_among_thousands_of_holes_like_its_own(number):
    page = roll()
    assert len(page.circles) > 20_000
    assert list(holes_on_tiles(page.file, (page,), sheet(number), MARKS)) == []


def test_a_hole_that_is_lost_there_is_told():
    page = roll(lost={150})
    found = list(holes_on_tiles(page.file, (page,), sheet(SHEETS - 1), MARKS))
    assert [p.code for p in found] == ["hole-not-drawn"]
    assert "hole 150 of stencils/s59" in found[0].message
