import math

from shapely import Polygon
from shapely.affinity import affine_transform

from templater.geometry.rng import Rng
from templater.sheets.lay import quick_lay
from templater.sheets.lay_shapes import LayShape


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


def test_shapes_keep_their_spacing_and_stay_on_the_sheet():
    shapes = _shapes(30)
    spots = quick_lay(shapes, 190.0, 240.0, 3.0)
    laid = [(spot.sheet, _moved(shape, spot)) for shape, spot in zip(shapes, spots, strict=True)]
    assert len({sheet for sheet, _ in laid}) >= 2
    for index, (sheet, geometry) in enumerate(laid):
        x0, y0, x1, y1 = geometry.bounds
        assert min(x0, y0, 190.0 - x1, 240.0 - y1) >= -1e-4  # snapped to 0.0001 mm
        for other, neighbour in laid[:index]:
            if other == sheet:
                assert geometry.distance(neighbour) >= 3.0 - 2e-4


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
