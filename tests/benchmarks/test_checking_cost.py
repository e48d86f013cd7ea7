"""What checking costs: flat for each sheet of a pack, however many other sheets it has.

The checks are asked of two packs alike but for how many sheets they have. Calls are counted, which
tells a walk over all sheets for each sheet even where it is short; seconds tell what is no call.
"""

import math
import sys
import time
from dataclasses import replace
from functools import cache

import pytest
import sound_pack as sp

from templater.checks import every_check
from templater.checks.made import lay_back
from templater.model.facts import HoleRow, TextFact
from templater.model.parts import Label, Placed

FEW, MANY = 30, 480
HOLES = 6
ROOMS = {"drawn", "drawn_parts", "holes", "marks", "parts", "passes", "rolls", "truesize"}
OF_OTHERS = {"film_clears_set_stones", "lots_are_kept_apart", "match_marks_meet"}
"""These ask nothing of a sheet of these packs."""
CHECKS = {
    check.__name__: check
    for check in every_check()
    if check.__module__.rsplit(".", 1)[-1] in ROOMS and check.__name__ not in OF_OTHERS
}
REPEATED = {"stone-held-wrongly"}
"""All that is wrong with these packs: every pass holds the same stones."""


@cache
def pack(count):
    """A stencil with a few holes, and a part cut beside them, so many times: each in a file of its
    own, on two tiles of a PDF of all, and on a roll.
    """
    plan, facts = sp.build(rules=replace(sp.RULES, formats=("svg",), kinds=("stencil",)))
    one = replace(plan.passes[0], holes=plan.passes[0].holes[:HOLES])
    passes = [replace(one, template=f"stencils/leaf-{n}") for n in range(1, count + 1)]
    sheets = [
        replace(sheet, title=f"Leaf, stencil {n}", number=n, of=count)
        for n, sheet in enumerate(sp.sheets(passes)[1:], start=1)
    ]
    parts = [
        replace(
            plan.parts[0], id=sheet.title, label=Label((sheet.title,), (30.0, 30.0), 4.0), marks=()
        )
        for sheet in sheets
    ]
    placed = [
        Placed(part.id, sheet.name, one.to_sheet) for part, sheet in zip(parts, sheets, strict=True)
    ]
    drawn = [
        sp.drawn(sheet, one.holes, ".svg", members=[member])
        for sheet, *member in zip(sheets, placed, parts, strict=True)
    ]
    for sheet in sheets:
        said = f"{sheet.title}, sheet {sheet.number} of {sheet.of}"
        texts = (TextFact(said, (9.0, 9.0), 3.0, "", mirrored=False),)
        for name, holes, size in (
            ("print/stencils", one.holes[: HOLES // 2], (210.0, 297.0)),
            ("print/stencils", one.holes[HOLES // 2 :], (210.0, 297.0)),
            ("print/stencils-roll", one.holes, (610.0, 297.0)),
        ):
            shown = replace(sheet, name=name)
            page = sp.drawn(shown, holes, ".pdf", page=len(drawn), move=(8.0, 8.0), size=size)
            drawn.append(replace(page, texts=texts))
    rows = [
        HoleRow(
            p.template + ".svg", p.number, h.order, h.x_mm, h.y_mm, h.diameter_mm, h.punch_mm,
            str(h.kind), h.stone_id,
        )
        for p in passes
        for h in p.holes
    ]  # fmt: skip
    return (
        replace(
            plan,
            rules=replace(plan.rules, roll_mm=610.0),
            passes=tuple(passes),
            parts=tuple(parts),
            placed=tuple(placed),
            sheets=tuple(sheets),
        ),
        replace(
            facts,
            holes=tuple(rows),
            sheets=tuple(drawn),
            files=("holes.csv", *sorted({each.file for each in drawn})),
        ),
    )


def calls(check, made):
    """How many functions are called, ours and others'."""
    count = 0

    def told(_frame, event, _of):
        nonlocal count
        count += event in {"call", "c_call"}

    before = sys.getprofile()
    sys.setprofile(told)
    try:
        check(made)
    finally:
        sys.setprofile(before)
    return count


def seconds(check, count):
    best = math.inf
    for _ in range(3):
        made = lay_back(*pack(count))  # what is grouped once is grouped anew
        start = time.process_time()
        check(made)
        best = min(best, time.process_time() - start)
    return best


@pytest.mark.parametrize("count", [FEW, MANY])
def test_the_packs_are_sound(count):
    made = lay_back(*pack(count))
    assert {found.code for check in CHECKS.values() for found in check(made)} == REPEATED


@pytest.mark.parametrize("name", CHECKS)
def test_calls_for_a_sheet_do_not_grow(name):
    few, many = (calls(CHECKS[name], lay_back(*pack(count))) for count in (FEW, MANY))
    print(f"\n{name}: {few / FEW:.0f} calls a sheet of {FEW}, {many / MANY:.0f} of {MANY}")
    assert few >= FEW
    assert many / MANY <= 1.1 * few / FEW


def test_seconds_for_a_sheet_do_not_grow():
    few, many = (
        sum(seconds(check, count) for check in CHECKS.values()) / count for count in (FEW, MANY)
    )
    print(f"\na sheet takes {few * 1e3:.2f} ms of {FEW}, {many * 1e3:.2f} ms of {MANY}")
    # 0.9 to 1.1 times as much was measured; with a walk over all pages for each sheet it was 4.8.
    assert many / few < 2.0
