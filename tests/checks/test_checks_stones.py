"""Every rule about stones: the sound pack keeps it, and each way of breaking it is found."""

from __future__ import annotations

from dataclasses import replace

import pytest
import sound_pack as sp

from templater.checks import check, every_check
from templater.model.curves import Area, Line, Path
from templater.model.ground import EdgeKind, KeepClear, Low, Make
from templater.model.stones import StoneKind

LEAF, TIP, SPINE = sp.settings()


def codes(pack) -> set[str]:
    found = check(*pack)
    assert all(p.message and p.mend for p in found)
    return {p.code for p in found}


def moved(setting, index, dx=0.0, dy=0.0, **changes):
    old = setting.stones[index]
    new = old._replace(x_mm=round(old.x_mm + dx, 4), y_mm=round(old.y_mm + dy, 4), **changes)
    stones = (*setting.stones[:index], new, *setting.stones[index + 1 :])
    return replace(setting, stones=stones)


def with_more(setting, *stones):
    return sp.setting(setting.zone, (*setting.stones, *stones), maximal=setting.maximal_size)


@pytest.mark.parametrize("pack", [sp.build, sp.folded])
def test_a_sound_pack_has_no_problems(pack) -> None:
    assert check(*pack()) == ()


def test_a_single_piece_is_sound_too() -> None:
    assert check(*sp.build(ground_=sp.ground(Make.SINGLE))) == ()


def test_every_check_is_named_for_what_holds() -> None:
    names = [each.__name__ for each in every_check()]
    assert len(names) == len(set(names)) >= 37


# --- distances


@pytest.mark.parametrize(("nearer", "found"), [(0.0015, True), (0.0008, False)])
def test_two_rounds_a_micrometre_too_near(nearer, found) -> None:
    tip = moved(TIP, 6 * 9, dx=-nearer - (sp.PITCH - 4.2))
    pack = sp.build((LEAF, replace(tip, maximal_size=None), SPINE))
    assert ("stones-too-near" in codes(pack)) is found
    assert codes(pack) <= {"stones-too-near"}


def test_stones_of_two_zones_too_near() -> None:
    row = sp.setting("spine", [sp.stone(12.15, 49.9, kind=StoneKind.ROW)], maximal=None)
    assert "stones-too-near" in codes(sp.build((LEAF, TIP, row)))


@pytest.mark.parametrize(("apart", "found"), [(10.5, False), (10.45, True), (4.0, True)])
def test_shaped_stones_tip_to_tip(apart, found) -> None:
    row = [sp.stone(x, 62.0, sp.NAVETTE, 0.0, StoneKind.ROW, 0.5) for x in (20.0, 20.0 + apart)]
    plan, facts = sp.build((LEAF, TIP, sp.setting("spine", row, maximal=None)))
    near = {p.code for p in check(plan, facts)} & {"stones-too-near"}
    assert bool(near) is found


@pytest.mark.parametrize(("apart", "found"), [(5.5, False), (5.45, True)])
def test_shaped_stones_side_by_side(apart, found) -> None:
    row = [sp.stone(20.0, y, sp.NAVETTE, 0.0, StoneKind.ROW, 0.5) for y in (58.0, 58.0 + apart)]
    assert (
        "stones-too-near" in codes(sp.build((LEAF, TIP, sp.setting("spine", row, maximal=None))))
    ) is found


def test_a_round_may_nestle_where_a_shaped_stone_curves_away() -> None:
    # The arc's centre lies R − W/2 below the middle, R = (L² + W²)/4W = 6.25: a round 4.2 mm along
    # and h across is √(4.2² + (h + 3.75)²) − 6.25 − 1.95 from it, which is 0.4 at h = 3.755. The
    # box about the navette it would cut.
    turned = sp.stone(20.0, 62.0, sp.NAVETTE, 0.0, StoneKind.ROW, 0.5)
    for beside, found in ((3.76, False), (3.70, True)):
        other = sp.stone(24.2, 62.0 + beside, kind=StoneKind.ROW)
        row = sp.setting("spine", [turned, other], maximal=None)
        assert ("stones-too-near" in codes(sp.build((LEAF, TIP, row)))) is found


def test_stones_left_and_right_of_a_fold_too_near() -> None:
    # 0.10 mm from the fold instead of half the gap, 0.15: 0.2 mm from its own mirror image
    plan, _ = sp.folded()
    stones = tuple(s for s in plan.settings[0].stones if abs(s.y_mm - 12.15) > 1 or s.x_mm < 90)
    own = sp.setting("leaf", (*stones, sp.stone(98.0, 12.15)), maximal=None)
    own = replace(own, edge_mm=0.0)
    found = codes(sp.build((own,), sp.ground(Make.FOLD, rows=())))
    assert {"stones-too-near", "stone-too-near-boundary"} <= found


@pytest.mark.parametrize(("from_fold", "found"), [(0.16, False), (0.10, True)])
def test_joined_cloth_keeps_half_the_gap_from_its_fold_and_no_edge(from_fold, found) -> None:
    # An edge of 0.5 is for where the zone ends; at the fold the cloth goes on.
    lone = (sp.stone(80.0, 30.0), sp.stone(100.0 - 1.95 - from_fold, 30.0))
    own = sp.setting("leaf", lone, maximal=None)
    own = replace(own, edge_mm=0.5)
    told = codes(sp.build((own,), sp.ground(Make.FOLD, rows=())))
    assert ("stone-too-near-boundary" in told) is found


# --- zones


@pytest.mark.parametrize(("nearer", "found"), [(0.0015, True), (0.0008, False)])
def test_a_stone_too_near_its_zones_edge(nearer, found) -> None:
    pack = sp.build((LEAF, replace(moved(TIP, 0, dy=-nearer), maximal_size=None), SPINE))
    assert ("stone-too-near-boundary" in codes(pack)) is found


