from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from templater.geometry.clearance import depths, free_stretches, inside_rings, point_to_segment

near = st.floats(-20, 20)
points = st.tuples(near, near)


def by_sampling(at, a, b):
    return min(
        math.dist(at, (a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])))
        for t in np.linspace(0, 1, 2001).tolist()
    )


@given(points, points, points)
def test_distance_to_a_straight_bit(at, a, b):
    found = point_to_segment(at, a, b)
    sampled = by_sampling(at, a, b)
    assert found <= sampled + 1e-9
    assert sampled - found <= math.dist(a, b) / 2000


@settings(deadline=None, max_examples=80)
@given(
    st.lists(st.tuples(points, points), min_size=1, max_size=4),
    st.lists(st.tuples(points, points, st.floats(0.1, 8)), max_size=6),
)
def test_free_stretches_are_all_that_is_outside_every_capsule(lines, capsules):
    rows = np.array([(*a, *b) for a, b in lines])
    shapes = np.array([(*a, *b, r) for a, b, r in capsules]).reshape(-1, 5)
    stretches, owners = free_stretches(rows, shapes)
    for k, (a, b) in enumerate(lines):
        length = math.dist(a, b)
        if length < 1e-3:
            continue
        mine = [
            s for s, owner in zip(stretches.tolist(), owners.tolist(), strict=True) if owner == k
        ]
        spans = [(math.dist(a, s[:2]), math.dist(a, s[2:])) for s in mine]
        for t in np.linspace(0, 1, 57).tolist():
            at = (a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1]))
            room = min((point_to_segment(at, p, q) - r for p, q, r in capsules), default=1.0)
            covered = any(low - 1e-6 <= t * length <= high + 1e-6 for low, high in spans)
            if room > 1e-4:
                assert covered
            if room < -1e-4:
                assert not any(low + 1e-6 < t * length < high - 1e-6 for low, high in spans)


def test_a_line_that_only_touches_a_capsule_is_free():
    stretches, _ = free_stretches(
        np.array([[0.0, 2.0, 10.0, 2.0]]), np.array([[3.0, 0.0, 7.0, 0.0, 2.0]])
    )
    assert stretches.tolist() == [[0.0, 2.0, 10.0, 2.0]]


def test_a_line_through_a_disc_is_cut_at_its_rim():
    # A chord at height 3 of a circle of radius 5 is 8 long.
    stretches, owners = free_stretches(
        np.array([[-10.0, 3.0, 10.0, 3.0]]), np.array([[0.0, 0.0, 0.0, 0.0, 5.0]])
    )
    assert stretches == pytest.approx(np.array([[-10, 3, -4, 3], [4, 3, 10, 3]]), abs=1e-6)
    assert owners.tolist() == [0, 0]


@given(st.lists(points, min_size=1, max_size=5), points, points, st.floats(0.1, 6))
def test_depth_is_radius_less_distance(where, a, b, radius):
    # Only points near a capsule are measured, as nothing else asks for the rest.
    found = depths(np.array(where), np.array([[*a, *b, radius]]))
    for at, depth in zip(where, found.tolist(), strict=True):
        true = radius - point_to_segment(at, a, b)
        if true > 0:
            assert depth == pytest.approx(true, abs=1e-9)
        else:
            assert depth <= 1e-9


def test_inside_is_even_odd():
    outer = ((0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0))
    hole = ((4.0, 4.0), (4.0, 6.0), (6.0, 6.0), (6.0, 4.0))
    assert inside_rings((1.0, 1.0), (outer, hole))
    assert not inside_rings((5.0, 5.0), (outer, hole))
    assert not inside_rings((11.0, 5.0), (outer, hole))
