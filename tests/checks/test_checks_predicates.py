"""The checks' own predicates, against brute force and closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from templater.checks.flat import FLAT_MM, area_segments, inverse, path_points, shortened
from templater.checks.nearby import Lines, inside, near_pairs
from templater.checks.outlines import convex_distance, outlines, unit_outline
from templater.model.curves import Arc, Area, Cubic, Line, Path, Transform
from templater.model.stones import StoneShape

NUMBER = st.integers(-500, 500).map(lambda n: n / 10)
SPOTS = st.lists(st.tuples(NUMBER, NUMBER), max_size=40)


def points(spots) -> np.ndarray:
    return np.array(spots, dtype=np.float64).reshape(len(spots), 2)


def area(ring) -> float:
    x, y = ring[:, 0], ring[:, 1]
    return float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y) / 2)


@settings(deadline=None, max_examples=80)
@given(SPOTS, SPOTS, st.sampled_from([0.1, 1.0, 7.3, 200.0]))
def test_near_pairs_are_all_pairs_within_reach(one, other, radius) -> None:
    a, b = points(one), points(other)
    i, j = near_pairs(a, b, radius)
    found = set(zip(i.tolist(), j.tolist(), strict=True))
    assert len(found) == len(i)
    squares = {
        (p, q): (a[p][0] - b[q][0]) ** 2 + (a[p][1] - b[q][1]) ** 2
        for p in range(len(a))
        for q in range(len(b))
    }
    assert found == {pair for pair, square in squares.items() if square <= radius * radius}


@settings(deadline=None, max_examples=60)
@given(st.lists(st.tuples(NUMBER, NUMBER), min_size=3, max_size=12), SPOTS)
def test_inside_is_an_odd_number_of_crossings(ring, spots) -> None:
    corners, at = points(ring), points(spots) + 0.0123  # never at a corner's height
    segments = np.hstack([corners, np.roll(corners, -1, axis=0)])
    found = inside(at, segments, slab_mm=3.0)
    for (x, y), answer in zip(at, found, strict=True):
        crossings = 0
        for x0, y0, x1, y1 in segments:
            if (y0 <= y) != (y1 <= y) and x < x0 + (y - y0) / (y1 - y0) * (x1 - x0):
                crossings += 1
        assert bool(answer) is (crossings % 2 == 1)


@settings(deadline=None, max_examples=60)
@given(st.lists(st.tuples(NUMBER, NUMBER, NUMBER, NUMBER), min_size=1, max_size=8), SPOTS)
def test_distances_from_lines_are_the_least_of_all(rows, spots) -> None:
    segments, at = np.array(rows, dtype=np.float64), points(spots)
    found = Lines(segments).distance(at, 30.0)
    for (x, y), far in zip(at, found, strict=True):
        steps = np.linspace(0.0, 1.0, 2001)[:, None]
        along = segments[:, None, :2] + steps * (segments[:, None, 2:] - segments[:, None, :2])
        least = float(np.hypot(along[..., 0] - x, along[..., 1] - y).min())
        if least > 30.1:
            assert math.isinf(far)
        elif least < 29.9:
            assert far <= least + 1e-9
            assert far >= least - 0.04  # half a step of the longest segment


def test_shortened_segments_make_up_the_whole() -> None:
    parts, which = shortened(np.array([[0.0, 0.0, 10.0, 0.0], [1.0, 1.0, 1.0, 1.0]]), 3.0)
    assert which.tolist() == [0, 0, 0, 0, 1]
    assert parts[0].tolist() == [0.0, 0.0, 2.5, 0.0]
    assert parts[3].tolist() == [7.5, 0.0, 10.0, 0.0]


def test_flattened_curves_keep_within_their_tolerance() -> None:
    arc = path_points(Path((Arc((10.0, 0.0), (-10.0, 0.0), 1.0),), closed=False))
    assert np.allclose(np.hypot(*arc.T), 10.0, atol=1e-9)
    middles = (arc[:-1] + arc[1:]) / 2
    assert float((10.0 - np.hypot(*middles.T)).max()) <= FLAT_MM * 1.001
    cubic = Cubic((0.0, 0.0), (0.0, 40.0), (60.0, -40.0), (60.0, 0.0))
    found = path_points(Path((cubic,), closed=False))
    t = np.linspace(0, 1, 20001)[:, None]
    p = np.array([cubic.start, cubic.control1, cubic.control2, cubic.end])
    true = (
        (1 - t) ** 3 * p[0] + 3 * (1 - t) ** 2 * t * p[1] + 3 * (1 - t) * t * t * p[2] + t**3 * p[3]
    )
    lines = Lines(np.hstack([found[:-1], found[1:]]))
    assert float(lines.distance(true, 1.0).max()) <= FLAT_MM


def test_a_whole_circle_has_its_area() -> None:
    ring = Path((Arc((5.0, 0.0), (-5.0, 0.0), 1.0), Arc((-5.0, 0.0), (5.0, 0.0), 1.0)), closed=True)
    segments = area_segments(Area(ring))
    assert area(segments[:, :2]) == pytest.approx(25 * math.pi, rel=1e-4)
    back = area_segments(Area(Path((Line((0, 0), (1, 0)), Line((1, 0), (0, 0))), closed=True)))
    assert back.shape == (2, 4)


def test_a_transform_is_undone() -> None:
    transform = Transform(0.6, 0.8, 0.8, -0.6, 12.0, -7.0)
    for spot in ((0.0, 0.0), (3.0, -4.0)):
        assert inverse(transform).apply(transform.apply(spot)) == pytest.approx(spot)


@pytest.mark.parametrize(
    ("shape", "length", "width", "closed_form"),
    [
        # two circular segments of radius R = (L² + W²)/4W, half angle asin(L/2R)
        (StoneShape.NAVETTE, 10.0, 5.0, 2 * 6.25**2 * (math.asin(0.8) - 0.8 * 0.6)),
        (StoneShape.OVAL, 8.0, 6.0, math.pi * 4 * 3),
        (StoneShape.RECTANGLE, 8.0, 5.0, 40.0),
        (StoneShape.SQUARE, 6.0, 6.0, 36.0),
        (StoneShape.TRIANGLE, 6.0, 7.0, 21.0),
        # a disc of radius 3 and the kite of its two tangents from 7 mm off its centre, less the
        # sector the kite covers
        (
            StoneShape.TEARDROP, 10.0, 6.0,
            3 * math.sqrt(7**2 - 3**2) + 9 * (math.pi - math.acos(3 / 7)),
        ),
    ],
)  # fmt: skip
def test_outlines_have_the_area_of_their_shape(shape, length, width, closed_form) -> None:
    outline = unit_outline(shape, length, width)
    assert 0.994 * closed_form <= area(outline) <= closed_form + 1e-9
    assert np.allclose(outline.max(axis=0)[0] - outline.min(axis=0)[0], length, atol=0.01)
    assert np.allclose(np.ptp(outline[:, 1]), width, atol=0.01)
    assert abs(outline[:, 0].max() - length / 2) < 1e-9  # the tip leads


@settings(deadline=None, max_examples=60)
@given(
    st.sampled_from([s for s in StoneShape if s is not StoneShape.ROUND]),
    st.sampled_from([s for s in StoneShape if s is not StoneShape.ROUND]),
    st.floats(5.0, 14.0),
    st.floats(0.0, 360.0),
    st.floats(0.0, 360.0),
)
def test_distances_of_outlines_are_those_of_their_sides(one, other, apart, turn, turn_2) -> None:
    a = outlines(one, 10.0, 5.0, np.zeros((1, 2)), np.array([turn]))
    b = outlines(other, 8.0, 4.0, np.array([[apart, 0.0]]), np.array([turn_2]))
    far = float(convex_distance(a, b)[0])

    def filled(outline):
        sides = np.hstack([outline, np.roll(outline, -1, axis=0)])
        return Lines(sides), sides

    (lines_a, sides_a), (lines_b, sides_b) = filled(a[0]), filled(b[0])
    fine_b, fine_a = shortened(sides_b, 0.02)[0][:, :2], shortened(sides_a, 0.02)[0][:, :2]
    least = min(lines_a.distance(fine_b, 20.0).min(), lines_b.distance(fine_a, 20.0).min())
    meets = inside(fine_b, sides_a).any() or inside(fine_a, sides_b).any()
    if meets:
        assert far <= 0.02
    else:
        assert far == pytest.approx(float(least), abs=0.02)


def test_a_segment_that_crosses_a_shape_is_no_distance_away() -> None:
    outline = outlines(StoneShape.NAVETTE, 10.0, 5.0, np.zeros((1, 2)), np.zeros(1))
    across = np.array([[[-0.05, -9.0], [-0.05, 9.0]]])
    assert convex_distance(outline, across)[0] <= 0.0
    beside = np.array([[[5.5, -9.0], [5.5, 9.0]]])
    assert convex_distance(outline, beside)[0] == pytest.approx(0.5, abs=1e-9)
    point = np.array([[[0.0, 4.0]]])
    assert convex_distance(outline, point)[0] == pytest.approx(1.5, abs=0.01)
