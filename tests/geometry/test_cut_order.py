"""Inside before outside, by a short way, whatever order and direction the outlines come in."""

import math
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from templater.geometry.cut_order import cut_order
from templater.geometry.polygons import circle, polyline, rectangle


def nested():
    """A sheet's frame, two parts in it, a hole in each, a plug in one hole; and a line."""
    return [
        rectangle(0, 0, 200, 100),
        rectangle(10, 10, 90, 90),
        rectangle(110, 10, 190, 90),
        circle((50, 50), 40.0),
        circle((150, 50), 40.0),
        circle((150, 50), 10.0),
        polyline(((20, 20), (30, 20)), closed=False),
    ]


INSIDE = {(3, 1), (6, 1), (4, 2), (5, 4), (1, 0), (2, 0)}


def test_what_lies_inside_is_cut_first():
    order = cut_order(nested())
    assert sorted(order) == list(range(7))
    assert all(order.index(inner) < order.index(outer) for inner, outer in INSIDE)
    assert order[-1] == 0


@given(st.permutations(range(7)), st.lists(st.booleans(), min_size=7, max_size=7))
@settings(deadline=None, max_examples=30)
def test_in_whatever_order_and_direction_they_come(places, turned):
    paths = nested()
    given_paths = [_turned(paths[i]) if turned[i] else paths[i] for i in places]
    order = [places[i] for i in cut_order(given_paths)]
    assert all(order.index(inner) < order.index(outer) for inner, outer in INSIDE)


def _turned(path):
    """The same outline run the other way round."""
    corners = [segment.start for segment in path.segments]
    if any(hasattr(segment, "bulge") for segment in path.segments):
        return type(path)(
            tuple(type(s)(s.end, s.start, -s.bulge) for s in reversed(path.segments)),
            path.closed,
        )
    return polyline(
        tuple(reversed(corners if path.closed else (*corners, path.end))), closed=path.closed
    )


def test_the_way_between_many_is_short():
    """A 12 by 12 grid in scattered order: hardly longer than from each to its neighbour."""
    spots = [(20.0 * i, 20.0 * j) for i in range(12) for j in range(12)]
    spots.sort(key=lambda p: (p[0] * 7919 + p[1] * 104729) % 1009)
    paths = [rectangle(x, y, x + 10, y + 10) for x, y in spots]
    order = cut_order(paths)
    travel = sum(math.dist(spots[a], spots[b]) for a, b in pairwise(order))
    assert travel < 1.1 * 20.0 * 143
    assert spots[order[0]] == (0.0, 0.0)


def test_outlines_that_cross_themselves_or_each_other_do_not_stop_it():
    bow = polyline(((0, 0), (50, 50), (50, 0), (0, 50)), closed=True)
    paths = [bow, rectangle(25, 10, 75, 60), circle((40, 25), 4.0)]
    order = cut_order(paths)
    assert sorted(order) == [0, 1, 2]
    assert order[0] == 2


@pytest.mark.parametrize("count", [0, 1])
def test_few(count):
    assert cut_order(nested()[:count]) == list(range(count))
