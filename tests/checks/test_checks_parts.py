"""Every rule about cut parts and their marks: each way of breaking it is found."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
import sound_pack as sp

from templater.checks import check
from templater.model.curves import Line, Path, Transform, shift
from templater.model.parts import Mark, MarkKind, Placed

PLAN, FACTS = sp.build()


def codes(plan=PLAN, facts=None) -> set[str]:
    """What is found; without facts, the files were written from this very plan."""
    found = check(plan, sp.write(plan) if facts is None else facts)
    assert all(p.message and p.mend for p in found)
    return {p.code for p in found}


def rewritten(passes, plan=PLAN):
    """Plan and files with other passes: a fault at the root, of which all files agree."""
    plan = replace(plan, passes=passes, sheets=(plan.sheets[0], *sp.sheets(passes)[1:]))
    return plan, sp.write(plan)


def with_placed(index=0, plan=PLAN, **changes):
    return replace(plan, placed=sp.swap(plan.placed, index, **changes))


def test_a_part_not_placed_or_too_often_or_unknown() -> None:
    assert codes(replace(PLAN, placed=PLAN.placed[1:])) == {"part-not-placed"}
    twice = (*PLAN.placed, replace(PLAN.placed[0], sheet=PLAN.sheets[1].name))
    assert "part-not-placed" in codes(replace(PLAN, placed=twice))
    lost = (*PLAN.placed, Placed("nobody", "appliques/front-1", shift(0.0, 0.0)))
    assert codes(replace(PLAN, placed=lost)) == {"part-unknown"}


def test_a_part_stretched() -> None:
    first = PLAN.placed[0].transform
    assert codes(with_placed(transform=replace(first, a=1.001))) == {"plan-stretched"}


@pytest.mark.parametrize(("dx", "found"), [(-5.0, False), (-5.01, True)])
def test_a_part_leaves_its_sheet(dx, found) -> None:
    move = PLAN.placed[0].transform.then(shift(dx, 0.0))
    assert codes(with_placed(transform=move)) == ({"part-off-its-sheet"} if found else set())


@pytest.mark.parametrize(("dx", "found"), [(5.0, False), (5.03, True), (25.0, True), (45.0, True)])
def test_parts_overlap(dx, found) -> None:
    """The second part lies 5 mm right of the first; 45 mm put one exactly upon the other."""
    move = PLAN.placed[0].transform.then(shift(dx, 0.0))
    assert codes(with_placed(transform=move)) == ({"parts-overlap"} if found else set())


def test_a_part_inside_another_overlaps_it_but_not_in_its_hole() -> None:
    small = sp.box(25.0, 25.0, 28.0, 28.0)
    hole = sp.box(20.0, 20.0, 40.0, 40.0)
    back = Path(tuple(Line(s.end, s.start) for s in reversed(hole.segments)), closed=True)
    parts = sp.swap(PLAN.parts, 2, cut=sp.Area(small))
    move = PLAN.placed[0].transform
    plan = replace(PLAN, parts=parts, placed=sp.swap(PLAN.placed, 2, transform=move))
    assert codes(plan) == {"parts-overlap"}
    holed = sp.Area(PLAN.parts[0].cut.outline, (back,))
    assert codes(replace(plan, parts=sp.swap(parts, 0, cut=holed))) == set()


def test_a_part_the_wrong_way_up() -> None:
    flipped = Transform(-1.0, 0.0, 0.0, 1.0, 55.0, 0.0)
    assert codes(with_placed(transform=flipped)) == {"part-wrong-way-up"}
    web = replace(PLAN, parts=sp.swap(PLAN.parts, 0, reversed=True))
    assert codes(web) == {"part-wrong-way-up"}
    assert codes(with_placed(plan=web, transform=flipped)) == set()


@pytest.mark.parametrize(("turn", "found"), [(0, False), (180, False), (90, True), (2, True)])
def test_a_part_turned_off_its_grain(turn, found) -> None:
    x, y = sp.rigid(turn, 0.0, 0.0).apply((30.0, 30.0))
    move = sp.rigid(turn, 25.0 - x, 30.0 - y)
    found_codes = codes(with_placed(transform=move))
    assert ("grain-turned" in found_codes) is found
    free = replace(PLAN, parts=sp.swap(PLAN.parts, 0, grain_deg=None))
    assert "grain-turned" not in codes(with_placed(plan=free, transform=move))


# --- marks


def test_match_marks_that_miss() -> None:
    off = (Mark(MarkKind.MATCH, (50.0, 30.05), 1),)
    assert codes(replace(PLAN, parts=sp.swap(PLAN.parts, 0, marks=off))) == {"match-marks-miss"}


def test_a_match_mark_without_its_mate() -> None:
    assert codes(replace(PLAN, parts=sp.swap(PLAN.parts, 0, marks=()))) == {"match-mark-alone"}
    unnumbered = tuple(
        replace(p, marks=(Mark(MarkKind.MATCH, (50.0, 30.0), 0),)) for p in PLAN.parts
    )
    assert codes(replace(PLAN, parts=unnumbered)) == {"match-mark-alone"}


@pytest.mark.parametrize(
    ("marks", "found"),
    [
        (((0.0, 0.0), (40.0, 0.0)), "register-too-few"),
        (((0.0, 0.0), (40.0, 0.0), (0.0, 40.0)), "register-ambiguous"),  # flips onto itself
        (((0.0, 0.0), (40.0, 0.0), (0.0, 30.0), (40.0, 30.0)), "register-ambiguous"),
        (((0.0, 0.0), (40.0, 0.0), (50.0, 30.0), (10.0, 30.0)), "register-ambiguous"),  # turns
        (((0.0, 0.0), (15.0, 0.0), (40.0, 0.0)), "register-ambiguous"),  # in a line: flips over it
        (((0.0, 0.0), (40.0, 0.0), (0.0, 40.5)), "register-ambiguous"),  # not told by eye
        (((0.0, 0.0), (40.0, 0.0), (0.0, 30.0)), None),
        (((0.0, 0.0), (40.0, 0.0), (40.0, 30.0), (0.0, 30.0), (10.0, 30.0)), None),
    ],
)
def test_register_marks_that_do_not_tell_a_turned_sheet(marks, found) -> None:
    turned = [sp.rigid(33.0, 5.0, 6.0).apply(p) for p in marks]
    ground = PLAN.ground
    zones = sp.swap(ground.zones, 0, register=tuple(turned))
    assert codes(replace(PLAN, ground=replace(ground, zones=zones))) == (
        {found} if found else set()
    )


def test_a_sheet_of_parts_without_register_marks() -> None:
    assert codes(replace(PLAN, sheets=sp.swap(PLAN.sheets, 0, register=()))) == {"register-too-few"}


def test_passes_of_one_zone_that_do_not_share_their_marks() -> None:
    each = PLAN.passes[0]
    moved = tuple((x + 0.1, y) for x, y in each.register)
    passes = (replace(each, register=moved), *PLAN.passes[1:])
    assert codes(*rewritten(passes)) == {"register-not-shared"}
    assert math.dist(moved[0], each.register[0]) > 0.05


# --- what is drawn of them


def with_sheet(ending, **changes):
    at = next(
        i
        for i, s in enumerate(FACTS.sheets)
        if s.file.startswith("appliques/") and s.file.endswith(ending)
    )
    return replace(FACTS, sheets=sp.swap(FACTS.sheets, at, **changes)), FACTS.sheets[at]


@pytest.mark.parametrize("ending", [".svg", ".dxf", ".pdf"])
@pytest.mark.parametrize(("off", "found"), [(0.01, set()), (0.05, {"cut-line-not-drawn"})])
def test_a_cut_line_drawn_elsewhere(ending, off, found) -> None:
    _, sheet = with_sheet(ending)
    first = next(i for i, p in enumerate(sheet.paths) if p.layer == "cut")
    x, y = sheet.paths[first].points[1]
    corners = (sheet.paths[first].points[0], (x + off, y), *sheet.paths[first].points[2:])
    facts, _ = with_sheet(ending, paths=sp.swap(sheet.paths, first, points=corners))
    assert codes(facts=facts) == found


def test_a_cut_line_left_out() -> None:
    _, sheet = with_sheet(".dxf")
    facts, _ = with_sheet(".dxf", paths=tuple(p for p in sheet.paths if p.layer != "cut"))
    assert codes(facts=facts) == {"cut-line-not-drawn"}


def test_a_label_left_out_or_reading_backwards() -> None:
    _, sheet = with_sheet(".svg")
    facts, _ = with_sheet(".svg", texts=sheet.texts[2:])
    assert codes(facts=facts) == {"label-not-drawn"}
    facts, _ = with_sheet(".svg", texts=sp.swap(sheet.texts, 0, mirrored=True))
    assert codes(facts=facts) == {"text-mirrored"}
    web = replace(PLAN, parts=sp.swap(PLAN.parts, 0, reversed=True))
    assert "text-mirrored" not in codes(web, facts)
