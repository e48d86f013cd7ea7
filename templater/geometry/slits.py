"""Slits too narrow for shears, bridged where nobody sees it. Imports numpy and shapely inside
functions.

A slit is what no disc of its width can enter and what is deeper than half its width: an inward
corner stays as it is, however the disc would round it.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from templater.geometry.polygons import overlap, polygons_in, united, without

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from shapely import LineString, MultiPoint, Polygon
    from shapely.geometry.base import BaseGeometry

_QUARTER_SIDES = 32
_THIN = 0.001
"""The sides of the discs leave slivers along smooth curves, thinner than this share of a radius."""
_ON_MM = 0.01
_TOUCH_MM = 0.2
_GROSS_MM = 0.025
"""What GEOS may be off when it widens a line: it first leaves out corners of 0.01 of the width."""
_AT_HAND_MM = 0.5
"""The mouth of an inlet goes from corner to corner where these are no farther away."""
_TURN_RAD = math.radians(30.0)
_SPARE_MM = 1e-5
_HAIR_MM = 2e-5
_SHARP = 3.0
"""An inward corner counts as a slit where it is so many radii deep: below 29°, as tips are trimmed."""
_TAPERED = 0.35
"""Of a slit's area, what lies farther in than half its depth: an inward corner has about a quarter
of it there, two sides that run beside each other half."""


def healed(region: BaseGeometry, crack_mm: float) -> BaseGeometry:
    """The region with all its slits narrower than `crack_mm` filled."""
    # Those of hardly any width are closed by widening the region; corners come back as they were.
    region = region.buffer(_HAIR_MM, join_style="mitre").buffer(-_HAIR_MM, join_style="mitre")
    slits = list(_slits(region, crack_mm / 2.0))
    return _filled(region, slits, crack_mm / 400.0)


def bridged(
    region: BaseGeometry, plain: BaseGeometry, room: BaseGeometry, width_mm: float
) -> BaseGeometry:
    """The region without slits narrower than `width_mm` beside what it has beyond `plain`.

    A slit is closed with a straight line across its mouth and nothing else is moved. One that
    reaches out of `room` is left.
    """
    beyond = without(region.boundary, plain.boundary.buffer(_ON_MM)).buffer(2.0 * _ON_MM)
    slits = [
        slit
        for slit in _slits(region, width_mm / 2.0)
        if overlap(slit.boundary, beyond).length > _ON_MM
        and without(slit, room).buffer(-_ON_MM).is_empty
    ]
    return _filled(region, slits)


def inlets_bridged(region: BaseGeometry, kept: BaseGeometry, width_mm: float) -> BaseGeometry:
    """The region without inlets and holes narrower than `width_mm`, but for those along `kept`.

    They are closed as slits are. An inward corner of 29° or more is no inlet.
    """
    along = kept.buffer(_GROSS_MM)

    def is_free(slit: Polygon) -> bool:
        return bool(overlap(slit.boundary, along).length <= _TOUCH_MM)

    def inlets(radius_mm: float, thin_mm: float) -> list[Polygon]:
        return [
            slit
            for slit, _, closed in _measured_slits(region, radius_mm, thin_mm)
            if _is_inlet(slit, closed, radius_mm) and is_free(slit)
        ]

    # Those too thin to be told from what GEOS may be off go first.
    hair_mm = 1.25 * _GROSS_MM
    region = _filled(region, inlets(hair_mm, _THIN * hair_mm), hair_mm / 200.0)
    return _filled(region, inlets(width_mm / 2.0, _GROSS_MM), 2.0 * _GROSS_MM, _AT_HAND_MM)


def _is_inlet(slit: Polygon, closed: BaseGeometry, radius_mm: float) -> bool:
    import shapely

    # Also amid its sides: one that is open at both ends is deepest there.
    around = shapely.segmentize(slit.exterior, radius_mm)
    depth_mm = shapely.distance(shapely.points(around.coords), closed.boundary).max()
    if depth_mm <= radius_mm:
        return False
    if depth_mm > _SHARP * radius_mm:
        return True
    inner = overlap(slit, closed.buffer(-depth_mm / 2.0))
    return bool(inner.area >= _TAPERED * slit.area)


def blunted(region: BaseGeometry, plain: BaseGeometry, width_mm: float) -> BaseGeometry:
    """The region without tongues narrower than `width_mm` in what it has beyond `plain`.

    A tongue is cut off with a straight line across its root.
    """
    import shapely

    around = without(shapely.box(*region.bounds).buffer(4.0 * width_mm), region)
    tongues = [
        tongue
        for tongue in _slits(around, width_mm / 2.0)
        if overlap(tongue, plain).buffer(-_ON_MM).is_empty
    ]
    return without(region, _filled(around, tongues)) if tongues else region


def _filled(
    region: BaseGeometry, slits: Sequence[Polygon], on_mm: float = _ON_MM, at_hand_mm: float = 0.0
) -> BaseGeometry:
    """With every slit filled as the region's boundary and lines across its mouths enclose it."""
    import shapely

    if not slits:
        return region
    mouths = [_mouths(region, slit, on_mm, at_hand_mm) for slit in slits]
    lines = [region.boundary, *(line for each in mouths for line in each)]
    noded = shapely.unary_union(lines, grid_size=_SPARE_MM / 100.0)
    faces = shapely.get_parts(shapely.polygonize([noded]))
    tree = shapely.STRtree(faces)
    found = [
        faces[k]
        for slit in slits
        for k in sorted(tree.query(slit, predicate="intersects").tolist())
        if overlap(faces[k], slit).area > slit.area / 2.0
    ]
    # A mouth may be too narrow to be told from the sides.
    found += [slit.buffer(on_mm) for slit, each in zip(slits, mouths, strict=True) if not each]
    return united([region, *found])


