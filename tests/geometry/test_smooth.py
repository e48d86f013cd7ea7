"""Arcs and cubics in place of curves: within the tolerance, smooth where the curve is."""

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from offset_truth import distance_and_place

from templater.geometry.flatten import flatten
from templater.geometry.smooth import arcs_of, biarc, cubic_point, end_direction, start_direction
from templater.geometry.smooth_fit import cubics_along
from templater.model.curves import Arc, Cubic, Line, Path

POINTS = st.tuples(st.integers(-150, 150), st.integers(-150, 150))
CUBICS = st.builds(Cubic, POINTS, POINTS, POINTS, POINTS)


def bend(a, b):
    """The turn in radians between the end of one segment and the start of the next."""
    (ax, ay), (bx, by) = end_direction(a), start_direction(b)
    return math.atan2(ax * by - ay * bx, ax * bx + ay * by)


@settings(max_examples=80, deadline=None)
@given(CUBICS, st.sampled_from([0.001, 0.02, 0.2]))
def test_arcs_keep_within_the_tolerance_of_a_bezier(cubic, tolerance):
    assume(len({cubic.start, cubic.control1, cubic.control2, cubic.end}) == 4)
    arcs = arcs_of(Path((cubic,), closed=False), tolerance)
    assert (arcs.start, arcs.end) == (cubic.start, cubic.end)
    on_arcs = np.asarray(flatten(arcs, tolerance / 5))
    apart, _ = distance_and_place(on_arcs, cubic, probes=301, branches=4)
    assert apart.max() <= tolerance
    back = np.min(
        [
            distance_and_place([cubic_point(cubic, t) for t in np.linspace(0, 1, 101)], s)[0]
            for s in arcs.segments
        ],
        axis=0,
    )
    assert back.max() <= tolerance


@st.composite
def gentle_cubics(draw):
    """Béziers whose control polygon turns by no more than 75° at either knee."""
    turn, points = 0.0, [(0.0, 0.0)]
    for _ in range(3):
        turn += math.radians(draw(st.integers(-75, 75)))
        leg = draw(st.integers(10, 120))
        x, y = points[-1]
        points.append((x + leg * math.cos(turn), y + leg * math.sin(turn)))
    return Cubic(*points)


@settings(max_examples=120, deadline=None)
@given(gentle_cubics())
def test_arcs_join_without_corners(cubic):
    arcs = arcs_of(Path((cubic,), closed=False), 0.01).segments
    for a, b in pairwise(arcs):
        assert abs(bend(a, b)) < 1e-5
    assert abs(bend(cubic_as_line(cubic, start=True), arcs[0])) < 1e-6
    assert abs(bend(arcs[-1], cubic_as_line(cubic, start=False))) < 1e-6


def cubic_as_line(cubic, *, start):
    dx, dy = start_direction(cubic) if start else end_direction(cubic)
    return Line((0.0, 0.0), (dx, dy))


def test_lines_and_arcs_are_kept_and_a_straight_bezier_is_a_line():
    path = Path(
        (
            Line((0, 0), (50, 0)),
            Arc((50, 0), (50, 40), 1.0),
            Cubic((50, 40), (40, 40), (20, 40), (0, 40)),
            Line((0, 40), (0, 0)),
        ),
        closed=True,
    )
    assert arcs_of(path, 0.01).segments == (
        *path.segments[:2],
        Line((50, 40), (0, 40)),
        path.segments[3],
    )


def test_a_biarc_between_parallel_tangents_is_two_equal_arcs():
    first, second = biarc((0, 0), (1, 0), (60, 20), (1, 0))
    assert math.dist(first.end, (30, 10)) < 1e-12
    assert first.bulge == pytest.approx(-second.bulge)


def test_there_is_no_biarc_for_a_hairpin():
    assert biarc((0, 0), (1, 0), (-10, 0), (1, 0)) == ()


@settings(max_examples=60, deadline=None)
@given(gentle_cubics(), st.sampled_from([0.01, 0.1]))
def test_a_chain_of_arcs_becomes_cubics_within_the_tolerance(cubic, tolerance):
    chain = arcs_of(Path((cubic,), closed=False), 0.0005).segments
    found = cubics_along(chain, tolerance)
    assert (found[0].start, found[-1].end) == (chain[0].start, chain[-1].end)
    assert len(found) <= max(4, len(chain) // 3)
    points = flatten(Path(found, closed=False), 0.0005)
    apart, _ = distance_and_place(points, cubic)
    assert apart.max() <= tolerance + 0.0005


def test_a_whole_bezier_comes_back_as_one():
    cubic = Cubic((0, 0), (60, -40), (140, -40), (200, 0))
    chain = arcs_of(Path((cubic,), closed=False), 0.0005).segments
    (found,) = cubics_along(chain, 0.01)
    assert found.control1 == pytest.approx(cubic.control1, abs=0.3)
    assert found.control2 == pytest.approx(cubic.control2, abs=0.3)


def test_a_tolerance_must_be_positive():
    with pytest.raises(ValueError, match="positive"):
        arcs_of(Path((Line((0, 0), (1, 0)),), closed=False), 0.0)
