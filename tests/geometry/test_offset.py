"""Offsets where one can say by hand what must come out."""

import math

import pytest

from templater.geometry.measure import area_mm2, path_box, signed_path_area
from templater.geometry.moves import moved_area, moved_path, reversed_path
from templater.geometry.offset import inset_region, offset_area, offset_bands, offset_region
from templater.geometry.polygons import circle, polyline, rectangle, to_polygon
from templater.model.curves import Arc, Area, Cubic, Line, Path, mirror_about
from templater.model.ground import Edge, EdgeKind

SQUARE = [(0.0, 0.0), (100.0, 0.0), (100.0, 60.0), (0.0, 60.0)]


def bands(points, widths):
    ends = [*points[1:], points[0]]
    return [
        (Path((Line(a, b),), closed=False), width)
        for a, b, width in zip(points, ends, widths, strict=True)
    ]


def corners(area):
    return sorted(
        (round(segment.start[0], 6) + 0.0, round(segment.start[1], 6) + 0.0)
        for segment in area.outline.segments
    )


def test_each_edge_has_its_own_width():
    (area,) = offset_bands([bands(SQUARE, [5, 12, 3, 0])], "mitre", 4.0, 0.02)
    assert path_box(area.outline) == pytest.approx((0, -5, 112, 63))
    assert area_mm2(area) == pytest.approx(112 * 68)


def test_without_allowances_curves_come_back_as_they_were_drawn():
    path = Path(
        (Cubic((0, 0), (60, -40), (140, -40), (200, 0)), Arc((200, 0), (0, 0), 0.5)), closed=True
    )
    (area,) = offset_area(Area(path), 0.0)
    assert set(area.outline.segments) == set(path.segments)


def test_arcs_stay_arcs_and_lines_stay_lines():
    slot = Path(
        (
            Line((0, 0), (80, 0)),
            Arc((80, 0), (80, 40), 1.0),
            Line((80, 40), (0, 40)),
            Arc((0, 40), (0, 0), 1.0),
        ),
        closed=True,
    )
    (area,) = offset_area(Area(slot), 7.0, "mitre")
    kinds = sorted(type(segment).__name__ for segment in area.outline.segments)
    assert kinds == ["Arc", "Arc", "Line", "Line"]
    assert area_mm2(area) == pytest.approx(80 * 54 + math.pi * 27**2, rel=1e-12)


def test_an_inward_arc_tighter_than_the_width_closes_to_a_corner():
    bite = Path(
        (
            Line((0, 0), (100, 0)),
            Line((100, 0), (100, 60)),
            Line((100, 60), (60, 60)),
            Arc((60, 60), (40, 60), -1.0),
            Line((40, 60), (0, 60)),
            Line((0, 60), (0, 0)),
        ),
        closed=True,
    )
    # The arc runs below the outline: a bite of radius 10 that an allowance of 12 fills.
    bitten = Path(tuple(bite.segments), closed=True)
    (area,) = offset_area(Area(bitten), 12.0, "mitre")
    assert path_box(area.outline) == pytest.approx((-12, -12, 112, 72))
    assert len(area.outline.segments) == 4


def test_a_narrow_slit_is_bridged_and_its_end_becomes_a_hole_or_nothing():
    slit = [
        (0, 0), (100, 0), (100, 28), (40, 29), (40, 20), (20, 20), (20, 40), (40, 40), (40, 31),
        (100, 32), (100, 60), (0, 60),
    ]  # fmt: skip
    (area,) = offset_area(Area(polyline(slit, closed=True)), 3.0, "mitre")
    assert len(area.holes) == 1
    assert signed_path_area(area.holes[0]) < 0.0
    assert path_box(area.holes[0]) == pytest.approx((23, 23, 37, 37), abs=1e-6)


def test_holes_grow_smaller_by_the_width():
    ring = Area(rectangle(0, 0, 100, 100), (reversed_path(circle((50, 50), 40)),))
    (area,) = offset_area(ring, 5.0, "mitre")
    assert area_mm2(area) == pytest.approx(110**2 - math.pi * 15**2, rel=1e-12)


def test_a_region_may_fall_apart_when_it_is_narrowed():
    bone = polyline(
        [(0, 0), (40, 0), (40, 18), (80, 18), (80, 0), (120, 0), (120, 40), (80, 40), (80, 22),
         (40, 22), (40, 40), (0, 40)], closed=True,
    )  # fmt: skip
    parts = offset_area(Area(bone), -5.0)
    # Two squares of 30, each with a dent less where the neck's corners do not reach.
    dent = 0.42 * 4
    assert [area_mm2(part) for part in parts] == pytest.approx([900 + dent / 2] * 2, abs=dent)


def test_insetting_takes_each_edges_own_width():
    ring = tuple(
        Edge(EdgeKind.FREE, path, "", width) for path, width in bands(SQUARE, [5, 12, 3, 0])
    )
    (area,) = inset_region([ring])
    assert path_box(area.outline) == pytest.approx((0, 5, 88, 57))
    (back,) = offset_region([ring])
    assert path_box(back.outline) == pytest.approx((0, -5, 112, 63))


def test_a_mitre_of_two_widths_lies_on_both_cut_lines():
    (area,) = offset_bands([bands(SQUARE, [5, 12, 5, 12])], "mitre", 4.0, 0.02)
    assert corners(area) == [(-12, -5), (-12, 65), (112, -5), (112, 65)]


