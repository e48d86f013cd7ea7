"""What would spoil the cutting is said before, with its place and its mend."""

from itertools import pairwise

import pytest
from applique_grounds import ground, job, line, piece, region, square_ring, zone

from templater.applique import make_parts
from templater.geometry.measure import path_box
from templater.geometry.moves import reversed_path
from templater.model.ground import Dart, Edge, EdgeKind, Fold, Make
from templater.model.problems import Severity


def problems_of(*zones, made=None):
    return make_parts(ground(made or piece(), *zones), job())[1]


def ring_of(*corners, allowance=0.0):
    around = [*corners, corners[0]]
    return tuple(
        Edge(EdgeKind.FREE, line(a, b), allowance_mm=allowance) for a, b in pairwise(around)
    )


def hole_of(x0, y0, x1, y1, allowance=0.0):
    return tuple(
        Edge(edge.kind, reversed_path(edge.path), allowance_mm=allowance)
        for edge in reversed(square_ring(x0, y0, x1, y1))
    )


def test_a_sound_zone_has_no_problems():
    assert problems_of(zone("box", region(square_ring(0, 0, 90, 90, 5.0)))) == ()


def test_a_spike_is_found_where_it_is():
    needle = zone("needle", region(ring_of((0, 0), (200, 5), (0, 10))))
    (problem,) = problems_of(needle)
    assert problem.code == "spike"
    assert problem.at_mm == (200, 5)
    assert problem.mend


def test_a_spike_with_an_allowance_is_trimmed_at_the_mitre_limit():
    parts, _ = make_parts(
        ground(piece(), zone("needle", region(ring_of((0, 0), (200, 5), (0, 10), allowance=5.0)))),
        job(),
    )
    cut = next(part for part in parts if part.zone).cut
    assert path_box(cut.outline)[2] <= 200 + 4 * 5 + 1e-6


def test_a_doubled_point_is_passed_over_with_a_note():
    ring = ring_of((0, 0), (90, 0), (90, 0.00001), (90, 90), (0, 90), allowance=5.0)
    parts, problems = make_parts(ground(piece(), zone("box", region(ring))), job())
    assert [p.code for p in problems] == ["edge-without-length"]
    assert problems[0].severity is Severity.NOTE
    cut = next(part for part in parts if part.zone).cut
    assert len(cut.outline.segments) == 4


def test_a_hole_on_the_outline_is_refused():
    ring = zone("ring", region(square_ring(0, 0, 90, 90), hole_of(0.0, 20, 30, 50)))
    (problem,) = problems_of(ring)
    assert (problem.code, problem.severity) == ("hole-touches-outline", Severity.ERROR)
    assert problem.at_mm[0] == 0.0


def test_a_hole_that_its_allowance_closes_is_told():
    made = zone("ring", region(square_ring(0, 0, 90, 90, 5.0), hole_of(40, 40, 48, 48, 5.0)))
    codes = {problem.code for problem in problems_of(made)}
    assert "hole-closed" in codes


def test_an_allowance_wider_than_the_zone_is_told():
    strip = zone("strip", region(square_ring(0, 0, 200, 12, 8.0)))
    (problem,) = problems_of(strip)
    assert problem.code == "allowance-too-wide"
    assert "12 mm at its widest" in problem.message


def test_a_fold_that_the_piece_does_not_reach_is_refused():
    made = piece(Make.FOLD, Fold((500.0, 0.0), (500.0, 400.0)))
    (problem,) = problems_of(made=made)
    assert (problem.code, problem.severity) == ("fold-misses-piece", Severity.ERROR)


def test_uneven_dart_legs_are_told_with_the_ease():
    from applique_grounds import SOURCE

    made = piece(darts=(Dart((150, 200), (140, 100), (160, 97), SOURCE),))
    (problem,) = problems_of(made=made)
    assert problem.code == "edges-differ-in-length"
    assert "dart 1" in problem.message
    assert "3 mm (3.0 %)" in problem.message


def test_an_underlap_wider_than_the_zone_above_is_cut_back_and_told():
    strip = (
        Edge(EdgeKind.NEIGHBOUR, line((0, 100), (0, 0)), "lower"),
        Edge(EdgeKind.FREE, line((0, 0), (3, 0), (3, 100), (0, 100))),
    )
    lower = (
        Edge(EdgeKind.NEIGHBOUR, line((0, 0), (0, 100)), "upper", 8.0, visible=False),
        Edge(EdgeKind.FREE, line((0, 100), (-80, 100), (-80, 0), (0, 0))),
    )
    both = ground(piece(), zone("lower", region(lower)), zone("upper", region(strip), level=1))
    parts, (problem,) = make_parts(both, job())
    assert problem.code == "underlap-trimmed"
    assert problem.at_mm[0] == 0.0
    cut = next(part for part in parts if part.id == "applique-lower-left").cut
    assert path_box(cut.outline)[2] == pytest.approx(2.0)  # 1 mm inside the strip's far edge


def test_a_piece_that_falls_apart_inside_its_allowances_is_refused():
    bone = ring_of(
        (0, 0), (60, 0), (60, 45), (140, 45), (140, 0), (200, 0), (200, 100), (140, 100),
        (140, 55), (60, 55), (60, 100), (0, 100), allowance=10.0,
    )  # fmt: skip
    made = piece(outline_is="cut", ring=bone)
    problems = problems_of(made=made)
    assert [problem.code for problem in problems] == ["part-falls-apart"]


def test_a_zone_without_a_piece_is_cut_once():
    from dataclasses import replace

    alone = replace(piece(Make.SINGLE), name="main", area=None, rings=())
    made = replace(zone("box", region(square_ring(0, 0, 90, 90, 5.0))), piece="main")
    parts, problems = make_parts(ground(alone, made), job())
    assert problems == ()
    assert [part.id for part in parts] == ["applique-box-single", "web-box-single"]
