"""Frames that turn with their shape, and steps along lines by chord."""

import math
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from templater.geometry.chords import chord_steps, even_ring
from templater.geometry.pose import inverse, pose_of
from templater.model.curves import Transform

SHAPE = ((0.0, 0.0), (50.0, 0.0), (55.0, 12.0), (20.0, 30.0), (3.0, 18.0))
HOLE = ((20.0, 8.0), (20.0, 14.0), (30.0, 12.0))


@settings(deadline=None, max_examples=100)
@given(st.floats(0.0, 6.28), st.booleans(), st.floats(-500.0, 500.0), st.floats(-500.0, 500.0))
def test_a_moved_shape_has_the_same_frame(turn, mirror, dx, dy):
    flip = -1.0 if mirror else 1.0
    cosine, sine = math.cos(turn), math.sin(turn)
    move = Transform(cosine * flip, sine * flip, -sine, cosine, dx, dy)
    # A drawing's rings keep the zone on their left: the mirror image is run the other way.
    moved = [tuple(map(move.apply, ring))[:: -1 if mirror else 1] for ring in (SHAPE, HOLE)]
    here, there = pose_of((SHAPE, HOLE)), pose_of(moved)
    for point in (*SHAPE, *HOLE):
        assert there.apply(move.apply(point)) == pytest.approx(here.apply(point), abs=1e-7)


def test_the_way_back():
    pose = pose_of((SHAPE, HOLE))
    assert abs(pose.determinant) == pytest.approx(1.0)
    for point in SHAPE:
        assert inverse(pose).apply(pose.apply(point)) == pytest.approx(point, abs=1e-10)
    with pytest.raises(ValueError, match="no way back"):
        inverse(Transform(a=0.0))


def test_shapes_without_area_stay():
    assert pose_of((((1.0, 2.0), (3.0, 2.0), (1.0, 2.0)),)) == Transform()


def test_steps_are_straight_from_point_to_point():
    line = tuple((10.0 * math.cos(t / 50.0), 10.0 * math.sin(t / 50.0)) for t in range(200))
    points = chord_steps(line, 3.0)
    assert [math.dist(a, b) for a, b in pairwise(points)] == pytest.approx(
        [3.0] * (len(points) - 1)
    )
    # A chord of 3 at radius 10 spans 2·asin(0.15) = 0.3011; 3.98 rad of arc hold 13 of them.
    assert len(points) == 14
    with pytest.raises(ValueError, match="positive"):
        chord_steps(line, 0.0)


@settings(deadline=None, max_examples=50)
@given(st.floats(0.5, 9.0))
def test_rings_are_stepped_evenly(pitch):
    ring = tuple((20.0 * math.cos(t / 100.0), 20.0 * math.sin(t / 100.0)) for t in range(628))
    points = even_ring(ring, pitch)
    apart = [math.dist(points[i - 1], points[i]) for i in range(len(points))]
    assert min(apart) >= pitch - 1e-6
    most = math.pi / math.asin(pitch / 40.0)
    assert len(points) >= math.floor(most) - 1
    assert max(apart) <= pitch * (1.0 + 2.0 / len(points))
