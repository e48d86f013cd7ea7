"""Stretches of curves on one side of a line: the same curve, no more and no less of it."""

import math

import pytest

from templater.geometry.beside import side_of, stretches_beside
from templater.geometry.flatten import flatten
from templater.geometry.measure import path_length
from templater.geometry.polygons import circle, polyline, rectangle
from templater.model.curves import Arc

UP = ((0.0, 0.0), (0.0, 1.0))


def test_left_of_the_line_is_above_zero():
    assert side_of((-3.0, 7.0), *UP) == 3.0
    assert side_of((2.0, -1.0), *UP) == -2.0


@pytest.mark.parametrize("x", [-6.0, -0.5, 0.0, 3.0, 9.9])
def test_a_circle_is_cut_into_two_arcs_as_long_as_their_angle(x):
    ring = circle((x, 5.0), 20.0)
    (left,) = stretches_beside(ring, *UP, 1.0)
    (right,) = stretches_beside(ring, *UP, -1.0)
    assert path_length(right) == pytest.approx(20.0 * (math.pi - math.acos(x / 10.0)), abs=1e-6)
    assert path_length(left) + path_length(right) == pytest.approx(20.0 * math.pi, abs=1e-6)
    assert path_length(left) == pytest.approx(20.0 * math.acos(x / 10.0), abs=1e-6)
    assert all(isinstance(segment, Arc) for segment in (*left.segments, *right.segments))
    for part, way in ((left, 1.0), (right, -1.0)):
        assert all(side_of(at, *UP) * way > -1e-6 for at in flatten(part, 0.01))


def test_what_runs_along_the_line_is_on_neither_side():
    ring = rectangle(0.0, 0.0, 10.0, 4.0)
    (right,) = stretches_beside(ring, *UP, -1.0)
    assert path_length(right) == pytest.approx(24.0)
    assert {right.start, right.end} == {(0.0, 0.0), (0.0, 4.0)}
    assert stretches_beside(ring, *UP, 1.0) == ()


def test_a_ring_wholly_on_a_side_stays_whole():
    ring = circle((30.0, 0.0), 10.0)
    assert stretches_beside(ring, *UP, -1.0) == (ring,)
    assert stretches_beside(ring, *UP, 1.0) == ()


def test_an_open_line_that_crosses_twice_comes_in_stretches():
    zigzag = polyline([(-5, 0), (5, 10), (-5, 20)], closed=False)
    first, last = stretches_beside(zigzag, *UP, 1.0)
    assert (first.start, last.end) == ((-5, 0), (-5, 20))
    (right,) = stretches_beside(zigzag, *UP, -1.0)
    assert right.start == pytest.approx((0.0, 5.0))
    assert right.end == pytest.approx((0.0, 15.0))
