"""Where each piece lies in the drawing, and which piece another shape belongs to."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from templater.geometry.polygons import overlap, to_polygon
from templater.model.curves import Area, Path

if TYPE_CHECKING:
    from shapely import Polygon
    from shapely.geometry.base import BaseGeometry

MAIN = "main"
FLAT_MM = 0.002
"""How finely areas are flattened to be compared; nothing that is cut comes from it."""


@dataclass(frozen=True, slots=True)
class Site:
    """A piece's place in the drawing: its name and polygon (None: the piece without an outline)."""

    name: str
    polygon: Polygon | None


def sites_of(areas: Sequence[tuple[str, Area]]) -> tuple[Site, ...]:
    if not areas:
        return (Site(MAIN, None),)
    return tuple(Site(name, to_polygon(area, FLAT_MM)) for name, area in areas)


def site_for(sites: Sequence[Site], geometry: BaseGeometry) -> tuple[str, bool]:
    """The piece that contains most of a geometry, and whether it touches it at all."""
    places = [(site.name, site.polygon) for site in sites if site.polygon is not None]
    if not places:
        return sites[0].name, True

    def share(polygon: Polygon) -> float:
        shared = overlap(polygon, geometry)
        return float(shared.area if geometry.area > 0.0 else shared.length)

    name, polygon = max(places, key=lambda place: share(place[1]))
    if share(polygon) > 0.0:
        return name, True
    name, polygon = min(places, key=lambda place: float(place[1].distance(geometry)))
    return name, bool(polygon.distance(geometry) == 0.0)


def line_geometry(path: Path) -> BaseGeometry:
    """A path as a shapely line, closed if it is."""
    from shapely import LinearRing, LineString

    from templater.geometry.flatten import flatten

    points = flatten(path, FLAT_MM)
    return LinearRing(points) if path.closed and len(points) > 2 else LineString(points)
