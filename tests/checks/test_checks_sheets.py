"""Every rule about holes, passes, sheets and parts: each way of breaking it is found."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
import sound_pack as sp

from templater.checks import check
from templater.model.curves import Line, Path, Transform, shift
from templater.model.facts import CircleFact, PathFact
from templater.model.parts import HoleKind, Mark, MarkKind, Placed

PLAN, FACTS = sp.build()


def codes(plan=PLAN, facts=FACTS) -> set[str]:
    found = check(plan, facts)
    assert all(p.message and p.mend for p in found)
    return {p.code for p in found}


def with_pass(index=0, **changes):
    return replace(PLAN, passes=sp.swap(PLAN.passes, index, **changes))


def hole_row(index=0, **changes):
    return replace(FACTS, holes=sp.swap(FACTS.holes, index, **changes))


def row_where(**wanted) -> int:
    rows = enumerate(FACTS.holes)
    return next(i for i, r in rows if all(getattr(r, k) == v for k, v in wanted.items()))


def sheet_where(ending, part="leaf-left-stencil-1") -> int:
    return next(i for i, s in enumerate(FACTS.sheets) if part in s.file and s.file.endswith(ending))


def with_sheet(index, **changes):
    return replace(FACTS, sheets=sp.swap(FACTS.sheets, index, **changes))


# --- holes.csv


@pytest.mark.parametrize(
    "change",
    [
        {"x_mm": FACTS.holes[0].x_mm + 0.0002},
        {"diameter_mm": 4.4},
        {"pass_number": 5},
        {"punch_mm": 4.0},
        {"stone_id": FACTS.holes[1].stone_id},
    ],
)
def test_a_hole_that_is_not_the_plans(change) -> None:
    assert "hole-differs" in codes(facts=hole_row(**change))


def test_a_hole_missing_another_twice_a_third_unplanned() -> None:
    assert "hole-differs" in codes(facts=replace(FACTS, holes=FACTS.holes[1:]))
    assert "hole-twice" in codes(facts=replace(FACTS, holes=(*FACTS.holes, FACTS.holes[0])))
    more = FACTS.holes[0]._replace(order=999)
    assert "hole-not-planned" in codes(facts=replace(FACTS, holes=(*FACTS.holes, more)))


def rewritten(passes, plan=PLAN):
    """Plan and files with other passes: a fault at the root, of which all files agree."""
    plan = replace(plan, passes=passes, sheets=(plan.sheets[0], *sp.sheets(passes)[1:]))
    return plan, sp.write(plan)


def without_hole(each, index=0):
    return replace(each, holes=sp.without(each.holes, index))


def test_a_stone_without_a_hole() -> None:
    passes = (without_hole(PLAN.passes[0]), *PLAN.passes[1:])
    assert codes(*rewritten(passes)) == {"stone-held-wrongly"}


def test_a_stone_held_by_two_passes() -> None:
    first, second, *others = PLAN.passes
    twice = first.holes[0]._replace(order=500)
    passes = (first, replace(second, holes=(*second.holes, twice)), *others)
    assert "stone-held-wrongly" in codes(*rewritten(passes))


def test_a_zone_whose_other_side_was_forgotten() -> None:
    passes = tuple(p for p in PLAN.passes if (p.zone, p.side, p.kind) != ("tip", "right", "prick"))
    assert codes(*rewritten(passes)) == {"stone-held-wrongly"}


def test_a_zone_without_any_holes_of_a_kind_is_sound() -> None:
    passes = tuple(p for p in PLAN.passes if (p.zone, p.kind) != ("tip", "prick"))
    assert codes(*rewritten(passes)) == set()


def test_holes_that_do_not_lie_on_their_stones() -> None:
    moved = replace(PLAN.passes[0], to_sheet=PLAN.passes[0].to_sheet.then(shift(0.01, 0.0)))
    passes = (moved, *PLAN.passes[1:])
    assert "hole-off-its-stone" in codes(replace(PLAN, passes=passes))


@pytest.mark.parametrize(
    "change", [{"reversed": True}, {"to_sheet": Transform(-1.0, 0.0, 0.0, 1.0, 90.0, 0.0)}]
)
def test_a_pass_that_lies_the_wrong_way_up(change) -> None:
    assert "pass-wrong-way-up" in codes(with_pass(**change))


@pytest.mark.parametrize("change", [{"zone": "tip"}, {"sizes": ("ss20",)}, {"side": "right"}])
def test_a_hole_for_a_stone_of_another_pass(change) -> None:
    assert "hole-for-wrong-stone" in codes(with_pass(**change))


def test_a_hole_of_no_stone() -> None:
    assert "hole-without-stone" in codes(facts=hole_row(stone_id="nobody"))
    assert "hole-without-stone" in codes(facts=hole_row(template="stencils/none.svg"))


def test_a_stencil_hole_takes_the_largest_stone_and_the_clearance() -> None:
    each = PLAN.passes[0]
    planned = each.holes[0]._replace(diameter_mm=4.2)  # 3.9 + 0.3: the planned, not the largest
    passes = (replace(each, holes=(planned, *each.holes[1:])), *PLAN.passes[1:])
    assert codes(*rewritten(passes)) == {"hole-misfits"}


def test_what_the_cut_takes_away_is_left_on() -> None:
    plan, facts = sp.build(rules=replace(sp.RULES, kerf_mm=0.1))
    assert "hole-misfits" in codes(plan, facts)

    def narrower(each):
        if each.kind is HoleKind.PRICK:
            return each
        holes = tuple(
            h._replace(
                diameter_mm=round(h.diameter_mm - 0.1, 4), length_mm=round(h.length_mm - 0.1, 4)
            )
            for h in each.holes
        )
        return replace(each, holes=holes)

    assert codes(*rewritten(tuple(map(narrower, plan.passes)), plan)) == set()


def test_a_prick_hole_as_wide_as_its_stone() -> None:
    at = next(i for i, p in enumerate(PLAN.passes) if p.kind is HoleKind.PRICK)
    each = PLAN.passes[at]
    wide = replace(each, holes=(each.holes[0]._replace(diameter_mm=4.3), *each.holes[1:]))
    assert codes(*rewritten(sp.swap(PLAN.passes, at, holes=wide.holes))) == {"hole-misfits"}


@pytest.mark.parametrize(("punch", "found"), [(4.0, set()), (3.5, {"hole-misfits"}), (None, set())])
def test_a_punch_through_which_the_stone_does_not_go(punch, found) -> None:
    at = next(i for i, p in enumerate(PLAN.passes) if p.kind is HoleKind.PRICK and p.zone == "leaf")
    sides = []
    for each in PLAN.passes:
        if each.zone == "leaf" and each.kind is HoleKind.PRICK:
            holes = tuple(
                h._replace(kind=HoleKind.PUNCH, punch_mm=punch, diameter_mm=0.8) for h in each.holes
            )
            each = replace(each, kind=HoleKind.PUNCH, bridge_mm=0.0, holes=holes)  # noqa: PLW2901 # a changed copy
        sides.append(each)
    assert PLAN.passes[at].zone == "leaf"
    assert codes(*rewritten(tuple(sides))) == found


# --- passes


def test_holes_of_one_pass_without_a_bridge() -> None:
    plan, facts = sp.build(rules=replace(sp.RULES, bridge_mm=1.7))
    passes = tuple(replace(p, bridge_mm=1.7) for p in plan.passes)
    # √2 · 4.205 − 4.3 = 1.647 mm are left
    found = list(check(replace(plan, passes=passes), facts))
    assert {p.code for p in found} == {"bridge-too-thin"}
    assert "1.647 mm are left" in found[0].message


def test_the_bridge_of_the_job_is_the_bridge_of_the_pass() -> None:
    assert codes(with_pass(bridge_mm=0.2)) == {"bridge-too-thin"}


def test_the_cut_takes_from_the_bridge() -> None:
    plan, facts = sp.build(rules=replace(sp.RULES, kerf_mm=0.7))
    assert "bridge-too-thin" in codes(plan, facts)


def test_shaped_holes_without_a_bridge() -> None:
    row = [sp.stone(20.0, y, sp.NAVETTE, 0.0, sp.StoneKind.ROW, 0.5) for y in (58.0, 58.0 + 6.3)]
    # 6.3 − 5.4 = 0.9 mm
    spine = sp.setting("spine", row, maximal=None)
    assert codes(*sp.build((*sp.settings()[:2], spine))) == {"bridge-too-thin"}
    row[1] = row[1]._replace(y_mm=58.0 + 6.5)
    spine = sp.setting("spine", row, maximal=None)
    assert codes(*sp.build((*sp.settings()[:2], spine))) == set()


def test_a_hole_at_the_edge_of_its_sheet() -> None:
    each = PLAN.passes[0]
    right = max(h.x_mm + h.diameter_mm / 2 for h in each.holes)
    assert "hole-off-its-sheet" in codes(with_pass(size_mm=(right + 0.9, each.size_mm[1])))
    assert "hole-off-its-sheet" not in codes(with_pass(size_mm=(right + 1.1, each.size_mm[1])))


def test_film_on_stones_already_set() -> None:
    # pitch 4.205 − largest 4.0 − clearance 0.3 − registration 0.2 < 0
    found = check(*sp.build(method="film"))
    assert {p.code for p in found} == {"film-meets-set-stones"}
    assert "0.295 mm too near" in found[0].message
    loose = replace(sp.RULES, registration_mm=0.0)
    plan, facts = sp.build(method="film", rules=loose)
    passes = tuple(replace(p, clearance_mm=0.2) for p in plan.passes)
    assert "film-meets-set-stones" not in codes(replace(plan, passes=passes), facts)


# --- what is drawn


@pytest.mark.parametrize("ending", [".svg", ".dxf", ".pdf"])
def test_a_pass_that_was_not_written(ending) -> None:
    gone = "stencils/leaf-left-stencil-1" + ending
    files = tuple(f for f in FACTS.files if f != gone)
    sheets = tuple(s for s in FACTS.sheets if s.file != gone)
    assert codes(facts=replace(FACTS, files=files, sheets=sheets)) == {"sheet-missing"}


def test_formats_nobody_asked_for_need_not_be_there() -> None:
    plan = replace(PLAN, rules=replace(PLAN.rules, formats=("svg", "hpgl")))
    files = tuple(f for f in FACTS.files if not f.endswith((".dxf", ".pdf")))
    sheets = tuple(s for s in FACTS.sheets if s.file.endswith(".svg"))
    assert codes(plan, replace(FACTS, files=files, sheets=sheets)) == set()


def test_a_sheet_without_any_file() -> None:
    files = tuple(f for f in FACTS.files if "appliques" not in f)
    sheets = tuple(s for s in FACTS.sheets if "appliques" not in s.file)
    assert codes(facts=replace(FACTS, files=files, sheets=sheets)) == {"sheet-missing"}


@pytest.mark.parametrize("ending", [".svg", ".dxf", ".pdf"])
@pytest.mark.parametrize(
    ("change", "found"),
    [
        ({"x": 0.009}, False),
        ({"x": 0.02}, True),
        ({"d": 0.009}, False),
        ({"d": 0.02}, True),
        ({"gone": True}, True),
    ],
)
def test_a_hole_not_drawn_as_listed(ending, change, found) -> None:
    at = sheet_where(ending)
    circles = list(FACTS.sheets[at].circles)
    hole = next(i for i, c in enumerate(circles) if c.layer == "holes")
    c = circles[hole]
    circles[hole] = c._replace(
        x_mm=c.x_mm + change.get("x", 0.0), diameter_mm=c.diameter_mm + change.get("d", 0.0)
    )
    if change.get("gone"):
        del circles[hole]
    assert ("hole-not-drawn" in codes(facts=with_sheet(at, circles=tuple(circles)))) is found


def test_a_hole_drawn_twice_or_besides() -> None:
    at = sheet_where(".dxf")
    circles = FACTS.sheets[at].circles
    hole = next(c for c in circles if c.layer == "holes")
    assert codes(facts=with_sheet(at, circles=(*circles, hole))) == {"hole-never-listed"}
    other = CircleFact(1.0, 1.0, 4.0, "register")
    assert codes(facts=with_sheet(at, circles=(*circles, other))) == set()


def test_a_shaped_hole_not_drawn_as_listed() -> None:
    at = sheet_where(".svg", "spine-left-stencil")
    paths = FACTS.sheets[at].paths
    assert codes(facts=with_sheet(at, paths=paths[1:])) == {"hole-not-drawn"}
    stretched = tuple((x * 1.01, y) for x, y in paths[0].points)
    wrong = (PathFact(stretched, closed=True, layer="holes"), *paths[1:])
    assert "hole-not-drawn" in codes(facts=with_sheet(at, paths=wrong))
    whole = tuple((x, y) for x, y in paths[0].points[::-1])
    assert (
        codes(facts=with_sheet(at, paths=(PathFact(whole, closed=True, layer=""), *paths[1:])))
        == set()
    )


def tiles(missing=()):
    """The pass's PDF as two printed pages that overlap, in place of one whole page."""
    each = PLAN.passes[0]
    sheet = next(s for s in PLAN.sheets if s.name == each.template)
    name = "print/" + each.template.split("/")[1]
    pages = []
    for page, (low, high) in enumerate(((0.0, 30.0), (25.0, 99.0)), start=1):
        holes = [h for h in each.holes if low <= h.x_mm <= high and h.order not in missing]
        shown = replace(sheet, name=name, register=())
        move = (8.0 - low, 8.0)
        pages.append(sp.drawn(shown, holes, ".pdf", page=page, move=move, size=(210.0, 297.0)))
    sheets = tuple(s for s in FACTS.sheets if s.file != each.template + ".pdf")
    files = tuple(f for f in FACTS.files if f != each.template + ".pdf")
    return replace(FACTS, sheets=(*sheets, *pages), files=(*files, name + ".pdf"))


