import math
import os
import subprocess
import sys

import pytest
from shapely import Polygon
from shapely.affinity import affine_transform, scale

from templater.geometry.polygons import to_polygon
from templater.geometry.rng import Rng
from templater.model.parts import PartKind
from templater.sheets.lay import quick_lay
from templater.sheets.lay_shapes import LayShape, Room, extent, forms_of
from templater.sheets.lay_start import first_lay


def _blob(rng, reach):
    """A star-shaped outline, anything from round to spiky."""
    points = []
    for k in range(14):
        radius = reach * (0.35 + 0.65 * rng.uniform())
        angle = 2.0 * math.pi * k / 14
        points.append((radius * math.cos(angle), radius * math.sin(angle)))
    return Polygon(points)


def _shapes(count, turns=(0, 90, 180, 270)):
    rng = Rng("lay", count)
    return [LayShape(_blob(rng, 10.0 + 25.0 * rng.uniform()), turns) for _ in range(count)]


def _moved(shape, spot):
    t = spot.move
    return affine_transform(shape.geometry, (t.a, t.c, t.b, t.d, t.e, t.f))


def _held(shapes, spots, width, height, spacing):
    """How many sheets a lay takes and its top, after a look whether it keeps what it must."""
    laid = [(spot.sheet, _moved(shape, spot)) for shape, spot in zip(shapes, spots, strict=True)]
    for index, (sheet, geometry) in enumerate(laid):
        x0, y0, x1, y1 = geometry.bounds
        assert min(x0, y0, width - x1, height - y1) >= -1e-4  # snapped to 0.0001 mm
        for other, neighbour in laid[:index]:
            if other == sheet:
                assert geometry.distance(neighbour) >= spacing - 2e-4
                assert geometry.intersection(neighbour).area <= 1e-3
    last = max(sheet for sheet, _ in laid)
    return last + 1, max(geometry.bounds[3] for sheet, geometry in laid if sheet == last)


@pytest.mark.parametrize("spacing", [0.0, 0.2, 3.0, 12.0])
def test_shapes_keep_their_spacing_and_stay_on_the_sheet(spacing):
    shapes = _shapes(20)
    spots = quick_lay(shapes, 150.0, 120.0, spacing, effort=2_000_000)
    assert _held(shapes, spots, 150.0, 120.0, spacing)[0] >= 2


TRIANGLE = Polygon([(0, 0), (60, 0), (0, 90)])
WEDGE = Polygon([(0, 0), (60, 0), (15, 90), (0, 90)])
VEE = Polygon([(0, 0), (30, 40), (60, 0), (60, 30), (30, 80), (0, 30)])


@pytest.mark.parametrize(("outline", "count"), [(TRIANGLE, 12), (WEDGE, 10), (VEE, 12)])
def test_a_second_sheet_is_saved_where_shapes_can_be_pushed_closer(outline, count):
    shapes = [LayShape(outline, (0, 180))] * count
    room = Room(190.0, 240.0, 3.0)
    forms = forms_of(shapes, room)
    assert extent(forms, first_lay(forms, room))[0] == 2
    spots = quick_lay(shapes, *room, shorten=False)
    assert _held(shapes, spots, *room)[0] == 1


def test_the_demos_leaves_in_a_small_size_take_a_sheet_of_a4_fewer(fold_made):
    # At two fifths of their size, as the full ones are larger than the sheet; four of each of five.
    parts = [part for part in fold_made.parts if part.kind is PartKind.APPLIQUE]
    small = [scale(to_polygon(part.cut, 0.1), 0.4, 0.4, origin=(0.0, 0.0)) for part in parts]
    shapes = [LayShape(outline, (0, 180)) for outline in small for _ in range(4)]
    room = Room(180.0, 250.0, 3.0)
    forms = forms_of(shapes, room)
    first, _ = extent(forms, first_lay(forms, room))
    sheets, _ = _held(shapes, quick_lay(shapes, *room, shorten=False), *room)
    least = sum(shape.geometry.area for shape in shapes) / (180.0 * 250.0)
    print(f"sheets of A4: {sheets}, one after the other {first}, by area alone {least:.2f}")
    assert len(shapes) == 20
    assert sheets < first


