"""Tracing noise on curved shared edges: circular and cubic lines drawn twice by a shaky hand."""

import math

import pytest
from drawings import ground_of
from hypothesis import given, settings
from hypothesis import strategies as st

from templater.geometry.flatten import flatten
from templater.geometry.measure import path_length
from templater.geometry.moves import reversed_segment
from templater.geometry.polygons import polyline, to_polygon
from templater.geometry.walk import tape_along
from templater.model.curves import Arc, Area, Cubic, Line, Path
from templater.model.ground import EdgeKind

CIRCULAR = Arc((50.0, 0.0), (50.0, 100.0), math.tan(math.pi / 8))  # r 50·√2, a quarter circle
CUBIC = Cubic((50.0, 0.0), (64.0, 30.0), (36.0, 70.0), (50.0, 100.0))


def upper(seam):
    # Anticlockwise: up the far side, down the seam.
    segments = [Line((50.0, 0.0), (150.0, 0.0)), Line((150.0, 0.0), (150.0, 100.0)),
                Line((150.0, 100.0), (50.0, 100.0)), reversed_segment(seam)]  # fmt: skip
    return Area(Path(tuple(segments), closed=True))


def traced(seam, noise):
    """The seam by another hand: points along it, each moved square to it by its noise."""
    tape = tape_along(Path((seam,), closed=False))
    count = len(noise) - 1
    points = []
    for k, off in enumerate(noise):
        (x, y), (dx, dy) = tape.at(tape.length_mm * k / count)
        length = math.hypot(dx, dy)
        points.append((x - off * dy / length, y + off * dx / length))
    return points


def lower(points):
    return Area(polyline([(-50.0, 0.0), *points, (-50.0, 100.0)], closed=True))


def edges_between(ground, zone, other):
    return [
        edge
        for region in ground.zone(zone).regions
        for ring in region.rings
        for edge in ring
        if edge.kind is EdgeKind.NEIGHBOUR and edge.name == other
    ]


@pytest.mark.parametrize("seam", [CIRCULAR, CUBIC], ids=["circular", "cubic"])
@settings(max_examples=25, deadline=None)
@given(noise=st.lists(st.floats(-0.8, 0.8), min_size=15, max_size=18))
def test_a_curved_edge_traced_twice_comes_out_as_one_line(seam, noise):
    drawn = upper(seam)
    ground, problems = ground_of(
        {"zone lower": [lower(traced(seam, noise))], "zone upper": [drawn]}
    )
    assert not [p for p in problems if p.severity == "error"]
    (one,), (two,) = (
        edges_between(ground, "lower", "upper"),
        edges_between(ground, "upper", "lower"),
    )
    assert path_length(one.path) == pytest.approx(path_length(two.path), abs=0.001)
    tape = tape_along(Path((seam,), closed=False))
    assert max(tape.foot(at).away_mm for at in flatten(one.path, 0.005)) < 0.02
    assert path_length(one.path) == pytest.approx(tape.length_mm, abs=2.0)
    zones = [
        to_polygon(region.area, 0.001)
        for name in ("lower", "upper")
        for region in ground.zone(name).regions
    ]
    assert zones[0].intersection(zones[1]).area < 0.5


@pytest.mark.parametrize("seam", [CIRCULAR, CUBIC], ids=["circular", "cubic"])
@settings(max_examples=25, deadline=None)
@given(
    below=st.lists(st.floats(-0.8, 0.8), min_size=15, max_size=18),
    above=st.lists(st.floats(-0.8, 0.8), min_size=15, max_size=18),
)
def test_an_edge_of_which_both_lines_are_shaky_comes_out_as_one(seam, below, above):
    """Each line is off by up to 0.8 mm: they run up to 1.6 mm apart, and cross."""
    first, *rest = traced(seam, above)
    shaky = Area(polyline([first, (150.0, 0.0), (150.0, 100.0), *reversed(rest)], closed=True))
    ground, problems = ground_of(
        {"zone lower": [lower(traced(seam, below))], "zone upper": [shaky]}
    )
    assert not [p for p in problems if p.severity == "error"]
    (one,), (two,) = (
        edges_between(ground, "lower", "upper"),
        edges_between(ground, "upper", "lower"),
    )
    common = tape_along(one.path)
    apart = [common.foot(at).away_mm for at in flatten(two.path, 0.005)]
    assert max(apart) < 1.7  # beyond the ends, where corners differ
    assert sorted(apart)[int(0.9 * len(apart))] < 0.005
    assert path_length(one.path) == pytest.approx(path_length(two.path), abs=2 * 1.7)


@pytest.mark.parametrize("seam", [CIRCULAR, CUBIC], ids=["circular", "cubic"])
def test_lines_that_keep_more_than_1_mm_apart_are_left_and_told_at_their_place(seam):
    points = traced(seam, [1.3] * 40)  # to the left of the way up: a gap all along
    ground, problems = ground_of({"zone lower": [lower(points)], "zone upper": [upper(seam)]})
    (warning,) = [p for p in problems if p.code == "zones-gap"]
    assert "1.30 mm" in warning.message
    assert min(math.dist(warning.at_mm, at) for at in points) < 2.0
    assert edges_between(ground, "lower", "upper") == []


@pytest.mark.parametrize("seam", [CIRCULAR, CUBIC], ids=["circular", "cubic"])
def test_an_overlap_of_a_curved_edge_is_told_at_its_place(seam):
    noise = [0.0] * 15
    noise[7] = -5.0  # to the right of the way up: into the upper zone
    points = traced(seam, noise)
    _, problems = ground_of({"zone lower": [lower(points)], "zone upper": [upper(seam)]})
    (error,) = [p for p in problems if p.severity == "error"]
    assert error.code == "zones-overlap"
    assert math.dist(error.at_mm, points[7]) < 8
