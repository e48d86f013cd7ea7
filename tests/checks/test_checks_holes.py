"""Every rule about holes and passes: each way of breaking it is found."""

from __future__ import annotations

from dataclasses import replace

import pytest
import sound_pack as sp

from templater.checks import check
from templater.model.curves import Transform, shift
from templater.model.parts import HoleKind

PLAN, FACTS = sp.build()


def codes(plan=PLAN, facts=None) -> set[str]:
    """What is found; without facts, the files were written from this very plan."""
    found = check(plan, sp.write(plan) if facts is None else facts)
    assert all(p.message and p.mend for p in found)
    return {p.code for p in found}


def with_pass(index=0, **changes):
    return replace(PLAN, passes=sp.swap(PLAN.passes, index, **changes))


def hole_row(index=0, **changes):
    return replace(FACTS, holes=sp.swap(FACTS.holes, index, **changes))


def rewritten(passes, plan=PLAN):
    """Plan and files with other passes: a fault at the root, of which all files agree."""
    plan = replace(plan, passes=passes, sheets=(plan.sheets[0], *sp.sheets(passes)[1:]))
    return plan, sp.write(plan)


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


def test_a_zone_without_any_holes_of_a_kind_that_the_job_wants() -> None:
    passes = tuple(p for p in PLAN.passes if (p.zone, p.kind) != ("tip", "prick"))
    assert codes(*rewritten(passes)) == {"stone-held-wrongly"}


def with_rules(**changes):
    return replace(PLAN, rules=replace(PLAN.rules, **changes))


def test_kinds_that_the_job_leaves_out_are_neither_missed_nor_there() -> None:
    plan = with_rules(kinds=("stencil",))
    passes = tuple(p for p in PLAN.passes if p.kind is HoleKind.STENCIL)
    assert codes(*rewritten(passes, plan)) == set()
    assert codes(*rewritten(PLAN.passes, plan)) == {"template-not-wanted"}


def test_a_stencil_that_mixes_what_is_to_be_kept_apart() -> None:
    finishes = {stone.finish for stone in PLAN.stones}
    plan = with_rules(apart=("finish",))
    labelled = tuple(
        replace(p, lot=tuple(finishes)) if p.kind is HoleKind.STENCIL else p for p in PLAN.passes
    )
    assert len(finishes) == 1
    assert codes(*rewritten(labelled, plan)) == set()
    assert codes(*rewritten(PLAN.passes, plan)) == {"pass-mixes-stones"}
    wrong = tuple(replace(p, lot=("ab",)) for p in labelled)
    assert codes(*rewritten(wrong, plan)) == {"pass-mixes-stones"}


def test_a_clearance_that_hangs_on_the_size() -> None:
    plan = with_rules(clearances=(("ss16", 0.4),))
    assert codes(*rewritten(PLAN.passes, plan)) == {"hole-misfits"}
    same = with_rules(clearances=tuple((size.name, 0.3) for size in PLAN.sizes))
    assert codes(*rewritten(PLAN.passes, same)) == set()


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
    made = codes(*rewritten(tuple(sides), with_rules(kinds=("stencil", "prick", "punch"))))
    assert made - {"stone-held-wrongly"} == found, "each zone has one kind here and lacks the other"


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


@pytest.mark.parametrize("method", ["film", "tape"])
@pytest.mark.parametrize(("left", "found"), [(0.51, False), (0.45, True)])
def test_navettes_side_by_side_are_measured_by_their_widths(method, left, found) -> None:
    # Side by side along their lengths, from two sheets: 5.1 wide at most, and 0.3 + 0.2 to spare.
    row = [
        sp.stone(20.0, 62.0, sp.NAVETTE, 0.0, sp.StoneKind.ROW, 0.5),
        sp.stone(20.0, 62.0 + 5.1 + left, sp.NAVETTE, 0.0, sp.StoneKind.ROW, 0.5),
    ]
    plan, _ = sp.build((sp.setting("spine", row, maximal=None),), method=method)
    passes = []
    for each in plan.passes:
        if each.kind is HoleKind.STENCIL:
            first, second = each.holes
            passes.append(replace(each, number=1, of=2, holes=(first,)))
            again = each.template + "-again"
            passes.append(replace(each, template=again, number=2, of=2, holes=(second,)))
        else:
            passes.append(each)
    told = check(*rewritten(tuple(passes), plan))
    assert ("film-meets-set-stones" in {p.code for p in told}) is found
