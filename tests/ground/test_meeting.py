"""Hand tracing leaves slivers and overlaps: zones that meet get one common line."""

import math

import pytest
from drawings import box, codes, ground_of, line
from hypothesis import given, settings
from hypothesis import strategies as st

from templater.geometry.flatten import flatten
from templater.geometry.measure import path_length
from templater.geometry.polygons import polyline, to_polygon
from templater.model.curves import Area, Cubic, Line, Path
from templater.model.ground import EdgeKind


def shared(ground, zone, other):
    edges = [e for region in ground.zone(zone).regions for ring in region.rings for e in ring]
    return [e for e in edges if e.kind is EdgeKind.NEIGHBOUR and e.name == other]


def polygon(ground, zone):
    (region,) = ground.zone(zone).regions
    return to_polygon(region.area, 0.001)


def wobbly_pair(offsets):
    """Two zones along x = 50, each traced by its own hand: the upper straight, the lower wobbly."""
    count = len(offsets) - 1
    seam = [(50 + d, 100 * k / count) for k, d in enumerate(offsets)]
    lower = Area(polyline([(0, 0), *seam, (0, 100)], closed=True))
    return {"zone lower": [lower], "zone upper": [box(50, 0, 100, 100)]}


@settings(max_examples=25, deadline=None)
@given(st.lists(st.floats(-0.8, 0.8), min_size=4, max_size=12))
def test_edges_jittered_by_up_to_0_8_mm_come_out_as_one_line(offsets):
    ground, problems = ground_of(wobbly_pair(offsets))
    assert not [p for p in problems if p.severity == "error"]
    (lower,), (upper,) = shared(ground, "lower", "upper"), shared(ground, "upper", "lower")
    assert path_length(lower.path) == pytest.approx(path_length(upper.path), abs=0.001)
    assert all(abs(x - 50) < 1e-6 for x, _ in flatten(lower.path, 0.01))
    assert polygon(ground, "lower").intersection(polygon(ground, "upper")).area < 1e-6
    assert polygon(ground, "lower").union(polygon(ground, "upper")).area == pytest.approx(
        10000, abs=1
    )


def test_what_was_closed_is_told_with_its_width_and_place():
    _, problems = ground_of(wobbly_pair([0, -0.6, 0.1, 0]))
    (note,) = [p for p in problems if p.code == "sliver-closed"]
    assert "0.60 mm" in note.message
    assert note.at_mm == pytest.approx((50, 100 / 3), abs=1)


def test_an_overlap_beyond_the_tolerance_is_reported_at_its_place():
    _, problems = ground_of(wobbly_pair([0, 0, 4, 0, 0]))
    (error,) = [p for p in problems if p.severity == "error"]
    assert error.code == "zones-overlap"
    assert error.at_mm == pytest.approx((51.5, 50), abs=12)


def test_a_gap_beyond_the_tolerance_is_reported_at_its_place():
    _, problems = ground_of(
        {"zone lower": [box(0, 0, 48.5, 100)], "zone upper": [box(50, 0, 100, 100)]}
    )
    (warning,) = [p for p in problems if p.code == "zones-gap"]
    assert "1.50 mm" in warning.message
    assert 48.4 <= warning.at_mm[0] <= 50.1


def test_curves_stay_curves_on_the_common_line():
    bow = Cubic((50, 0), (60, 30), (40, 70), (50, 100))
    upper = Area(
        Path((Line((100, 0), (100, 100)), Line((100, 100), (50, 100)),
              Cubic((50, 100), (40, 70), (60, 30), (50, 0)), Line((50, 0), (100, 0))), closed=True)
    )  # fmt: skip
    traced = [
        (x + 0.3 * math.sin(7 * k), y)
        for k, (x, y) in enumerate(flatten(Path((bow,), False), 0.05))
    ]
    lower = Area(polyline([(0, 0), *traced, (0, 100)], closed=True))
    ground, _ = ground_of({"zone lower": [lower], "zone upper": [upper]})
    (edge,) = shared(ground, "lower", "upper")
    assert [type(segment) for segment in edge.path.segments] == [Cubic]


def test_lines_that_part_gently_are_left_as_they_were_drawn():
    """The pod and the frond of the demo run along one curve and leave each other at a tangent."""
    stem = Cubic((0, 0), (0, 30), (0, 60), (0, 100))
    right = Area(
        Path((Line((60, 200), (0, 100)), Cubic((0, 100), (0, 60), (0, 30), (0, 0)),
              Line((0, 0), (60, 0)), Line((60, 0), (60, 200))), closed=True)
    )  # fmt: skip
    left = Area(
        Path((stem, Cubic((0, 100), (0, 130), (-20, 170), (-40, 200)), Line((-40, 200), (-40, 0)),
              Line((-40, 0), (0, 0))), closed=True)
    )  # fmt: skip
    right = Area(
        Path(
            (*right.outline.segments[1:], Cubic((60, 200), (20, 190), (0, 130), (0, 100))),
            closed=True,
        )
    )
    ground, problems = ground_of({"zone left": [left], "zone right": [right]})
    assert codes(problems) == []
    assert polygon(ground, "left").area == pytest.approx(to_polygon(left, 0.001).area, abs=0.01)


def test_a_zone_beside_the_fold_is_laid_onto_it():
    ground, problems = ground_of(
        {
            "piece front": [box(0, 0, 100, 100)],
            "fold": [line((0, 0), (0, 100))],
            "zone a": [Area(polyline([(0.4, 20), (50, 20), (50, 80), (0.2, 80)], closed=True))],
        },
        '[pieces.front]\nmake = "fold"',
    )
    assert codes(problems) == ["sliver-closed"]
    (region,) = ground.zone("a").regions
    (edge,) = [e for e in region.rings[0] if e.kind is EdgeKind.FOLD]
    assert {x for x, _ in flatten(edge.path, 0.01)} == {0.0}


def test_a_zone_inside_a_hole_of_another_shares_the_whole_ring():
    from templater.geometry.moves import reversed_path

    inner, rough = box(30, 30, 60, 60), box(29.6, 30.3, 60.2, 60.4)
    outer = Area(box(0, 0, 100, 100).outline, (reversed_path(rough.outline),))
    ground, _ = ground_of({"zone outer": [outer], "zone inner": [inner]})
    assert polygon(ground, "outer").area == pytest.approx(10000 - 900, abs=0.01)
    (edge,) = shared(ground, "outer", "inner")
    assert edge.path.closed


def test_zones_that_overlap_are_not_told_to_run_apart_as_well():
    _, problems = ground_of(
        {"zone a": [box(60, 150, 140, 240)], "zone b": [box(120, 100, 170, 160)]}
    )
    told = codes(problems)
    assert "zones-overlap" in told
    assert "zones-gap" not in told


def test_many_zones_far_apart_are_compared_with_their_neighbours_only():
    layers = {f"zone {k}": [box(10 * k, 0, 10 * k + 8.5, 50)] for k in range(6)}
    _, problems = ground_of(layers)
    assert codes(problems).count("zones-gap") == 5
