"""Areas from closed paths: the same however a path is begun, run, or turned over."""

from __future__ import annotations

import math
import random

import pytest
import shapely

from templater.geometry.flatten import flatten
from templater.geometry.measure import area_mm2, signed_path_area
from templater.geometry.moves import moved_path, reversed_path
from templater.geometry.polygons import circle, polyline, rectangle, to_polygon
from templater.model.curves import Arc, Cubic, Line, Path, Transform
from templater.reading.areas import FINE_MM, areas_of

MIRROR = Transform(-1.0, 0.0, 0.0, 1.0, 300.0, 0.0)


def begun_at(path: Path, index: int) -> Path:
    return Path(path.segments[index:] + path.segments[:index], closed=True)


def star(count: int, step: int, radius: float = 50.0) -> Path:
    points = [
        (
            radius * math.cos(2 * math.pi * i * step / count),
            radius * math.sin(2 * math.pi * i * step / count),
        )
        for i in range(count)
    ]
    return polyline(points, closed=True)


@pytest.mark.parametrize("evenodd", [False, True])
@pytest.mark.parametrize("path", [star(7, 1), star(7, 2), star(7, 3), circle((20, 30), 25)])
def test_every_start_both_directions_and_mirrored(path, evenodd):
    areas = set()
    for index in range(len(path.segments)):
        for way in (begun_at(path, index), reversed_path(begun_at(path, index))):
            for moved in (way, moved_path(way, MIRROR)):
                inside = areas_of([moved], evenodd=evenodd)
                for area in inside.areas:
                    assert signed_path_area(area.outline) > 0
                    assert all(signed_path_area(hole) < 0 for hole in area.holes)
                    assert to_polygon(area, FINE_MM).is_valid
                areas.add(round(sum(map(area_mm2, inside.areas)), 2))
    assert len(areas) == 1


def raster_winding(paths, x: float, y: float) -> int:
    """A slow winding number of its own: signed crossings of a ray to the right."""
    total = 0
    for path in paths:
        ring = flatten(path, 0.001)
        for (x0, y0), (x1, y1) in zip(ring, ring[1:] + ring[:1], strict=True):
            if (y0 <= y) != (y1 <= y) and x0 + (y - y0) / (y1 - y0) * (x1 - x0) > x:
                total += 1 if y1 > y0 else -1
    return total


@pytest.mark.parametrize("seed", range(25))
def test_random_tangles_fill_where_the_rule_says(seed):
    """A thousand points of each tangle, judged by a winding number worked out apart."""
    rng = random.Random(seed)
    paths = []
    for _ in range(rng.randint(1, 4)):
        kind = rng.random()
        if kind < 0.4:
            count = rng.randint(3, 9)
            points = [(rng.uniform(0, 100), rng.uniform(0, 100)) for _ in range(count)]
            paths.append(polyline(points, closed=True))
        elif kind < 0.7:
            disc = circle((rng.uniform(20, 80), rng.uniform(20, 80)), rng.uniform(10, 60))
            paths.append(disc if rng.random() < 0.5 else reversed_path(disc))
        else:
            x, y = rng.randint(0, 6) * 10, rng.randint(0, 6) * 10
            box = rectangle(x, y, x + rng.randint(1, 4) * 10, y + rng.randint(1, 4) * 10)
            paths.append(box if rng.random() < 0.5 else reversed_path(box))
    for evenodd in (False, True):
        inside = areas_of(paths, evenodd=evenodd)
        union = shapely.union_all([to_polygon(a, 0.001) for a in inside.areas])
        total = sum(map(area_mm2, inside.areas))
        assert total == pytest.approx(union.area, abs=0.2)  # areas do not overlap
        shapely.prepare(union)
        borders = shapely.union_all([shapely.linearrings(flatten(p, 0.001)) for p in paths])
        shapely.prepare(borders)
        for _ in range(300):
            x, y = rng.uniform(-5, 105), rng.uniform(-5, 105)
            point = shapely.Point(x, y)
            if shapely.dwithin(borders, point, 0.01):
                continue
            winding = raster_winding(paths, x, y)
            expected = winding % 2 == 1 if evenodd else winding != 0
            assert shapely.contains(union, point) == expected, (x, y, evenodd)


def test_touching_holes_and_shared_edges_stay_valid():
    outer, inner = rectangle(0, 0, 100, 100), reversed_path(rectangle(0, 20, 30, 50))
    (area,) = areas_of([outer, inner], evenodd=False).areas
    assert area_mm2(area) == pytest.approx(10_000 - 900, abs=0.01)
    assert to_polygon(area, 0.01).is_valid
    side = areas_of([rectangle(0, 0, 10, 10), rectangle(10, 0, 20, 10)], evenodd=False)
    assert [area_mm2(a) for a in side.areas] == pytest.approx([100, 100])


def test_islands_in_holes_keep_their_arcs():
    rings = [circle((0, 0), 100), circle((0, 0), 80), circle((0, 0), 60), circle((0, 0), 40)]
    inside = areas_of(rings, evenodd=True)
    assert len(inside.areas) == 2
    for area in inside.areas:
        (hole,) = area.holes
        assert all(isinstance(s, Arc) for s in (*area.outline.segments, *hole.segments))
    assert not inside.resolved
    assert areas_of(rings, evenodd=False).covered == tuple(rings[1:])


def test_a_path_without_width_is_a_line():
    back = polyline([(0, 0), (10, 0), (20, 5), (10, 0)], closed=True)
    inside = areas_of([back], evenodd=False)
    assert inside.areas == ()
    assert inside.lines == (back,)


def test_crossing_outlines_keep_their_curves():
    """Two discs that overlap: the union is two arcs, the even-odd rest two crescents of two each."""
    discs = [circle((0, 0), 40), circle((15, 0), 40)]
    union = areas_of(discs, evenodd=False)
    assert union.resolved
    (area,) = union.areas
    kinds = [type(s) for s in area.outline.segments]
    assert set(kinds) == {Arc}
    assert len(kinds) <= 6
    # Lens of two circles of radius r at distance d: 2r²·acos(d/2r) − d/2·√(4r² − d²) (textbook).
    lens = 2 * 400 * math.acos(15 / 40) - 7.5 * math.sqrt(1600 - 225)
    assert area_mm2(area) == pytest.approx(800 * math.pi - lens, abs=1e-6)
    crescents = areas_of(discs, evenodd=True).areas
    assert sum(map(area_mm2, crescents)) == pytest.approx(800 * math.pi - 2 * lens, abs=1e-6)
    assert all(isinstance(s, Arc) for a in crescents for s in a.outline.segments)


def test_a_looped_curve_keeps_its_curve():
    loop = Path((Cubic((10, 20), (130, 100), (-30, 100), (90, 20)), Line((90, 20), (10, 20))), True)
    inside = areas_of([loop], evenodd=False)
    assert inside.resolved
    segments = [s for a in inside.areas for s in a.outline.segments]
    assert sum(isinstance(s, Cubic) for s in segments) <= 4
    assert sum(isinstance(s, Line) for s in segments) <= 2
    truth = shapely.linestrings(flatten(loop, 1e-4))
    for area in inside.areas:
        for point in flatten(area.outline, 0.01):
            assert shapely.distance(truth, shapely.Point(point)) < 2 * FINE_MM