def test_a_strip_is_made_shorter_than_laying_one_after_the_other_makes_it():
    shapes = _shapes(16)
    room = Room(150.0, 900.0, 2.0)
    forms = forms_of(shapes, room)
    _, first = extent(forms, first_lay(forms, room))
    sheets, top = _held(shapes, quick_lay(shapes, *room), *room)
    assert sheets == 1
    assert top <= 0.95 * first


def test_shapes_as_wide_as_the_strip_lie_one_above_the_other():
    band = LayShape(Polygon([(0, 0), (190, 0), (190, 50), (0, 50)]), (0, 90))
    spots = quick_lay([band] * 3, 190.0, 900.0, 3.0)
    sheets, top = _held([band] * 3, spots, 190.0, 900.0, 3.0)
    assert sheets == 1
    assert top == pytest.approx(156.0, abs=0.05)


def test_shapes_as_high_as_the_sheet_are_left_as_they_are():
    corner = Polygon([(0, 0), (90, 0), (90, 20), (20, 20), (20, 240), (0, 240)])
    spots = quick_lay([LayShape(corner, (0,))] * 4, 190.0, 240.0, 3.0, shorten=False)
    assert _held([LayShape(corner, (0,))] * 4, spots, 190.0, 240.0, 3.0)[0] == 2


def test_a_small_shape_lies_in_the_hole_of_a_large_one():
    frame = Polygon([(0, 0), (180, 0), (180, 180), (0, 180)]).difference(
        Polygon([(30, 30), (150, 30), (150, 150), (30, 150)])
    )
    shapes = [LayShape(frame, (0,)), LayShape(Polygon([(0, 0), (100, 0), (0, 100)]), (0, 90))]
    spots = quick_lay(shapes, 190.0, 900.0, 3.0)
    assert _held(shapes, spots, 190.0, 900.0, 3.0) == (1, pytest.approx(180.0))


PROGRAM = """
from shapely import Polygon
from templater.geometry.kernels.compiled import COMPILED
from templater.sheets.lay import quick_lay
from templater.sheets.lay_shapes import LayShape
wedge = LayShape(Polygon([(0, 0), (60, 0), (15, 90), (0, 90)]), (0, 180))
vee = LayShape(Polygon([(0, 0), (30, 40), (60, 0), (60, 30), (30, 80), (0, 30)]), (0, 90, 180, 270))
print(COMPILED, quick_lay([wedge, vee] * 3, 150.0, 900.0, 3.0, effort=300_000))
"""


def test_compiled_and_plain_runs_lay_alike_whatever_the_hash_seed():
    said = {}
    for plain in ("0", "1"):
        told = subprocess.run(
            [sys.executable, "-c", PROGRAM],
            capture_output=True,
            text=True,
            check=True,
            env={**os.environ, "TEMPLATER_PLAIN": plain, "PYTHONHASHSEED": plain},
        ).stdout
        compiled, _, spots = told.partition(" ")
        said[compiled] = spots
    if len(said) < 2:
        pytest.skip("numba is not installed: there is only the plain run")
    assert said["True"] == said["False"]


def test_turns_are_only_those_allowed_and_never_mirror():
    spots = quick_lay(_shapes(12, (0, 180)), 190.0, 240.0, 3.0)
    for spot in spots:
        assert spot.move.b == spot.move.c == 0.0
        assert spot.move.determinant == 1.0


def test_the_same_shapes_always_lie_alike_and_a_full_sheet_is_left_for_the_next():
    shapes = _shapes(14)
    assert quick_lay(shapes, 190.0, 240.0, 3.0) == quick_lay(shapes, 190.0, 240.0, 3.0)
    squares = [LayShape(Polygon([(0, 0), (50, 0), (50, 50), (0, 50)]), (0,)) for _ in range(5)]
    spots = quick_lay(squares, 106.0, 106.0, 3.0)
    assert [spot.sheet for spot in spots] == [0, 0, 0, 0, 1]


def test_what_is_too_large_has_no_spot():
    slim = LayShape(Polygon([(0, 0), (230, 0), (230, 20), (0, 20)]), (0, 180))
    turning = LayShape(slim.geometry, (0, 90))
    assert quick_lay([slim], 190.0, 240.0, 3.0) == [None]
    assert quick_lay([turning], 190.0, 240.0, 3.0)[0] is not None
