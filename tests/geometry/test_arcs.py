"""Arcs in parts and as cubic curves."""

import math
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from templater.geometry.arcs import arc_cubics, split_arc
from templater.geometry.flatten import arc_centre, flatten
from templater.model.curves import Arc, Path

coordinate = st.floats(-500.0, 500.0)
bulges = st.floats(0.01, 20.0) | st.floats(-20.0, -0.01)


@given(coordinate, coordinate, coordinate, coordinate, bulges, st.sampled_from([22.5, 90.0, 360.0]))
@settings(deadline=None, max_examples=80)
def test_parts_lie_on_the_arc_and_keep_its_ends(x0, y0, x1, y1, bulge, most_deg):
    if math.dist((x0, y0), (x1, y1)) < 0.1:
        return
    arc = Arc((x0, y0), (x1, y1), bulge)
    centre, radius, sweep = arc_centre(arc)
    parts = split_arc(arc, most_deg)
    assert parts[0].start == arc.start
    assert parts[-1].end == arc.end
    sweeps = [math.degrees(arc_centre(part)[2]) for part in parts]
    assert sum(sweeps) == pytest.approx(math.degrees(sweep))
    assert all(abs(each) <= most_deg + 1e-6 for each in sweeps)
    for part, after in pairwise(parts):
        assert part.end == after.start
        assert math.dist(part.end, centre) == pytest.approx(radius, rel=1e-9)


@given(bulges, st.floats(0.5, 600.0))
@settings(deadline=None, max_examples=80)
def test_cubics_stay_within_the_stated_share_of_the_radius(bulge, chord):
    arc = Arc((0.0, 0.0), (chord, 0.0), bulge)
    centre, radius, _ = arc_centre(arc)
    cubics = arc_cubics(arc)
    points = flatten(Path(cubics, closed=False), max(radius, 0.01) * 1e-5)
    far = max(abs(math.dist(point, centre) - radius) for point in points)
    assert far <= 8e-8 * radius + 1e-9
    assert (cubics[0].start, cubics[-1].end) == (arc.start, arc.end)


def test_a_quarter_by_one_cubic_is_as_far_off_as_is_known():
    """2.7e-4 of the radius: common knowledge, e.g. Goldapp 1991, CAGD 8 (cited from memory)."""
    arc = Arc((1.0, 0.0), (0.0, 1.0), math.tan(math.pi / 8))
    points = flatten(Path(arc_cubics(arc, 90.0), closed=False), 1e-7)
    far = max(abs(math.hypot(*point) - 1.0) for point in points)
    assert far == pytest.approx(2.73e-4, rel=0.01)


def test_straight_arcs_and_points_stay_what_they_are():
    straight = Arc((0.0, 0.0), (5.0, 5.0), 0.0)
    assert split_arc(straight, 90.0) == (straight,)
    (cubic,) = arc_cubics(straight)
    assert (cubic.start, cubic.end) == (straight.start, straight.end)
    point = Arc((1.0, 1.0), (1.0, 1.0), 1.0)
    assert split_arc(point, 90.0) == (point,)


@pytest.mark.parametrize("most_deg", [0.0, -1.0, math.nan])
def test_a_limit_that_is_none_is_refused(most_deg):
    with pytest.raises(ValueError, match="positive"):
        split_arc(Arc((0.0, 0.0), (1.0, 0.0), 1.0), most_deg)
