"""Darts as they may be drawn, and which of them cannot be sewn where they lie."""

import math

import pytest
from dart_drawings import LEFT, PLAIN, RIGHT, TIP, area, box, grounded, legs, with_dart

from templater.geometry.measure import area_mm2
from templater.geometry.polygons import polyline
from templater.model.curves import Cubic, Path
from templater.model.ground import EdgeKind
from templater.model.problems import Severity

BAND = box(50, 40, 250, 80)
FOLDED = '[zones.band]\nweb = false\n[pieces.front]\nmake = "fold"\n'


def darts_in(dart, piece=None, job=PLAIN, **zones):
    ground, _, problems = grounded(with_dart(dart, piece, **(zones or {"band": BAND})), job)
    return ground.piece("front").darts, {p.code: p for p in problems}, ground


def dart_length(region):
    """How much of a region's outline runs along darts."""
    from templater.geometry.measure import path_length

    return sum(
        path_length(edge.path)
        for ring in region.rings
        for edge in ring
        if edge.kind is EdgeKind.DART
    )


WAYS = {
    "two legs": polyline([LEFT, TIP, RIGHT], closed=False),
    "two legs from the right": polyline([RIGHT, TIP, LEFT], closed=False),
    "a triangle": polyline([LEFT, TIP, RIGHT], closed=True),
    "a triangle the other way": polyline([TIP, LEFT, RIGHT], closed=True),
    "legs of many points": polyline(
        [LEFT, (144.0, 40.0), (147.1, 70.0), TIP, (155.0, 50.1), RIGHT], closed=False
    ),
    "a triangle begun amid its mouth": polyline([(150.0, 0.0), RIGHT, TIP, LEFT], closed=True),
}


@pytest.mark.parametrize("way", WAYS)
def test_a_dart_is_the_same_however_it_is_drawn(way):
    (dart,), found, ground = darts_in(WAYS[way])
    assert (dart.tip, dart.left, dart.right, dart.name) == (TIP, LEFT, RIGHT, "bust")
    assert found == {}
    areas = [area_mm2(region.area) for region in ground.zone("band").regions]
    assert areas == pytest.approx([3840.0, 3840.0])


def test_curved_legs_are_refused_as_such():
    one = Cubic(LEFT, (143.0, 40.0), (150.0, 60.0), TIP)
    other = Cubic(TIP, (150.0, 60.0), (157.0, 40.0), RIGHT)
    _, found, _ = darts_in(Path((one, other), closed=False))
    assert "curved" in found["dart-not-a-wedge"].message
    assert found["dart-not-a-wedge"].severity is Severity.ERROR


DIAMOND = area((150, 240), (142, 200), (150, 150), (158, 200)).outline


def test_a_dart_with_two_tips_is_two_that_share_their_mouth():
    darts, found, _ = darts_in(DIAMOND, band=box(50, 215, 250, 230))
    assert [dart.name for dart in darts] == ["bust", "bust-2"]
    assert {dart.tip for dart in darts} == {(150.0, 240.0), (150.0, 150.0)}
    assert {(dart.left, dart.right) for dart in darts} == {((142.0, 200.0), (158.0, 200.0))}
    assert found == {}


def test_a_zone_all_round_a_dart_with_two_tips_is_parted_beyond_both():
    _, found, ground = darts_in(DIAMOND, band=box(50, 120, 250, 280))
    regions = ground.zone("band").regions
    assert len(regions) == 2
    half = (200.0 * 160.0 - 16.0 * 90.0 / 2.0) / 2.0
    assert [area_mm2(region.area) for region in regions] == pytest.approx([half, half])
    along = math.hypot(8, 40) + math.hypot(8, 50) + 40.0 + 30.0
    assert [dart_length(r) for r in regions] == pytest.approx([along, along], abs=1e-6)
    assert set(found) == {"zone-round-dart-tip"}


def test_a_zone_round_the_tip_is_told_how_far_it_goes_beyond():
    _, found, _ = darts_in(legs(), band=box(50, 0, 250, 103))
    note = found["zone-round-dart-tip"]
    assert note.severity is Severity.NOTE
    assert "3.0 mm beyond" in note.message
    assert note.at_mm == TIP


@pytest.mark.parametrize(
    "dart",
    [legs(), legs((140, 0), (145, 100), (150, 0)), legs((140, 0), (160, 100), (145, 0))],
    ids=["amid the fold", "a leg on the fold", "the tip beyond it"],
)
def test_a_dart_across_the_fold_is_refused_with_the_way_out(dart):
    layers = with_dart(dart, box(0, 0, 150, 400), band=box(50, 40, 150, 80))
    layers["fold"] = [legs((150, 0), (150, 200), (150, 400))]
    _, _, problems = grounded(layers, FOLDED)
    (problem,) = [each for each in problems if each.severity is Severity.ERROR]
    assert problem.code == "dart-across-fold"
    assert 'make = "single"' in problem.mend
    # The way out that it names is one: drawn whole and single, the dart is like any other.
    _, _, problems = grounded(with_dart(band=BAND))
    assert problems == ()


