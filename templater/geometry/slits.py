"""Slits too narrow for shears, bridged where nobody sees it. Imports shapely inside functions.

A slit is what no disc of its width can enter and what is deeper than it is wide: an inward corner
stays as it is, however the disc would round it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from templater.geometry.polygons import overlap, polygons_in, united, without

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from shapely import LineString, Polygon
    from shapely.geometry.base import BaseGeometry

_QUARTER_SIDES = 32
_THIN = 0.001
"""The sides of the discs leave slivers along smooth curves, thinner than this share of a radius."""
_ON_MM = 0.01
_SPARE_MM = 1e-5
_HAIR_MM = 2e-5


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


def _filled(region: BaseGeometry, slits: Sequence[Polygon], on_mm: float = _ON_MM) -> BaseGeometry:
    """With every slit filled as the region's boundary and lines across its mouths enclose it."""
    import shapely

    if not slits:
        return region
    mouths = [_mouths(region, slit, on_mm) for slit in slits]
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
    import shapely

    closed = region.buffer(radius_mm, _QUARTER_SIDES).buffer(-radius_mm, _QUARTER_SIDES)
    for part in polygons_in(without(closed, region).buffer(-_THIN * radius_mm)):
        deepest = shapely.distance(shapely.points(part.exterior.coords), closed.boundary).max()
        if deepest > radius_mm:
            yield part


def _mouths(region: BaseGeometry, slit: Polygon, on_mm: float) -> list[LineString]:
    """Where the slit is open: straight lines from side to side."""
    import shapely

    x0, y0, x1, y1 = slit.bounds
    spare = 1.0 + on_mm
    sides = shapely.clip_by_rect(region.boundary, x0 - spare, y0 - spare, x1 + spare, y1 + spare)
    open_ends = shapely.line_merge(without(slit.boundary, sides.buffer(on_mm)))
    return [_across(sides, line) for line in shapely.get_parts(open_ends)]


def _across(sides: BaseGeometry, mouth: LineString) -> LineString:
    """From side to side of a mouth, run on by a little so that it meets both."""
    import shapely

    ends = [
        shapely.shortest_line(sides, shapely.Point(at)).coords[0]
        for at in (mouth.coords[0], mouth.coords[-1])
    ]
    (x0, y0), (x1, y1) = ends
    length = max(shapely.LineString(ends).length, _SPARE_MM)
    dx, dy = _SPARE_MM * (x1 - x0) / length, _SPARE_MM * (y1 - y0) / length
    return shapely.LineString([(x0 - dx, y0 - dy), (x1 + dx, y1 + dy)])
