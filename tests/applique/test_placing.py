"""Placing points lead back to where the appliqué was drawn, with a tape measure alone."""

import math

import pytest
from applique_grounds import ground, job, leaf_ring, piece, reference, region, square_ring, zone

from templater.applique import make_parts, placement
from templater.geometry.walk import tape_along
from templater.model.curves import Cubic, Path
from templater.model.ground import Fold, Make, Reference

TOP = reference("top", (0, 400), (300, 400))
HEM = reference("hem", (0, 0), (300, 0))


def test_the_tip_is_first_and_there_are_three_points():
    points, problems = placement(
        ground(piece(), zone("frond", region(leaf_ring(at=(20, 200)))), references=(TOP, HEM))
    )
    assert problems == ()
    assert len(points) == 3
    assert points[0].name == "tip"
    assert points[0].at in {(20.0, 200.0), (220.0, 200.0)}


def test_distances_are_along_and_square_to_the_edge():
    points, _ = placement(
        ground(piece(), zone("box", region(square_ring(30, 50, 100, 90))), references=(TOP, HEM))
    )
    for point in points:
        by_edge = {measure.edge: measure for measure in point.measures}
        assert by_edge["hem"].along_mm == pytest.approx(point.at[0])
        assert by_edge["hem"].square_mm == pytest.approx(point.at[1])
        assert by_edge["top"].square_mm == pytest.approx(400 - point.at[1])
    assert [measure.edge for measure in points[0].measures] == ["hem", "top"]


def test_a_curved_edge_is_measured_along_the_curve_and_leads_back_to_the_point():
    curve = Path((Cubic((0, 400), (80, 300), (220, 300), (300, 400)),), closed=False)
    neck = Reference("neck", "front", curve, TOP.source)
    points, _ = placement(
        ground(piece(), zone("frond", region(leaf_ring(at=(40, 200)))), references=(neck,))
    )
    tape = tape_along(curve)
    for point in points:
        (measure,) = point.measures
        if not 0.0 < measure.along_mm < tape.length_mm:
            continue
        foot, (dx, dy) = tape.at(measure.along_mm)
        back = (foot[0] + measure.square_mm * dy, foot[1] - measure.square_mm * dx)
        assert math.dist(back, point.at) < 0.25  # a tape measure reads half a millimetre


def test_a_folded_piece_is_measured_from_its_fold():
    made = piece(Make.FOLD, Fold((300.0, 0.0), (300.0, 400.0)))
    points, _ = placement(
        ground(made, zone("box", region(square_ring(30, 50, 100, 90))), references=(HEM,))
    )
    for point in points:
        assert point.measures[0].from_at == (300.0, 0.0)
        assert point.measures[0].along_mm == pytest.approx(300.0 - point.at[0])


def test_a_point_beside_an_edges_end_is_measured_from_one_it_lies_square_to():
    short = reference("near", (200, 40), (300, 40))
    points, _ = placement(
        ground(piece(), zone("box", region(square_ring(30, 50, 100, 90))), references=(short, TOP))
    )
    assert all(point.measures[0].edge == "top" for point in points)


def test_without_finished_edges_a_note_says_what_to_draw():
    made = ground(piece(), zone("frond", region(leaf_ring(at=(20, 200)))), references=())
    points, problems = placement(made)
    assert points == ()
    assert [problem.code for problem in problems] == ["no-edge-to-measure-from"]
    assert "edge top" in problems[0].mend


def test_a_round_zone_has_three_points_well_apart():
    from templater.geometry.polygons import circle
    from templater.model.ground import Edge, EdgeKind

    ring = (Edge(EdgeKind.FREE, circle((150.0, 200.0), 80.0)),)
    points, _ = placement(ground(piece(), zone("moon", region(ring)), references=(HEM,)))
    apart = [math.dist(a.at, b.at) for i, a in enumerate(points) for b in points[:i]]
    assert len(points) == 3
    assert min(apart) > 40.0


def test_the_points_travel_with_the_part():
    made = ground(piece(), zone("frond", region(leaf_ring(at=(20, 200)))), references=(TOP, HEM))
    parts, _ = make_parts(made, job())
    by_id = {part.id: part for part in parts}
    assert by_id["applique-frond-left"].placing == placement(made)[0]
    assert by_id["web-frond-left"].placing == ()
