"""Between our areas and shapely polygons, and small constructors of paths."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from templater.geometry.flatten import flatten
from templater.model.curves import Arc, Area, Line, Path, Point, Ring

if TYPE_CHECKING:
    from shapely import Polygon
    from shapely.geometry.base import BaseGeometry

OVERLAY_GRID_MM = 1e-6
"""The grid on which areas are cut out of one another. Without one GEOS (3.14) gives grossly wrong
answers, without a word, for about 1 in 500 pairs of areas that share an edge but for the last bit.
"""


def united(shapes: Iterable[BaseGeometry]) -> BaseGeometry:
    """All the shapes as one, on the grid."""
    from shapely import union_all

    return union_all([_areal(shape) for shape in shapes], grid_size=OVERLAY_GRID_MM)


def overlap(one: BaseGeometry, other: BaseGeometry) -> BaseGeometry:
    """What two shapes share, on the grid."""
    return _areal(one).intersection(_areal(other), grid_size=OVERLAY_GRID_MM)


def without(shape: BaseGeometry, away: BaseGeometry) -> BaseGeometry:
    """What is left of a shape without another, on the grid."""
    return _areal(shape).difference(_areal(away), grid_size=OVERLAY_GRID_MM)


def differing(one: BaseGeometry, other: BaseGeometry) -> BaseGeometry:
    """What lies in one of two shapes only, on the grid."""
    return _areal(one).symmetric_difference(_areal(other), grid_size=OVERLAY_GRID_MM)


def _areal(shape: BaseGeometry) -> BaseGeometry:
    """Of areas with stray lines and points among them, as overlays leave them, the areas.

    GEOS takes no such mixture on a grid. Lines alone stay what they are.
    """
    from shapely import MultiPolygon

    if shape.geom_type != "GeometryCollection":
        return shape
    areas = polygons_in(shape)
    return MultiPolygon(areas) if areas else shape


def sound(polygon: Polygon) -> BaseGeometry:
    """A valid polygon as it is; of one that touches or crosses itself the parts with an area."""
    from shapely import make_valid

    if polygon.is_valid:
        return polygon
    return _areal(make_valid(polygon, method="structure", keep_collapsed=False))


def to_polygon(area: Area, tolerance_mm: float) -> Polygon:
    """The area flattened to within `tolerance_mm`, as a shapely polygon."""
    from shapely import Polygon

    return Polygon(
        flatten(area.outline, tolerance_mm), [flatten(hole, tolerance_mm) for hole in area.holes]
    )


def rings_of(polygon: Polygon) -> tuple[Ring, ...]:
    """Outline (anticlockwise) and holes (clockwise), each corner once."""
    from shapely.geometry.polygon import orient

    turned = orient(polygon)
    rings = (turned.exterior, *turned.interiors)
    return tuple(tuple((x, y) for x, y in ring.coords[:-1]) for ring in rings)


def from_polygon(polygon: Polygon) -> Area:
    """A polygon as an area of straight lines."""
    outline, *holes = rings_of(polygon)
    return Area(
        polyline(outline, closed=True), tuple(polyline(hole, closed=True) for hole in holes)
    )


def polygons_in(geometry: BaseGeometry) -> tuple[Polygon, ...]:
    """The polygons of any geometry that have an area, largest first, ties by place."""
    from shapely import get_parts

    # Twice, since a mixture may hold polygons that are several in one.
    every = get_parts(get_parts(geometry))
    parts = [part for part in every if part.geom_type == "Polygon" and part.area > 0.0]
    return tuple(sorted(parts, key=lambda part: (-part.area, part.bounds)))


def polyline(points: Sequence[Point], *, closed: bool) -> Path:
    """Straight lines through the points, which hold the first once. Raises ValueError below two."""
    if len(points) < 2:
        raise ValueError("a path needs two points")
    ends: Iterable[Point] = [*points[1:], points[0]] if closed else points[1:]
    return Path(tuple(Line(a, b) for a, b in zip(points, ends, strict=False)), closed)


def rectangle(x0: float, y0: float, x1: float, y1: float) -> Path:
    """An anticlockwise rectangle from its lower left corner."""
    return polyline([(x0, y0), (x1, y0), (x1, y1), (x0, y1)], closed=True)


def circle(at: Point, diameter_mm: float) -> Path:
    """An anticlockwise circle of two half arcs, from its rightmost point."""
    x, y = at
    radius = diameter_mm / 2.0
    right, left = (x + radius, y), (x - radius, y)
    return Path((Arc(right, left, 1.0), Arc(left, right, 1.0)), closed=True)
