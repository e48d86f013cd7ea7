"""Offsets against closed forms.

Sources: Steiner's formula for the parallel body of a convex set, A + P·d + π·d² (J. Steiner, Über
parallele Flächen, 1840); a mitre reaches half a stroke's width over sin(θ/2) from its corner (SVG
1.1, section 11.4, stroke-miterlimit); the largest radial error of the four-arc Bézier circle with
handle 4/3·(√2 − 1), 2.73·10⁻⁴ of its radius (widely published; from memory).
"""

import math

import pytest

from templater.geometry.flatten import flatten
from templater.geometry.measure import area_mm2, path_length, signed_path_area
from templater.geometry.offset import offset_area
from templater.geometry.polygons import circle, polyline
from templater.geometry.smooth import arcs_of
from templater.model.curves import Area, Cubic, Path

HANDLE = 4.0 / 3.0 * (math.sqrt(2.0) - 1.0)


def bezier_ellipse(a, b):
    k = HANDLE
    ring = [
        ((a, 0), (a, k * b), (k * a, b), (0, b)),
        ((0, b), (-k * a, b), (-a, k * b), (-a, 0)),
        ((-a, 0), (-a, -k * b), (-k * a, -b), (0, -b)),
        ((0, -b), (k * a, -b), (a, -k * b), (a, 0)),
    ]
    return Path(tuple(Cubic(*points) for points in ring), closed=True)


@pytest.mark.parametrize("width", [0.5, 5.0, 12.0, 40.0])
@pytest.mark.parametrize("diameter", [10.0, 100.0, 900.0])
def test_circle_grows_by_the_width_exactly(diameter, width):
    (grown,) = offset_area(Area(circle((3.0, -7.0), diameter)), width)
    assert area_mm2(grown) == pytest.approx(math.pi * (diameter / 2 + width) ** 2, rel=1e-12)
    assert len(grown.outline.segments) == 2


def test_circle_shrinks_exactly_until_nothing_is_left():
    (shrunk,) = offset_area(Area(circle((0.0, 0.0), 100.0)), -20.0)
    assert area_mm2(shrunk) == pytest.approx(math.pi * 30.0**2, rel=1e-12)
    assert offset_area(Area(circle((0.0, 0.0), 100.0)), -50.0) == ()


CONVEX = [
    polyline([(0, 0), (80, 0), (80, 50), (0, 50)], closed=True),
    polyline([(0, 0), (120, 10), (60, 90)], closed=True),
    polyline(
        [(70 * math.cos(i * math.tau / 7), 70 * math.sin(i * math.tau / 7)) for i in range(7)],
        closed=True,
    ),
]


@pytest.mark.parametrize("outline", CONVEX)
@pytest.mark.parametrize("width", [1.0, 5.0, 25.0])
def test_steiner_holds_exactly_for_convex_polygons(outline, width):
    (grown,) = offset_area(Area(outline), width, "round")
    expected = signed_path_area(outline) + path_length(outline) * width + math.pi * width**2
    assert area_mm2(grown) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("width", [1.0, 5.0, 25.0])
def test_steiner_holds_within_the_budget_for_a_convex_bezier(width):
    outline = bezier_ellipse(90.0, 55.0)
    (grown,) = offset_area(Area(outline), width, "round")
    expected = signed_path_area(outline) + path_length(outline) * width + math.pi * width**2
    around = path_length(outline) + math.tau * width
    assert abs(area_mm2(grown) - expected) <= 0.02 * around


@pytest.mark.parametrize("angle", [40.0, 60.0, 90.0, 120.0, 150.0])
def test_a_mitre_tip_lies_where_it_must(angle):
    half = math.radians(angle / 2)
    far = (200 * math.cos(half), 200 * math.sin(half))
    wedge = polyline([(0.0, 0.0), (far[0], -far[1]), far], closed=True)
    (grown,) = offset_area(Area(wedge), 5.0, "mitre")
    tip = min(segment.start for segment in grown.outline.segments)
    assert tip == pytest.approx((-5.0 / math.sin(half), 0.0), abs=1e-9)


@pytest.mark.parametrize("angle", [5.0, 15.0, 28.0])
def test_a_sharper_tip_is_trimmed_at_the_limit(angle):
    half = math.radians(angle / 2)
    far = (200 * math.cos(half), 200 * math.sin(half))
    wedge = polyline([(0.0, 0.0), (far[0], -far[1]), far], closed=True)
    (grown,) = offset_area(Area(wedge), 5.0, "mitre", 4.0)
    assert min(segment.start[0] for segment in grown.outline.segments) == pytest.approx(-20.0)


@pytest.mark.parametrize("width", [0.0, 5.0, 12.0])
@pytest.mark.parametrize("axes", [(100.0, 50.0), (60.0, 40.0), (150.0, 150.0)])
def test_curves_need_a_tenth_of_the_nodes_of_flattening(axes, width):
    outline = bezier_ellipse(*axes)
    (grown,) = offset_area(Area(outline), width)
    assert 10 * len(grown.outline.segments) <= len(flatten(outline, 0.02))


def test_polygons_keep_exactly_their_corners():
    square = polyline([(0, 0), (100, 0), (100, 60), (0, 60)], closed=True)
    (grown,) = offset_area(Area(square), 5.0, "mitre")
    corners = sorted(segment.start for segment in grown.outline.segments)
    expected = [(-5, -5), (-5, 65), (105, -5), (105, 65)]
    for corner, wanted in zip(corners, expected, strict=True):
        assert corner == pytest.approx(wanted, abs=1e-9)


def test_the_four_arc_bezier_circle_is_off_by_the_known_error():
    radius = 100.0
    arcs = arcs_of(bezier_ellipse(radius, radius), 1e-4)
    worst = max(abs(math.hypot(x, y) - radius) for x, y in flatten(arcs, 1e-4))
    assert worst == pytest.approx(2.73e-4 * radius, abs=2e-4 + 0.005e-4 * radius)
