"""Areas cut by straight lines: nothing is lost, and curves stay the curves they were."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from templater.geometry.cutting import cut_away, parted
from templater.geometry.measure import area_mm2
from templater.geometry.moves import reversed_path
from templater.geometry.polygons import circle, rectangle
from templater.model.curves import Arc, Area, Cubic, Line, Path

LEAF = Area(
    Path(
        (
            Cubic((0.0, 0.0), (30.0, -25.0), (70.0, -25.0), (100.0, 0.0)),
            Cubic((100.0, 0.0), (70.0, 30.0), (30.0, 25.0), (0.0, 0.0)),
        ),
        closed=True,
    )
)


def is_closed(path):
    ends = zip(path.segments, (*path.segments[1:], path.segments[0]), strict=True)
    return all(a.end == b.start for a, b in ends)


@settings(deadline=None, max_examples=40)
@given(st.floats(5.0, 95.0), st.floats(-0.4, 0.4), st.floats(2.0, 30.0))
def test_a_wedge_across_a_leaf_leaves_two_curved_parts_of_the_right_area(x, lean, width):
    top, foot = (x + 60.0 * lean, 60.0), (x - 60.0 * lean, -60.0)
    wedge = (top, (foot[0] - width, foot[1]), (foot[0] + width, foot[1]))
    parts = cut_away(LEAF, wedge)
    import shapely

    from templater.geometry.polygons import to_polygon

    fine = to_polygon(LEAF, 1e-5).difference(shapely.Polygon(wedge))
    assert sum(area_mm2(part) for part in parts) == pytest.approx(fine.area, abs=2e-3)
    for part in parts:
        assert is_closed(part.outline)
        assert len(part.outline.segments) <= 4
        assert any(isinstance(segment, Cubic) for segment in part.outline.segments)


def test_a_disc_cut_by_a_wedge_keeps_its_arcs():
    """Circular segments: r²(φ − sin φ)/2 on either side of a strip through the middle."""
    strip = ((-2.0, -20.0), (2.0, -20.0), (2.0, 20.0), (-2.0, 20.0))
    parts = cut_away(Area(circle((0.0, 0.0), 20.0)), strip)
    phi = 2.0 * math.acos(0.2)
    for part in parts:
        assert area_mm2(part) == pytest.approx(50.0 * (phi - math.sin(phi)), abs=1e-9)
        assert sum(isinstance(s, Line) for s in part.outline.segments) == 1
        assert all(isinstance(s, Line | Arc) for s in part.outline.segments)
    assert len(parts) == 2


def test_a_wedge_that_ends_inside_keeps_its_tip_to_the_bit():
    (part,) = cut_away(Area(rectangle(0, 0, 100, 50)), ((50.0, 30.0), (45.0, -10.0), (55.0, -10.0)))
    assert (50.0, 30.0) in {segment.start for segment in part.outline.segments}
    assert len(part.outline.segments) == 7


def test_a_hole_that_is_cut_opens_to_the_outline():
    frame = Area(rectangle(0, 0, 100, 60), (reversed_path(circle((50.0, 30.0), 20.0)),))
    parts = cut_away(frame, ((49.0, -1.0), (51.0, -1.0), (51.0, 61.0), (49.0, 61.0)))
    assert len(parts) == 2
    assert all(not part.holes for part in parts)
    assert all(any(isinstance(s, Arc) for s in part.outline.segments) for part in parts)


def test_what_a_wedge_does_not_reach_stays_as_it_was():
    assert cut_away(LEAF, ((0.0, 50.0), (10.0, 80.0), (-10.0, 80.0))) == (LEAF,)


def test_an_area_is_parted_along_a_line():
    parts = parted(LEAF, ((50.0, -60.0), (50.0, 60.0)))
    assert len(parts) == 2
    assert sum(area_mm2(part) for part in parts) == pytest.approx(area_mm2(LEAF), abs=1e-6)
    assert all(len(part.outline.segments) == 3 for part in parts)