def _slits(region: BaseGeometry, radius_mm: float) -> Iterator[Polygon]:
    """What a disc cannot enter, where that is deeper than the disc's radius."""
    slits = _measured_slits(region, radius_mm, _THIN * radius_mm)
    return (slit for slit, depth_mm, _ in slits if depth_mm > radius_mm)


def _measured_slits(
    region: BaseGeometry, radius_mm: float, thin_mm: float
) -> Iterator[tuple[Polygon, float, BaseGeometry]]:
    """What a disc cannot enter but for `thin_mm` along its sides, how deep that is, and the region
    with all of it closed.
    """
    import shapely

    closed = region.buffer(radius_mm, _QUARTER_SIDES).buffer(-radius_mm, _QUARTER_SIDES)
    for part in polygons_in(without(closed, region).buffer(-thin_mm)):
        away = shapely.distance(shapely.points(part.exterior.coords), closed.boundary)
        yield part, float(away.max()), closed


def _mouths(
    region: BaseGeometry, slit: Polygon, on_mm: float, at_hand_mm: float
) -> list[LineString]:
    """Where the slit is open: straight lines from side to side."""
    import shapely

    x0, y0, x1, y1 = slit.bounds
    spare = 1.0 + on_mm
    sides = shapely.clip_by_rect(region.boundary, x0 - spare, y0 - spare, x1 + spare, y1 + spare)
    open_ends = shapely.line_merge(without(slit.boundary, sides.buffer(on_mm)))
    corners = _corners(sides) if at_hand_mm > 0.0 else shapely.MultiPoint()
    return [_across(sides, corners, line, at_hand_mm) for line in shapely.get_parts(open_ends)]


def _corners(sides: BaseGeometry) -> MultiPoint:
    """Where lines turn at once."""
    import numpy as np
    import shapely

    found = []
    for line in shapely.get_parts(shapely.line_merge(sides)):
        points = shapely.get_coordinates(line)
        along = np.diff(points, axis=0)
        angles = np.arctan2(along[:, 1], along[:, 0])
        turns = np.abs((np.diff(angles) + np.pi) % (2.0 * np.pi) - np.pi)
        found += points[1:-1][turns > _TURN_RAD].tolist()
    return shapely.MultiPoint(found)


def _across(
    sides: BaseGeometry, corners: MultiPoint, mouth: LineString, at_hand_mm: float
) -> LineString:
    """From side to side of a mouth, from corner to corner where these are at hand, run on by a little
    so that it meets both.
    """
    import shapely

    ends = []
    for at in (shapely.Point(mouth.coords[0]), shapely.Point(mouth.coords[-1])):
        by_corner = not corners.is_empty and shapely.distance(corners, at) <= at_hand_mm
        ends.append(shapely.shortest_line(corners if by_corner else sides, at).coords[0])
    (x0, y0), (x1, y1) = ends
    length = max(shapely.LineString(ends).length, _SPARE_MM)
    dx, dy = _SPARE_MM * (x1 - x0) / length, _SPARE_MM * (y1 - y0) / length
    return shapely.LineString([(x0 - dx, y0 - dy), (x1 + dx, y1 + dy)])
