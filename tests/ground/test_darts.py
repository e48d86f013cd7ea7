"""Zones across a dart lose its wedge; where they run round its tip they are parted beyond it."""

import math

import pytest
from dart_drawings import LEG, PLAIN, RIGHT, THETA, TIP, area, box, fan, grounded, legs, with_dart

from templater.geometry.measure import area_mm2, path_length
from templater.geometry.polygons import circle, polyline
from templater.model.curves import Arc, Area
from templater.model.ground import EdgeKind


def dart_edges(region):
    return [edge for ring in region.rings for edge in ring if edge.kind is EdgeKind.DART]


def band_of(layers, job=PLAIN):
    ground, _, problems = grounded(layers, job)
    return ground.zone("band").regions, [problem.code for problem in problems]


def test_a_band_below_the_tip_comes_in_two_halves_without_the_wedge():
    regions, found = band_of(with_dart(band=box(50, 40, 250, 80)))
    assert [area_mm2(region.area) for region in regions] == pytest.approx([3840.0, 3840.0])
    for region in regions:
        (edge,) = dart_edges(region)
        assert (edge.name, edge.visible, edge.allowance_mm) == ("bust", False, 0.0)
        assert path_length(edge.path) == pytest.approx(40.0 * LEG, abs=1e-9)
    assert found == []


def test_curves_stay_curves_beside_a_dart():
    """A band between arcs about the tip: each half has its share of both arcs, as arcs."""
    regions, _ = band_of(with_dart(band=fan(TIP, 30.0, 70.0, -2.4, -0.8)))
    left, right = sorted(regions, key=lambda region: region.area.outline.start)
    half = THETA / 2.0
    for region, turn in ((left, 2.4 - math.pi / 2 - half), (right, math.pi / 2 - half - 0.8)):
        assert area_mm2(region.area) == pytest.approx(turn / 2 * (70.0**2 - 30.0**2), abs=1e-6)
        arcs = [s for s in region.area.outline.segments if isinstance(s, Arc)]
        assert len(arcs) == 2
        assert len(region.area.outline.segments) == 4


def test_a_zone_round_the_tip_is_parted_along_the_middle_line_beyond_it():
    regions, _ = band_of(with_dart(band=box(50, 0, 250, 180)))
    assert [area_mm2(region.area) for region in regions] == pytest.approx([17500.0, 17500.0])
    for region in regions:
        (edge,) = dart_edges(region)
        assert path_length(edge.path) == pytest.approx(100.0 * LEG + 80.0, abs=1e-9)


def test_a_ring_round_the_tip_is_parted_too():
    ring = Area(circle(TIP, 120.0), (polyline(_clockwise(), closed=True),))
    regions, _ = band_of(with_dart(band=ring))
    assert len(regions) == 2
    assert all(len(dart_edges(region)) == 2 for region in regions)


def _clockwise():
    turns = [2 * math.pi * k / 90 for k in range(90)]
    return [(TIP[0] + 30 * math.cos(t), TIP[1] - 30 * math.sin(t)) for t in turns]


def test_a_zone_above_the_tip_is_left_alone():
    regions, _ = band_of(with_dart(band=box(50, 101, 250, 180)))
    assert len(regions) == 1
    assert dart_edges(regions[0]) == []
    assert regions[0].area == box(50, 101, 250, 180)


def test_a_zone_drawn_up_to_one_leg_ends_there_and_shows_its_edge():
    shape = area((50, 0), (140, 0), (148, 80), (50, 80))
    regions, found = band_of(with_dart(band=shape))
    (edge,) = dart_edges(regions[0])
    assert edge.visible
    assert regions[0].area == shape
    assert found == []


def test_a_zone_that_ends_within_the_wedge_is_cut_at_the_leg_and_told():
    regions, found = band_of(with_dart(band=box(50, 20, 147, 50)))
    assert found == ["zone-ends-in-dart"]
    # The left leg runs from x = 142 at y = 20 to x = 145 at y = 50.
    assert area_mm2(regions[0].area) == pytest.approx(30.0 * (92.0 + 95.0) / 2.0)


def test_a_zone_within_the_wedge_is_refused():
    _, _, found = grounded(with_dart(band=area((148, 10), (152, 10), (150, 40))))
    assert "zone-inside-dart" in [problem.code for problem in found]


def test_a_piece_drawn_with_its_dart_cut_out_takes_a_zone_across_it():
    front = area((0, 0), (140, 0), TIP, RIGHT, (300, 0), (300, 400), (0, 400))
    regions, found = band_of(with_dart(piece=front, band=box(50, 40, 250, 80)))
    assert [area_mm2(region.area) for region in regions] == pytest.approx([3840.0, 3840.0])
    assert found == []


def test_an_allowance_may_be_asked_for_by_the_darts_name():
    job = "[zones.band]\nallowance = 5\nedges = { bust = 6 }\n"
    regions, found = band_of(with_dart(band=box(50, 0, 250, 180)), job)
    assert {edge.allowance_mm for region in regions for edge in dart_edges(region)} == {6.0}
    assert "unknown-edge" not in found


def test_darts_of_a_piece_have_names_of_their_own():
    layers = with_dart(band=box(20, 40, 280, 80))
    layers["dart"] = [legs((55, 0), (60, 90), (65, 0)), legs((235, 0), (240, 90), (245, 0))]
    ground, _, _ = grounded(layers)
    assert [dart.name for dart in ground.piece("front").darts] == ["bust", "dart", "dart-2"]
    assert len(ground.zone("band").regions) == 4


@pytest.mark.parametrize("right", [(140.1, 0.0), (150.0, 100.0), (180.0, 180.0)])
def test_a_dart_without_a_width_or_wider_than_it_can_be_closed_is_refused(right):
    _, _, found = grounded(with_dart(legs(right=right), band=box(50, 40, 250, 80)))
    assert "dart-not-a-wedge" in [problem.code for problem in found]


def test_neighbours_across_a_dart_keep_their_common_line():
    ground, _, _ = grounded(with_dart(band=box(50, 40, 250, 60), cap=box(50, 60, 250, 80)))
    for zone, other in (("band", "cap"), ("cap", "band")):
        for region in ground.zone(zone).regions:
            names = [edge.name for edge in region.rings[0] if edge.kind is EdgeKind.NEIGHBOUR]
            assert names == [other]


def test_rows_across_a_dart_keep_off_its_wedge():
    layers = with_dart(band=box(50, 140, 250, 180))
    layers["row spine"] = [polyline([(40, 30), (260, 30)], closed=False)]
    ground, _, _ = grounded(layers, PLAIN + "[rows.spine]\ngap = 0.6\n")
    (keep,) = [each for each in ground.keep_clear if each.role == "dart"]
    assert keep.reach_mm == pytest.approx(0.3)