def test_square_and_bevel_cut_a_corner_off():
    (square,) = offset_area(Area(polyline(SQUARE, closed=True)), 10.0, "square")
    (bevel,) = offset_area(Area(polyline(SQUARE, closed=True)), 10.0, "bevel")
    assert area_mm2(bevel) == pytest.approx(100 * 60 + 320 * 10 + 4 * 50)
    assert len(square.outline.segments) == len(bevel.outline.segments) == 8
    mitred = 120 * 80
    lost = (10 * math.sqrt(2) - 10) ** 2
    assert area_mm2(square) == pytest.approx(mitred - 4 * lost)


def folded_back(area, hinge_y):
    """What lies below a horizontal hinge, turned up over it."""
    import shapely

    below = to_polygon(area, 0.001).intersection(shapely.box(-500, -500, 500, hinge_y))
    return shapely.transform(below, lambda xy: xy * [1, -1] + [0, 2 * hinge_y])


@pytest.mark.parametrize("lean", [-25.0, 0.0, 25.0])
def test_a_folded_hem_turns_up_exactly_beneath_the_seam_allowances(lean):
    """A hem 20 wide below sides that lean in or out, with 10 of seam allowance."""
    points = [(0.0, 0.0), (100.0, 0.0), (100.0 + lean, 80.0), (0.0 - lean, 80.0)]
    (area,) = offset_bands([bands(points, [20, 10, 10, 10])], "folded", 4.0, 0.02)
    turned = folded_back(area, 0.0)
    above = to_polygon(area, 0.001)
    assert turned.difference(above.buffer(1e-6)).area < 1e-6
    # It reaches from one cut line to the other all the way up.
    strip = above.intersection(turned.envelope)
    assert strip.difference(turned.buffer(1e-6)).area < 1e-6


def test_a_folded_corner_that_would_reach_too_far_is_mitred():
    needle = polyline([(0, 0), (200, -10), (200, 10)], closed=True)
    (folded,) = offset_area(Area(needle), 5.0, "folded")
    (mitred,) = offset_area(Area(needle), 5.0, "mitre")
    assert path_box(folded.outline)[0] == pytest.approx(path_box(mitred.outline)[0]) == -20.0


LEAF = Path(
    (
        Cubic((0, 0), (60, -40), (140, -40), (200, 0)),
        Cubic((200, 0), (140, 50), (60, 40), (0, 0)),
    ),
    closed=True,
)


@pytest.mark.parametrize("outline", [LEAF, polyline(SQUARE, closed=True), circle((3, 4), 90)])
@pytest.mark.parametrize("shift", [0, 1])
def test_where_the_outline_starts_makes_no_difference(outline, shift):
    import shapely

    turned = Path((*outline.segments[shift:], *outline.segments[:shift]), closed=True)
    (one,), (other,) = offset_area(Area(outline), 6.0), offset_area(Area(turned), 6.0)
    apart = shapely.hausdorff_distance(to_polygon(one, 0.001), to_polygon(other, 0.001), 0.1)
    assert apart < 0.02


def test_the_mirrored_outline_has_the_mirrored_offset():
    import shapely

    mirror = mirror_about((0, 0), (3, 7))
    (one,) = offset_area(Area(LEAF), 6.0, "mitre")
    (other,) = offset_area(moved_area(Area(LEAF), mirror), 6.0, "mitre")
    apart = shapely.hausdorff_distance(
        to_polygon(moved_area(one, mirror), 0.001), to_polygon(other, 0.001), 0.1
    )
    assert apart < 0.025


def test_joined_curves_stay_smooth():
    from templater.geometry.smooth import end_direction, start_direction

    k = 0.5522847498
    ellipse = Path(
        (
            Cubic((80, 0), (80, 40 * k), (80 * k, 40), (0, 40)),
            Cubic((0, 40), (-80 * k, 40), (-80, 40 * k), (-80, 0)),
            Cubic((-80, 0), (-80, -40 * k), (-80 * k, -40), (0, -40)),
            Cubic((0, -40), (80 * k, -40), (80, -40 * k), (80, 0)),
        ),
        closed=True,
    )
    (area,) = offset_area(Area(ellipse), 8.0)
    segments = area.outline.segments
    for a, b in zip(segments, (*segments[1:], segments[0]), strict=True):
        (ax, ay), (bx, by) = end_direction(a), start_direction(b)
        assert abs(math.atan2(ax * by - ay * bx, ax * bx + ay * by)) < 1e-3


def test_outlines_are_anticlockwise_and_closed_to_the_bit():
    (area,) = offset_area(Area(moved_path(LEAF, mirror_about((0, 0), (1, 0)))), 5.0)
    assert signed_path_area(area.outline) > 0.0 or area.outline.start == area.outline.end
    (area,) = offset_area(Area(LEAF), 5.0)
    assert signed_path_area(area.outline) > 0.0
    for a, b in zip(
        area.outline.segments, (*area.outline.segments[1:], area.outline.segments[0]), strict=True
    ):
        assert a.end == b.start


def test_a_negative_allowance_is_refused():
    with pytest.raises(ValueError, match="negative"):
        offset_bands([bands(SQUARE, [5, -1, 5, 5])], "mitre", 4.0, 0.02)