def test_holes_on_tiles_are_found_wherever_the_tiles_begin() -> None:
    assert codes(facts=tiles()) == set()
    found = check(PLAN, tiles(missing={7}))
    assert [p.code for p in found] == ["hole-not-drawn"]
    assert "hole 7" in found[0].message


def test_a_register_mark_not_drawn() -> None:
    at = sheet_where(".svg")
    circles = tuple(c for c in FACTS.sheets[at].circles if c.layer != "register")
    assert codes(facts=with_sheet(at, circles=circles)) == {"register-not-drawn"}


# --- true size


@pytest.mark.parametrize("ending", [".svg", ".dxf", ".pdf"])
def test_a_file_drawn_too_large(ending) -> None:
    at = sheet_where(ending, "appliques")
    sheet = FACTS.sheets[at]
    scaled = tuple(
        p._replace(points=tuple((x * 1.001, y * 1.001) for x, y in p.points)) for p in sheet.paths
    )
    assert codes(facts=with_sheet(at, paths=scaled)) == {"bar-not-drawn"}


def test_a_bar_that_lies_about_its_length() -> None:
    wrong = sp.bar()._replace(length_mm=40.1)
    assert codes(replace(PLAN, sheets=sp.swap(PLAN.sheets, 0, bars=(wrong,)))) == {"bar-wrong"}


def test_a_bar_missing_from_the_tiles() -> None:
    facts = tiles()
    sheets = tuple(replace(s, paths=()) if s.file.startswith("print/") else s for s in facts.sheets)
    assert codes(facts=replace(facts, sheets=sheets)) == {"bar-not-drawn"}


def test_a_page_of_another_size_and_a_pdf_that_may_be_scaled() -> None:
    at = sheet_where(".pdf")
    w, h = FACTS.sheets[at].size_mm
    assert codes(facts=with_sheet(at, size_mm=(w + 0.1, h))) == {"page-size-wrong"}
    assert codes(facts=with_sheet(at, scaling_off=False)) == {"print-scaling-on"}


# --- parts


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
    assert "part-stretched" in codes(with_placed(transform=replace(first, a=1.001)))


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