def test_of_darts_drawn_on_both_sides_of_the_fold_the_drawn_side_has_its_own():
    layers = with_dart(legs((40, 0), (50, 100), (60, 0)), box(0, 0, 300, 400), band=BAND)
    layers["dart bust"].append(legs((240, 0), (250, 100), (260, 0)))
    layers["fold"] = [legs((150, 0), (150, 200), (150, 400))]
    ground, _, problems = grounded(layers, FOLDED)
    (dart,) = ground.piece("front").darts
    assert dart.tip[0] in {50.0, 250.0}
    assert not [each for each in problems if each.severity is Severity.ERROR]


def test_a_dart_that_ends_within_the_piece_is_told_by_how_much():
    _, found, _ = darts_in(legs((142, 20), TIP, (158, 20)), band=BAND)
    problem = found["dart-ends-within"]
    assert (problem.severity, problem.at_mm) == (Severity.WARNING, (150.0, 20.0))
    assert "20.0 mm within" in problem.message


def test_legs_that_end_on_the_seam_line_of_a_cut_outline_reach_the_edge():
    job = PLAIN + 'outline = "cut"\nallowance = 10\n'
    _, found, ground = darts_in(legs((141, 10), TIP, (159, 10)), job=job, band=box(50, 0, 250, 80))
    assert "dart-ends-within" not in found
    assert len(ground.zone("band").regions) == 2


def test_a_dart_amid_a_zone_leaves_it_in_one():
    """Nothing below its mouth is folded away, so there are no two halves."""
    _, found, ground = darts_in(legs((142, 40), TIP, (158, 40)), band=box(50, 20, 250, 180))
    (region,) = ground.zone("band").regions
    assert area_mm2(region.area) == pytest.approx(200 * 160 - 16 * 60 / 2)
    assert set(found) == {"dart-ends-within"}


def test_a_zone_that_ends_in_a_dart_is_not_told_where_another_goes_on():
    one, other = area((50, 40), (150, 40), (150, 80), (50, 80)), box(150, 40, 250, 80)
    job = '[pieces.front]\nmake = "single"\n'
    _, found, _ = darts_in(legs(), job=job, one=one, other=other)
    assert found == {}
    _, found, _ = darts_in(legs(), job=job, one=one)
    assert 'dart "bust" over its left leg only' in found["zone-ends-in-dart"].message
    assert found["zone-ends-in-dart"].at_mm == pytest.approx((146.0, 60.0), abs=0.1)


@pytest.mark.parametrize(("away", "told"), [(0.2, False), (0.8, True), (1.5, True), (3.0, False)])
def test_a_zone_that_stops_just_short_of_a_leg_is_told_by_how_much(away, told):
    """The left leg goes from (140, 0) to (150, 100); square off it the zone is nearer by √1.01."""
    job = '[pieces.front]\nmake = "single"\n'
    one = area((50, 20), (142 - away, 20), (148 - away, 80), (50, 80))
    _, found, _ = darts_in(legs(), job=job, one=one)
    assert set(found) == ({"zone-beside-dart"} if told else set())
    if told:
        assert f'left leg of the dart "bust", {away / math.sqrt(1.01):.2f} mm' in (
            found["zone-beside-dart"].message
        )
        assert found["zone-beside-dart"].at_mm == pytest.approx((145 - away, 50), abs=0.2)


@pytest.mark.parametrize("tip", [(150.0, 100.0), (142.0, 100.0), (160.0, 100.0)])
def test_zones_that_lie_at_both_legs_up_to_the_tip_are_beside_none(tip):
    """Near the tip each leg runs within 2 mm of the other for 20 mm."""
    for band in (box(50, 0, 250, 100), box(50, 0, 150, 100), box(50, 0, 250, 180)):
        _, found, _ = darts_in(legs(tip=tip), band=band)
        assert "zone-beside-dart" not in found


def test_a_zone_short_of_the_right_leg_is_told_of_that_leg_alone():
    other = area((160.8, 0), (250, 0), (250, 98), (151, 98))
    job = '[pieces.front]\nmake = "single"\n'
    ground, _, problems = grounded(with_dart(other=other), job)
    assert ground.zone("other").regions[0].area == other
    (problem,) = [p for p in problems if p.code == "zone-beside-dart"]
    assert "right leg" in problem.message
