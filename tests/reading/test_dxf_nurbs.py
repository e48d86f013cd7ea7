"""Splines and conics as Béziers: against scipy's own B-splines, and against the ellipse itself."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import BSpline

from templater.geometry.flatten import flatten
from templater.model.curves import Arc, Cubic, Line, Path, Transform
from templater.reading.dxf_conics import Conic, circle_conic, conic_segments, moved_bulge
from templater.reading.dxf_nurbs import BadSpline, spline_segments

WITHIN_MM = 1.01e-5


@st.composite
def splines(draw):
    """Degree, points, knots (clamped or not, with repeats) and weights or none."""
    degree = draw(st.integers(1, 5))
    count = draw(st.integers(degree + 1, degree + 8))
    coordinate = st.floats(-300, 300, allow_nan=False)
    points = draw(st.lists(st.tuples(coordinate, coordinate), min_size=count, max_size=count))
    clamped = draw(st.booleans())
    inner = sorted(
        draw(st.lists(st.integers(1, 6), min_size=count - degree - 1, max_size=count - degree - 1))
    )
    if any(inner.count(knot) > degree for knot in inner):
        inner = list(range(1, count - degree))
    if clamped:
        knots = [0.0] * (degree + 1) + [float(k) for k in inner] + [7.0 + count] * (degree + 1)
    else:
        knots = [float(k) for k in range(count + degree + 1)]
    weights = draw(
        st.one_of(
            st.just([]),
            st.lists(st.floats(0.2, 5.0), min_size=count, max_size=count),
        )
    )
    return degree, points, knots, weights


def exact(degree, points, knots, weights):
    each = np.array(weights or [1.0] * len(points))
    lifted = np.column_stack([np.array(points) * each[:, None], each])
    return BSpline(np.array(knots), lifted, degree)


def distance_to(points, ring):
    """The largest distance of points from a polyline."""
    from shapely import LineString, MultiPoint, get_parts

    line = LineString(ring)
    return max(line.distance(p) for p in get_parts(MultiPoint(points)))


@settings(max_examples=40, deadline=None)
@given(splines())
def test_every_spline_lies_where_scipy_puts_it(spline):
    degree, points, knots, weights = spline
    segments = spline_segments(points, degree, knots, weights)
    assert all(a.end == b.start for a, b in itertools.pairwise(segments))
    curve = exact(degree, points, knots, weights)
    at = np.linspace(knots[degree], knots[len(points)], 300)
    x, y, w = curve(at[:-1]).T
    seen = list(zip(x / w, y / w, strict=True))
    fine = 1e-4
    ring = flatten(Path(segments, closed=False), fine)
    assert distance_to(seen, [*ring, ring[-1]] if len(ring) == 1 else ring) <= WITHIN_MM + fine


def test_a_weighted_quadratic_is_the_quarter_circle_it_stands_for():
    """The textbook case: weights 1, √½, 1 (from memory: any text on rational curves)."""
    points = [(500.0, 0.0), (500.0, 500.0), (0.0, 500.0)]
    segments = spline_segments(points, 2, [0, 0, 0, 1, 1, 1], [1.0, math.sqrt(0.5), 1.0])
    off = [abs(math.hypot(x, y) - 500.0) for segment in segments for x, y in samples(segment)]
    assert max(off) <= 1e-5


def samples(cubic, count=50):
    for k in range(count + 1):
        t = k / count
        u = 1.0 - t
        a, b, c, d = u**3, 3 * u * u * t, 3 * u * t * t, t**3
        ends = (cubic.start, cubic.control1, cubic.control2, cubic.end)
        yield tuple(sum(f * p[i] for f, p in zip((a, b, c, d), ends, strict=True)) for i in (0, 1))


@pytest.mark.parametrize(
    ("points", "degree", "knots", "weights"),
    [
        ([(0, 0)], 3, [0, 0, 1, 1], []),
        ([(0, 0), (1, 1), (2, 0), (3, 1)], 3, [0, 0, 0, 0, 1, 1, 1], []),
        ([(0, 0), (1, 1), (2, 0), (3, 1)], 3, [0, 0, 0, 0, 1, 0.5, 1, 1], []),
        ([(0, 0), (1, 1), (2, 0), (3, 1)], 3, [0] * 8, []),
        ([(0, 0), (1, 1), (2, 0), (3, 1)], 3, [0, 0, 0, 0, 1, 1, 1, 1], [1, 1, -1, 1]),
        ([(0, 0), (1, 1), (2, 0), (3, 1)], 3, [0, 0, 0, 0, 1, 1, 1, 1], [1, 1]),
    ],
)
def test_a_spline_that_is_none_is_refused(points, degree, knots, weights):
    with pytest.raises(BadSpline):
        spline_segments(points, degree, knots, weights)


angles = st.floats(0.0, math.tau)
part = st.floats(-2.0, 2.0)


@settings(max_examples=60, deadline=None)
@given(
    part, part, part, part, angles, st.floats(0.05, math.tau), st.sampled_from([5.0, 80.0, 600.0])
)
def test_an_arc_under_any_transform_lies_on_its_ellipse(a, b, c, d, start, sweep, radius):
    transform = Transform(a, b, c, d, 10.0, -20.0)
    if abs(transform.determinant) < 0.05:
        return
    conic = circle_conic((3.0, 4.0), radius, start, sweep).moved(transform)
    determinant = transform.determinant
    for segment in conic_segments(conic, whole=False):
        if not isinstance(segment, Cubic):
            continue
        for x, y in samples(segment, 8):
            # back to the circle; a distance there is stretched by no more than the transform does
            dx, dy = x - transform.e, y - transform.f
            px, py = (d * dx - c * dy) / determinant, (a * dy - b * dx) / determinant
            stretch = math.hypot(a, b) + math.hypot(c, d)
            assert abs(math.hypot(px - 3.0, py - 4.0) - radius) <= WITHIN_MM * max(
                1.0, stretch / abs(determinant)
            )


def test_a_mirrored_and_turned_arc_stays_an_exact_arc():
    mirror = Transform(0.6, 0.8, 0.8, -0.6, 5.0, 7.0)
    [arc] = moved_bulge((0.0, 0.0), (10.0, 0.0), 0.4, mirror)
    assert isinstance(arc, Arc)
    assert arc.bulge == -0.4
    [line] = moved_bulge((0.0, 0.0), (10.0, 0.0), 0.0, mirror)
    assert line == Line((5.0, 7.0), (11.0, 15.0))


def test_a_whole_ellipse_closes_to_the_bit():
    segments = conic_segments(
        Conic((1.0, 2.0), (30.0, 1.0), (2.0, 11.0), 0.3, math.tau), whole=True
    )
    assert segments[-1].end == segments[0].start
