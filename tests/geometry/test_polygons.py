"""Areas put together and cut apart, also those that come with stray lines."""

import pytest
import shapely
from shapely import GeometryCollection, LineString, MultiPolygon, Polygon, box

from templater.geometry.polygons import differing, overlap, polygons_in, sound, united, without

STRAY = LineString([(20, 0), (30, 0)])
MIXED = GeometryCollection(
    [box(0, 0, 1, 1), STRAY, MultiPolygon([box(5, 5, 7, 7), box(9, 9, 9.5, 9.5)])]
)


def test_every_polygon_of_a_mixture_is_found_largest_first():
    assert [part.area for part in polygons_in(MIXED)] == [4.0, 1.0, 0.25]
    assert polygons_in(STRAY) == ()


def test_areas_with_stray_lines_are_cut_as_areas():
    """GEOS refuses such a mixture on a grid; overlays themselves leave them."""
    half = box(0, 0, 0.5, 50)
    assert overlap(MIXED, half).area == pytest.approx(0.5)
    assert without(MIXED, half).area == pytest.approx(4.75)
    assert differing(half, MIXED).area == pytest.approx(25.0 + 5.25 - 2 * 0.5)
    assert united([MIXED, half]).area == pytest.approx(25.0 + 5.25 - 0.5)


def test_a_polygon_that_folds_back_on_itself_is_mended_to_areas_alone():
    spiked = Polygon([(0, 0), (2, 0), (2, 2), (1, 2), (1, 5), (1, 2), (0, 2)])
    mended = sound(spiked)
    assert mended.is_valid
    assert shapely.get_dimensions(mended) == 2
    assert mended.area == pytest.approx(4.0)
    assert overlap(mended, box(0, 0, 1, 1)).area == pytest.approx(1.0)


def test_lines_alone_stay_what_they_are():
    lines = GeometryCollection([STRAY, LineString([(0, 5), (40, 5)])])
    assert overlap(lines, box(25, -1, 50, 9)).length == pytest.approx(5.0 + 15.0)
    assert united([lines]).length == pytest.approx(50.0)
