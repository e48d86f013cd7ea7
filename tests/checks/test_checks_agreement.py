"""Sides and counts: what is not mirrored, not placed or not counted is found."""

from __future__ import annotations

from dataclasses import replace

import pytest
import sound_pack as sp

from templater.checks import check
from templater.model.curves import Area
from templater.model.ground import Side

LEAF, TIP, SPINE = sp.settings()


def codes(pack) -> set[str]:
    found = check(*pack)
    assert all(p.message and p.mend for p in found)
    return {p.code for p in found}


def test_a_side_its_piece_does_not_have() -> None:
    plan, facts = sp.build()
    assert "stone-side-wrong" in codes(
        (plan, replace(facts, stones=sp.swap(facts.stones, 0, side="centre")))
    )


def test_a_stone_beside_the_fold_called_centred_and_one_on_it_called_left() -> None:
    plan, facts = sp.folded()
    at = next(i for i, s in enumerate(facts.stones) if s.side == "centre")
    assert "stone-not-centred" in codes(
        (plan, replace(facts, stones=sp.swap(facts.stones, at, side="left")))
    )
    at = next(i for i, s in enumerate(facts.stones) if s.side == "left")
    assert "stone-not-centred" in codes(
        (plan, replace(facts, stones=sp.swap(facts.stones, at, side="centre")))
    )


@pytest.mark.parametrize(("dx", "found"), [(0.002, True), (0.0005, False)])
def test_a_stone_that_is_not_mirrored(dx, found) -> None:
    plan, facts = sp.build()
    x = facts.stones[5].x_mm + dx
    broken = replace(facts, stones=sp.swap(facts.stones, 5, x_mm=x))
    assert ("stone-without-twin" in codes((plan, broken))) is found


@pytest.mark.parametrize("change", [{"finish": "ab"}, {"colour": "mint"}, {"kind": "outline"}])
def test_twins_that_differ(change) -> None:
    plan, facts = sp.build()
    assert "twins-unlike" in codes(
        (plan, replace(facts, stones=sp.swap(facts.stones, 5, **change)))
    )


def test_a_shaped_twin_turned_otherwise() -> None:
    plan, facts = sp.build()
    at = next(i for i, s in enumerate(facts.stones) if s.kind == "row")
    assert "twins-unlike" in codes(
        (plan, replace(facts, stones=sp.swap(facts.stones, at, angle_deg=3.0)))
    )


def test_a_side_with_a_stone_too_few() -> None:
    plan, facts = sp.build()
    assert "stone-without-twin" in codes((plan, replace(facts, stones=facts.stones[1:])))


# --- counted = placed


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"x_mm": 12.1501}, "stone-differs"),
        ({"angle_deg": 1.0}, "stone-differs"),
        ({"finish": "ab"}, "stone-differs"),
        ({"piece": "back"}, "stone-differs"),
        ({"length_mm": 4.0}, "stone-differs"),
        ({"size": "ss99"}, "size-unknown"),
        ({"id": "other"}, "stone-not-planned"),
        ({"id": "leaf-left-1"}, "stone-id-twice"),
    ],
)
def test_a_written_stone_that_is_not_the_plans(change, code) -> None:
    plan, facts = sp.build()
    assert facts.stones[0].id == "leaf-left-0"
    assert code in codes((plan, replace(facts, stones=sp.swap(facts.stones, 0, **change))))


def test_a_stone_that_was_not_written() -> None:
    plan, facts = sp.build()
    assert "stone-not-written" in codes((plan, replace(facts, stones=facts.stones[:-1])))


def test_a_stone_that_was_set_but_not_placed_and_one_that_never_was() -> None:
    plan, facts = sp.build()
    shorter = replace(plan, settings=(sp.setting("leaf", LEAF.stones[:-1]), TIP, SPINE))
    assert "stone-never-set" in codes((shorter, facts))
    stones = tuple(s for s in plan.stones if not s.id.startswith("leaf-right-7"))
    fewer = replace(plan, stones=stones)
    assert "stone-not-placed" in codes((fewer, sp.write(fewer)))


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"count": 7}, "shopping-count-wrong"),
        ({"finish": "ab"}, "shopping-count-wrong"),
        ({"gross": 9}, "shopping-gross-wrong"),
        ({"spare": 9}, "shopping-differs"),
    ],
)
def test_a_shopping_list_that_counts_wrongly(change, code) -> None:
    plan, facts = sp.build()
    assert code in codes((plan, replace(facts, shopping=sp.swap(facts.shopping, 0, **change))))


def test_a_line_that_stands_twice() -> None:
    plan, facts = sp.build()
    assert "shopping-line-twice" in codes((plan, replace(facts, shopping=facts.shopping * 2)))


def test_totals_that_count_wrongly() -> None:
    plan, facts = sp.build()
    counts = replace(plan.counts, zones=sp.swap(plan.counts.zones, 0, stones=1))
    assert codes((replace(plan, counts=counts), facts)) == {"zone-count-wrong"}
    figures = replace(LEAF.figures, counts=(("ss16", 1),))
    assert codes(sp.build((replace(LEAF, figures=figures), TIP, SPINE))) == {"zone-count-wrong"}


def test_many_findings_are_told_shortly() -> None:
    plan, facts = sp.build()
    gone = replace(facts, stones=tuple(s for s in facts.stones if s.side == Side.LEFT))
    found = [p for p in check(plan, gone) if p.code == "stone-not-written"]
    assert len(found) == 13
    assert "135 more" in found[-1].message


@pytest.mark.parametrize("side", [0, 1])
def test_a_side_that_is_not_the_mirror_image_of_the_drawn_one(side) -> None:
    ground = sp.ground()
    surface = ground.surfaces[0]
    there = surface.sides[side]
    off = replace(there, transform=there.transform.then(sp.shift(0.01, 0.0)))
    sides = sp.swap(surface.sides, side, transform=off.transform)
    assert "side-not-mirrored" in codes(
        sp.build(ground_=replace(ground, surfaces=(replace(surface, sides=sides),)))
    )


def test_without_a_fold_a_piece_is_mirrored_about_its_largest_x() -> None:
    ground = sp.ground()  # its fold lies on its largest x
    piece = replace(ground.pieces[0], fold=None)
    assert codes(sp.build(ground_=replace(ground, pieces=(piece,)))) == set()
    piece = replace(piece, area=Area(sp.box(0.0, 0.0, 99.0, 80.0)))
    found = codes(sp.build(ground_=replace(ground, pieces=(piece,))))
    assert found == {"side-not-mirrored"}