def test_along_another_zone_half_the_gap_is_kept_even_where_the_edge_is_less() -> None:
    tip = replace(moved(TIP, 0, dx=-0.08), edge_mm=0.1, maximal_size=None)
    assert codes(sp.build((LEAF, tip, SPINE))) == {"stone-too-near-boundary"}
    tip = replace(moved(TIP, 0, dx=-0.04), edge_mm=0.1, maximal_size=None)
    assert codes(sp.build((LEAF, tip, SPINE))) == set()
    # along a free edge its own edge is enough
    tip = replace(moved(TIP, 0, dy=-0.08), edge_mm=0.1, maximal_size=None)
    assert codes(sp.build((LEAF, tip, SPINE))) == set()


@pytest.mark.parametrize("place", [(5.0, 30.0), (90.0, 30.0), (-20.0, 400.0)])
def test_a_stone_outside_its_zone(place) -> None:
    leaf = with_more(LEAF, sp.stone(*place))
    assert "stone-outside" in codes(sp.build((leaf, TIP, SPINE)))


def test_a_stone_in_a_hole_of_its_zone() -> None:
    ground = sp.ground()
    region = ground.zones[0].regions[0]
    hole = sp.box(25.0, 25.0, 35.0, 35.0)
    back = Path(tuple(Line(s.end, s.start) for s in reversed(hole.segments)), closed=True)
    ring = (sp.Edge(EdgeKind.FREE, back),)
    region = replace(region, area=Area(region.area.outline, (back,)), rings=(*region.rings, ring))
    zone = replace(ground.zones[0], regions=(region,))
    found = codes(sp.build(ground_=replace(ground, zones=(zone, ground.zones[1]))))
    assert {"stone-outside", "stone-too-near-boundary"} <= found


def test_a_row_leaves_its_piece() -> None:
    row = sp.setting("spine", [sp.stone(20.0, 90.0, kind=StoneKind.ROW)], maximal=None)
    assert "stone-outside" in codes(sp.build((LEAF, TIP, row)))


def test_a_zone_nobody_drew() -> None:
    assert "stone-zone-unknown" in codes(
        sp.build((LEAF, TIP, SPINE, sp.setting("moon", [sp.stone(85.0, 5.0)], maximal=None)))
    )


def test_a_curved_boundary_is_measured_on_its_curve() -> None:
    """A stone 0.2 mm inside a round zone of radius 20 is sound; 2 µm further out it is not."""

    def pack(reach):
        area = sp.disc(30.0, 30.0, 20.0)
        edges = tuple(
            sp.Edge(EdgeKind.FREE, Path((s,), closed=False)) for s in area.outline.segments
        )
        zone = replace(sp.zone("leaf", 10.0, 50.0), regions=(sp.Region(area, (edges,)),))
        own = sp.setting("leaf", [sp.stone(30.0 + reach * 0.6, 30.0 + reach * 0.8)], maximal=None)
        return sp.build((own,), sp.ground(zones=(zone,), rows=()))

    assert codes(pack(20.0 - 0.2 - 1.95)) == set()
    assert codes(pack(20.0 - 0.2 - 1.95 + 0.002)) == {"stone-too-near-boundary"}


# --- clear, seam, low


def test_a_stone_on_a_clear_area() -> None:
    row = sp.setting("spine", [sp.stone(90.0, 70.0, kind=StoneKind.ROW)], maximal=None)
    found = [p for p in check(*sp.build((LEAF, TIP, row))) if p.code == "stone-not-clear"]
    assert any("on it" in p.message for p in found)


@pytest.mark.parametrize(("x", "found"), [(90 - 3 - 3 - 1.95, False), (90 - 7.9 + 0.0, True)])
def test_a_stone_beside_a_clear_area(x, found) -> None:
    row = sp.setting("spine", [sp.stone(x, 70.0, kind=StoneKind.ROW)], maximal=None)
    assert ("stone-not-clear" in codes(sp.build((LEAF, TIP, row)))) is found


@pytest.mark.parametrize(("x", "found"), [(95 - 8 - 1.95, False), (95 - 8 - 1.945, True)])
def test_a_stone_beside_an_unsewn_seam(x, found) -> None:
    row = sp.setting("spine", [sp.stone(x, 20.0, kind=StoneKind.ROW)], maximal=None)
    assert ("stone-not-clear" in codes(sp.build((LEAF, TIP, row)))) is found


def test_a_shaped_stone_beside_a_seam_is_measured_by_its_outline() -> None:
    across = sp.stone(84.0, 62.0, sp.NAVETTE, 90.0, StoneKind.ROW, 0.5)
    found = codes(sp.build((LEAF, TIP, sp.setting("spine", [across], maximal=None))))
    assert "stone-not-clear" not in found
    along = across._replace(turn_deg=0.0)
    found = codes(sp.build((LEAF, TIP, sp.setting("spine", [along], maximal=None))))
    assert "stone-not-clear" in found


def test_another_pieces_clear_areas_do_not_count() -> None:
    keep = KeepClear("clear", "back", sp.disc(30.0, 30.0, 9.0), 3.0, sp.SOURCE)
    assert codes(sp.build(ground_=sp.ground(keep_clear=(keep,)))) == set()


@pytest.mark.parametrize(("limit", "found"), [(1.6, True), (1.7, False)])
def test_a_stone_too_high_on_a_low_area(limit, found) -> None:
    low = Low("front", Area(sp.box(30.0, 30.0, 32.0, 32.0)), limit, sp.SOURCE)
    assert ("stone-too-high" in codes(sp.build(ground_=sp.ground(lows=(low,))))) is found
