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
@given(noise=st.lists(st.floats(-0.7, 0.7), min_size=15, max_size=18))
def test_a_curved_edge_traced_twice_comes_out_as_one_line(seam, noise):
    # The chords between 15 points bow off this curve by up to 0.1 mm: 0.8 mm in all.
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
def test_an_overlap_of_a_curved_edge_is_told_at_its_place(seam):
    noise = [0.0] * 15
    noise[7] = -5.0  # to the right of the way up: into the upper zone
    points = traced(seam, noise)
    _, problems = ground_of({"zone lower": [lower(points)], "zone upper": [upper(seam)]})
    (error,) = [p for p in problems if p.severity == "error"]
    assert error.code == "zones-overlap"
    assert math.dist(error.at_mm, points[7]) < 8
