"""Outlines widened by allowances that differ from edge to edge.

Lines and arcs are offset exactly, as lines and arcs; Béziers by way of arcs within a share of the
tolerance. Parts of the offset that would cross themselves are resolved by taking the union of
every edge's strip. Imports shapely and numpy inside functions.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from templater.geometry.moves import reversed_path
from templater.geometry.offset_corners import Corner
from templater.geometry.offset_curves import Band, Piecework, both_ways, inwards, piecework
from templater.geometry.offset_smooth import smoothed
from templater.geometry.offset_trace import Tracer
from templater.geometry.polygons import polygons_in, rings_of
from templater.model.curves import Area, Path, Ring
from templater.model.ground import Edge

if TYPE_CHECKING:
    from shapely import Polygon
    from shapely.geometry.base import BaseGeometry

MITRE_LIMIT = 4.0
"""A mitre reaches at most this many allowances beyond its corner: tips under 29° are trimmed.

Common practice in vector graphics (1/sin(θ/2) = 4 at θ = 29°); a sharper tip of cloth folds badly.
"""

_FIT_SHARE = 0.05
_SMOOTH_SHARE = 0.6
"""Of the tolerance: for arcs in place of Béziers, and for few cubics in place of those arcs. The
rest is left to writers of formats that know no cubics."""
_LEAST_AREA_MM2 = 1e-9
_GRID_MM = 1e-7
"""Polygons are joined on this grid, so that lines a rounding error apart are one line."""
_FLAT_SHARE = 0.1
"""Decides only which curves meet where; the curves and their crossings are exact."""


def offset_region(
    rings: Sequence[Sequence[Edge]],
    corner: Corner = "mitre",
    mitre_limit: float = MITRE_LIMIT,
    tolerance_mm: float = 0.02,
) -> tuple[Area, ...]:
    """A region with every edge's allowance added, largest part first.

    `rings[0]` is the outline, anticlockwise, the others its holes, clockwise, as in
    `Region.rings`. Raises ValueError for a negative allowance or a tolerance that is not positive.
    """
    return offset_bands(
        [[(edge.path, edge.allowance_mm) for edge in ring] for ring in rings],
        corner,
        mitre_limit,
        tolerance_mm,
    )


def inset_region(
    rings: Sequence[Sequence[Edge]],
    corner: Corner = "mitre",
    mitre_limit: float = MITRE_LIMIT,
    tolerance_mm: float = 0.02,
) -> tuple[Area, ...]:
    """A region with every edge's allowance taken off, largest part first; empty if none is left."""
    around = [
        [(reversed_path(edge.path), edge.allowance_mm) for edge in reversed(ring)] for ring in rings
    ]
    return _areas(
        inwards(piecework(around, corner, mitre_limit, *_shares(tolerance_mm))), tolerance_mm
    )


def offset_area(
    area: Area,
    width_mm: float,
    corner: Corner = "round",
    mitre_limit: float = MITRE_LIMIT,
    tolerance_mm: float = 0.02,
) -> tuple[Area, ...]:
    """An area widened by one width all round, or narrowed by a negative one."""
    paths = (area.outline, *area.holes)
    if width_mm >= 0.0:
        rings = [[(path, width_mm)] for path in paths]
        return offset_bands(rings, corner, mitre_limit, tolerance_mm)
    around = [[(reversed_path(path), -width_mm)] for path in paths]
    return _areas(
        inwards(piecework(around, corner, mitre_limit, *_shares(tolerance_mm))), tolerance_mm
    )


def offset_bands(
    rings: Sequence[Sequence[Band]],
    corner: Corner,
    mitre_limit: float,
    tolerance_mm: float,
) -> tuple[Area, ...]:
    """As `offset_region`, of bare paths with their widths."""
    if any(width < 0.0 for ring in rings for _, width in ring):
        raise ValueError("an allowance must not be negative")
    return _areas(piecework(rings, corner, mitre_limit, *_shares(tolerance_mm)), tolerance_mm)


def offset_signed(
    rings: Sequence[Sequence[Band]],
    corner: Corner,
    mitre_limit: float,
    tolerance_mm: float,
) -> tuple[Area, ...]:
    """As `offset_bands`, where a negative width takes cloth off beside its edge."""
    outward = [[(path, max(width, 0.0)) for path, width in ring] for ring in rings]
    inward = [
        [(reversed_path(path), max(-width, 0.0)) for path, width in reversed(ring)]
        for ring in rings
    ]
    shares = _shares(tolerance_mm)
    added = piecework(outward, corner, mitre_limit, *shares)
    taken = piecework(inward, corner, mitre_limit, *shares)
    return _areas(both_ways(added, taken), tolerance_mm)


def _shares(tolerance_mm: float) -> tuple[float, float]:
    if not tolerance_mm > 0.0:
        raise ValueError("the tolerance must be positive")
    return tolerance_mm * _FIT_SHARE, tolerance_mm * _FLAT_SHARE


def _areas(work: Piecework, tolerance_mm: float) -> tuple[Area, ...]:
    import shapely

    flat_mm = _shares(tolerance_mm)[1]
    if not work.source:
        return ()
    source = _sound(shapely.Polygon(work.source[0], work.source[1:]))
    strips = _union(work.strips)
    if work.cuts:
        strips = shapely.difference(strips, _union(work.cuts), grid_size=_GRID_MM)
    result = shapely.union(source, strips, grid_size=_GRID_MM)
    if work.taken:
        taken = _union(work.taken)
        if work.taken_cuts:
            taken = shapely.difference(taken, _union(work.taken_cuts), grid_size=_GRID_MM)
        result = shapely.difference(result, taken, grid_size=_GRID_MM)
    tracer = Tracer(work.curves, flat_mm)

    def path(ring: Ring) -> Path:
        return smoothed(tracer.trace(ring), work.bends, tolerance_mm * _SMOOTH_SHARE)

    areas = []
    for polygon in polygons_in(result):
        if _sliver(polygon, tolerance_mm):
            continue
        outline, *holes = rings_of(polygon)
        areas.append(
            Area(
                path(outline),
                tuple(
                    path(hole) for hole in holes if not _sliver(shapely.Polygon(hole), tolerance_mm)
                ),
            )
        )
    return tuple(areas)


def _union(rings: Sequence[Ring]) -> BaseGeometry:
    """All the rings' polygons as one; those without an area, such as a needle's, add nothing."""
    import shapely

    polygons = [shapely.Polygon(ring) for ring in rings]
    sound = [_sound(each) for each in polygons if each.area > _LEAST_AREA_MM2]
    return shapely.union_all(sound, grid_size=_GRID_MM)


def _sound(polygon: Polygon) -> BaseGeometry:
    """A valid polygon as it is; of one that touches or crosses itself the parts with an area."""
    import shapely

    if polygon.is_valid:
        return polygon
    return shapely.make_valid(polygon, method="structure", keep_collapsed=False)


def _sliver(polygon: object, tolerance_mm: float) -> bool:
    import shapely

    return bool(shapely.buffer(polygon, -tolerance_mm / 2.0).is_empty)
