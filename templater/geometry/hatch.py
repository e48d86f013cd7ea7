"""Parallel lines across an area, to mark it without colour. Imports shapely inside functions."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from templater.geometry.polygons import overlap
from templater.model.curves import Point

if TYPE_CHECKING:
    from shapely import Polygon

_SHORTEST_MM = 0.3


def hatch(polygon: Polygon, pitch_mm: float, *, falling: bool = False) -> list[tuple[Point, Point]]:
    """Lines at 45° within the polygon, `pitch_mm` apart; `falling` ones run down to the right.

    They lie on one grid for all areas, so that neighbours are hatched alike. Raises ValueError for
    a pitch that is not positive.
    """
    from shapely import MultiLineString, get_parts

    if not pitch_mm > 0.0:
        raise ValueError("the pitch of a hatch must be positive")
    if polygon.is_empty:
        return []
    x0, y0, x1, y1 = polygon.bounds
    slope = -1.0 if falling else 1.0
    step = pitch_mm * math.sqrt(2.0)
    # y = slope·x + c; c takes the multiples of the step that meet the box
    corners = [y - slope * x for x in (x0, x1) for y in (y0, y1)]
    first, last = math.floor(min(corners) / step), math.ceil(max(corners) / step)
    lines = MultiLineString(
        [((x0, slope * x0 + k * step), (x1, slope * x1 + k * step)) for k in range(first, last + 1)]
    )
    return [
        (part.coords[0], part.coords[-1])
        for part in get_parts(overlap(lines, polygon))
        if part.geom_type == "LineString" and part.length > _SHORTEST_MM
    ]
