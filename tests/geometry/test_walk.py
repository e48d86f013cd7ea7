"""Lengths and places along edges, against values worked out by hand."""

import math

import pytest

from templater.geometry.flatten import flatten
from templater.geometry.moves import reversed_path
from templater.geometry.walk import part_between, tape_along, walk
from templater.model.curves import Arc, Cubic, Line, Path


def open_path(*segments):
    return Path(segments, closed=False)


def arc_of(radius, sweep):
    end = (radius * math.cos(sweep), radius * math.sin(sweep))
    return open_path(Arc((radius, 0.0), end, math.tan(sweep / 4)))


def ellipse_quarter(a, b, parts=24):
    """A quarter of an ellipse as Béziers by its own derivative (handle 4/3·tan(step/4))."""
    step = math.pi / 2 / parts
    k = 4.0 / 3.0 * math.tan(step / 4)
    segments = []
    for i in range(parts):
        u, v = i * step, (i + 1) * step
        p, q = (a * math.cos(u), b * math.sin(u)), (a * math.cos(v), b * math.sin(v))
        segments.append(
            Cubic(
                p,
                (p[0] - k * a * math.sin(u), p[1] + k * b * math.cos(u)),
                (q[0] + k * a * math.sin(v), q[1] - k * b * math.cos(v)),
                q,
            )
        )
    return open_path(*segments)


def test_a_straight_edge_is_as_long_as_it_is():
    assert tape_along(open_path(Line((0, 0), (30, 40)))).length_mm == 50.0


@pytest.mark.parametrize("sweep", [0.3, 1.0, math.pi / 2, 3.0])
def test_a_circular_edge_is_radius_times_angle(sweep):
    assert tape_along(arc_of(80.0, sweep)).length_mm == pytest.approx(80.0 * sweep, rel=1e-12)


@pytest.mark.parametrize(("a", "b"), [(100.0, 50.0), (200.0, 30.0), (60.0, 60.0)])
def test_an_elliptical_edge_is_the_complete_elliptic_integral(a, b):
    # Source: perimeter of an ellipse 4·a·E(m), m = 1 − b²/a²; E from scipy.special.ellipe.
    from scipy.special import ellipe

    expected = a * ellipe(1 - (b / a) ** 2)
    assert tape_along(ellipse_quarter(a, b)).length_mm == pytest.approx(expected, abs=0.001)


def test_places_are_found_by_distance_with_their_direction():
    tape = tape_along(arc_of(80.0, 2.0))
    at, (dx, dy) = tape.at(80.0)
    assert at == pytest.approx((80 * math.cos(1), 80 * math.sin(1)), abs=1e-3)
    assert (dx, dy) == pytest.approx((-math.sin(1), math.cos(1)), abs=1e-4)


def test_a_foot_is_the_nearest_place():
    foot = tape_along(arc_of(80.0, 2.0)).foot((100 * math.cos(0.7), 100 * math.sin(0.7)))
    assert foot.away_mm == pytest.approx(20.0, abs=1e-3)
    assert foot.along_mm == pytest.approx(56.0, abs=0.4)


def test_beyond_its_ends_an_edge_keeps_to_them():
    tape = tape_along(open_path(Line((0, 0), (100, 0))))
    assert tape.at(-5.0)[0] == (0, 0)
    assert tape.at(500.0)[0] == (100, 0)


def test_a_stretch_is_as_long_as_its_ends_say():
    path = arc_of(80.0, 2.0)
    part = part_between(path, 20.0, 95.0)
    assert tape_along(part).length_mm == pytest.approx(75.0, abs=1e-3)
    back = part_between(path, 95.0, 20.0)
    assert flatten(back, 1.0)[0] == pytest.approx(flatten(part, 1.0)[-1])


def test_a_stretch_of_a_closed_edge_runs_past_its_start():
    square = Path(
        tuple(
            Line(a, b)
            for a, b in [
                ((0, 0), (10, 0)),
                ((10, 0), (10, 10)),
                ((10, 10), (0, 10)),
                ((0, 10), (0, 0)),
            ]
        ),
        closed=True,
    )
    part = part_between(square, 35.0, 5.0)
    assert flatten(part, 1.0) == ((0, 5), (0, 0), (5, 0))


def test_equal_edges_walk_together():
    path = ellipse_quarter(100.0, 50.0)
    found = walk(path, reversed_path(reversed_path(path)))
    assert found.difference_mm == 0.0
    assert found.percent == 0.0


def test_a_difference_is_found_where_it_arises():
    straight = open_path(Line((0, 0), (100, 0)))
    bulged = open_path(Line((0, 0), (60, 0)), Line((60, 0), (65, 6)), Line((65, 6), (70, 0)),
                       Line((70, 0), (100, 0)))  # fmt: skip
    found = walk(bulged, straight)
    assert found.difference_mm == pytest.approx(2 * math.hypot(5, 6) - 10)
    assert found.percent == pytest.approx(found.difference_mm)
    assert 45 < found.from_mm < found.to_mm < 80


def test_edges_that_lie_apart_are_compared_as_wholes():
    found = walk(open_path(Line((0, 0), (100, 0))), open_path(Line((0, 500), (103, 500))))
    assert found.difference_mm == -3.0
    assert (found.from_mm, found.to_mm) == (0.0, 100.0)
