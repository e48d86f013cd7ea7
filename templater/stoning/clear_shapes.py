"""What a zone's stones keep clear of: areas and lines, as walls and as what they take from it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from templater.geometry.flatten import flatten
from templater.geometry.measure import box_of, join_boxes
from templater.geometry.polygons import polygons_in, rings_of, united, without
from templater.model.curves import Area, Box, Path, Ring
from templater.model.ground import Ground, KeepClear, Zone
from templater.model.stones import Wall
from templater.stoning.flat_bits import FLAT_MM, bits, even_odd, meet, polygon

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

REACH_MM = 25.0
"""How far beyond a zone's box something can still matter to its stones, besides its own reach."""


def is_near(keep: KeepClear, box: Box) -> bool:
    return meet(box_of(flatten(_paths_of(keep)[0], 0.1)), box, keep.reach_mm + REACH_MM)


def clear_walls(keep: KeepClear, box: Box) -> list[Wall]:
    return [
        Wall(*start, *end, clearance)
        for path in _paths_of(keep)
        for start, end, clearance in bits(path.segments, keep.reach_mm, safe_left=False)
        if meet(box_of((start, end)), box, clearance + REACH_MM)
    ]


def less_clear(rings: Sequence[Ring], clear: Sequence[KeepClear]) -> tuple[tuple[Ring, ...], float]:
    """The zone's rings less the clear areas, and the area less what clear shapes reach over."""
    whole = even_odd(rings)
    if not clear:
        return tuple(rings), float(whole.area)
    left = without(whole, _reached(clear))
    areas = [_shape(keep) for keep in clear if isinstance(keep.shape, Area)]
    hard = [area for area in areas if area.intersects(whole)]
    if not hard:
        return tuple(rings), float(left.area)
    rest = without(whole, united(hard))
    free = tuple(ring for polygon in polygons_in(rest) for ring in rings_of(polygon))
    return free, float(left.area)


def open_rings(zone: Zone, ground: Ground) -> tuple[Ring, ...]:
    """The zone less its clear shapes and all they reach over: what coverage is taken of."""
    rings = [
        flatten(path, FLAT_MM)
        for region in zone.regions
        for path in (region.area.outline, *region.area.holes)
    ]
    box = join_boxes(box_of(ring) for ring in rings)
    clear = [keep for keep in ground.keep_clear if keep.piece == zone.piece and is_near(keep, box)]
    left = without(even_odd(rings), _reached(clear))
    return tuple(ring for polygon in polygons_in(left) for ring in rings_of(polygon))


def _reached(clear: Sequence[KeepClear]) -> BaseGeometry:
    """Everything nearer to a clear shape than its reach."""
    return united(_shape(keep).buffer(keep.reach_mm, quad_segs=32) for keep in clear)


def _shape(keep: KeepClear) -> BaseGeometry:
    from shapely import LineString

    flat = [flatten(path, FLAT_MM) for path in _paths_of(keep)]
    if isinstance(keep.shape, Area):
        return polygon(flat)
    points = flat[0]
    return LineString((*points, points[0]) if keep.shape.closed else points)


def _paths_of(keep: KeepClear) -> tuple[Path, ...]:
    if isinstance(keep.shape, Area):
        return (keep.shape.outline, *keep.shape.holes)
    return (keep.shape,)
