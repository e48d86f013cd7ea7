"""Pieceworks joined to regions, and regions back to curves. Imports shapely inside functions."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from templater.geometry.offset_curves import Bend, Curve, Piecework
from templater.geometry.offset_smooth import smoothed
from templater.geometry.offset_trace import Tracer
from templater.geometry.polygons import polygons_in, rings_of
from templater.model.curves import Area, Path, Ring

if TYPE_CHECKING:
    from shapely import Polygon
    from shapely.geometry.base import BaseGeometry

_FIT_SHARE = 0.05
_SMOOTH_SHARE = 0.6
"""Of the tolerance: for arcs in place of Béziers, and for few cubics in place of those arcs. The
rest is left to writers of formats that know no cubics."""
_FLAT_SHARE = 0.1
"""Decides only which curves meet where; the curves and their crossings are exact."""
_LEAST_AREA_MM2 = 1e-9
GRID_MM = 1e-7
"""Polygons are joined on this grid, so that lines a rounding error apart are one line."""


def shares(tolerance_mm: float) -> tuple[float, float]:
    """What of the tolerance fitting and flattening may take. Raises ValueError if not positive."""
    if not tolerance_mm > 0.0:
        raise ValueError("the tolerance must be positive")
    return tolerance_mm * _FIT_SHARE, tolerance_mm * _FLAT_SHARE


def joined(work: Piecework) -> BaseGeometry:
    """The source with its strips added and taken off, as flat polygons; empty without a source."""
    import shapely

    if not work.source:
        return shapely.Polygon()
    source = _sound(shapely.Polygon(work.source[0], work.source[1:]))
    strips = _union(work.strips)
    if work.cuts:
        strips = shapely.difference(strips, _union(work.cuts), grid_size=GRID_MM)
    result = shapely.union(source, strips, grid_size=GRID_MM)
    if work.taken:
        taken = _union(work.taken)
        if work.taken_cuts:
            taken = shapely.difference(taken, _union(work.taken_cuts), grid_size=GRID_MM)
        result = shapely.difference(result, taken, grid_size=GRID_MM)
    return result


def union_of(regions: Sequence[BaseGeometry]) -> BaseGeometry:
    import shapely

    return shapely.union_all(list(regions), grid_size=GRID_MM)


def with_hidden(plain: BaseGeometry, lapped: BaseGeometry, hidden: BaseGeometry) -> BaseGeometry:
    """The plain region, and of the lapped one what is hidden and hangs together with it."""
    import shapely

    shared = shapely.intersection(lapped, hidden, grid_size=GRID_MM)
    under = union_of(polygons_in(shared))  # regions that only touch share lines or points
    whole = polygons_in(shapely.union(plain, under, grid_size=GRID_MM))
    inside = [part.representative_point() for part in polygons_in(plain)]
    kept = [part for part in whole if any(shapely.intersects(part, point) for point in inside)]
    return shapely.union_all(kept)


def areas_of(
    region: BaseGeometry, curves: Sequence[Curve], bends: Sequence[Bend], tolerance_mm: float
) -> tuple[Area, ...]:
    """A region bounded by the flattened curves as areas of the curves themselves, largest first."""
    import shapely

    polygons = [each for each in polygons_in(region) if not _sliver(each, tolerance_mm)]
    if not polygons:
        return ()
    tracer = Tracer(curves, shares(tolerance_mm)[1])

    def path(ring: Ring) -> Path:
        return smoothed(tracer.trace(ring), bends, tolerance_mm * _SMOOTH_SHARE)

    areas = []
    for polygon in polygons:
        outline, *holes = rings_of(polygon)
        kept = [hole for hole in holes if not _sliver(shapely.Polygon(hole), tolerance_mm)]
        areas.append(Area(path(outline), tuple(path(hole) for hole in kept)))
    return tuple(areas)


def _union(rings: Sequence[Ring]) -> BaseGeometry:
    """All the rings' polygons as one; those without an area, such as a needle's, add nothing."""
    import shapely

    polygons = [shapely.Polygon(ring) for ring in rings]
    sound = [_sound(each) for each in polygons if each.area > _LEAST_AREA_MM2]
    return shapely.union_all(sound, grid_size=GRID_MM)


def _sound(polygon: Polygon) -> BaseGeometry:
    """A valid polygon as it is; of one that touches or crosses itself the parts with an area."""
    import shapely

    if polygon.is_valid:
        return polygon
    return shapely.make_valid(polygon, method="structure", keep_collapsed=False)


def _sliver(polygon: object, tolerance_mm: float) -> bool:
    import shapely

    return bool(shapely.buffer(polygon, -tolerance_mm / 2.0).is_empty)
