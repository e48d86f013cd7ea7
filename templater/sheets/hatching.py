"""Clear areas: dotted outline, hatched at 45°. Imports shapely inside functions."""

from __future__ import annotations

from collections.abc import Iterator

from templater.geometry.flatten import flatten
from templater.geometry.moves import moved_area, moved_path
from templater.geometry.polygons import from_polygon, overlap, polygons_in, polyline, to_polygon
from templater.model.curves import Area, Path, Transform
from templater.model.sheets import Drawable, Pen, Stroke

_PITCH_MM = 3.0
_FLAT_MM = 0.05


def hatched(shape: Area | Path, reach_mm: float, move: Transform) -> Iterator[Drawable]:
    """The shape grown by its reach, outlined and hatched, and the shape itself."""
    from shapely import LineString, MultiLineString, get_parts

    if isinstance(shape, Area):
        yield Stroke(moved_path(shape.outline, move), Pen.NOTE)
        core = to_polygon(shape, _FLAT_MM)
    else:
        points = flatten(shape, _FLAT_MM)
        core = LineString([*points, points[0]] if shape.closed else points)
    grown = core.buffer(max(reach_mm, 0.05), quad_segs=12)
    for polygon in polygons_in(grown):
        area = moved_area(from_polygon(polygon), move)
        yield Stroke(area.outline, Pen.KEEP_CLEAR)
        for hole in area.holes:
            yield Stroke(hole, Pen.KEEP_CLEAR)
        moved = to_polygon(area, _FLAT_MM)
        x0, y0, x1, y1 = moved.bounds
        span = (x1 - x0) + (y1 - y0)
        step = _PITCH_MM * 2.0**0.5
        count = int(span / step) + 1
        lines = MultiLineString(
            [((x0 + i * step - (y1 - y0), y0), (x0 + i * step, y1)) for i in range(count)]
        )
        for part in get_parts(overlap(lines, moved)):
            if part.geom_type == "LineString" and part.length > 0.3:
                yield Stroke(polyline(list(part.coords), closed=False), Pen.KEEP_CLEAR)
