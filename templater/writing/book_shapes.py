"""The outlines of glue patches, fitted to each other like tiles.

A patch is the cells of its stones, each cell being all that is nearer to its stone than to any
other (Voronoi), as far as the zone's cloth and a little beyond the stones. Imported late (shapely).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from templater.geometry.moves import moved_area
from templater.geometry.polygons import (
    overlap,
    polygons_in,
    rings_of,
    sound,
    to_polygon,
    united,
)
from templater.model.curves import Ring
from templater.model.ground import Side
from templater.model.plan import Patch, Plan
from templater.model.stones import PlacedStone

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

_FLAT_MM = 0.1
_PLAIN_MM = 0.15
"""Outlines are simplified by so much: they are drawn, not cut."""
_HEAL_MM = 0.02
"""Cells that share a border may miss each other by rounding: they are joined over so much."""
_BEYOND_MM = 4.0
"""How far a patch reaches beyond its stones' edges where the zone goes on."""
_DISC_QUARTER = 6
"""Sides of a quarter of the many-sided figure that stands for all that is near a stone."""
_WITHIN_DISC = math.cos(math.pi / (4 * _DISC_QUARTER))
"""The circle inside that figure, as a share of its own."""


def patch_outlines(plan: Plan) -> dict[str, tuple[Ring, ...]]:
    """By the patch's name its rings on the garment (outlines anticlockwise, holes clockwise), mm."""
    stones = {stone.id: stone for stone in plan.stones}
    groups: dict[tuple[str, str], list[Patch]] = {}
    for patch in plan.counts.patches:
        groups.setdefault((patch.zone, patch.piece), []).append(patch)
    found: dict[str, tuple[Ring, ...]] = {}
    for (zone, piece), patches in groups.items():
        cloths = _cloths(plan, zone, piece)
        joined = plan.ground.surface(piece).joined_at_fold
        every = [stones[name] for patch in patches for name in patch.stones]
        for together in _by_side(patches):
            own = {name for patch in together for name in patch.stones}
            others = _near([stones[name] for name in own], every, own) if joined else []
            cloth = list(cloths.values()) if joined else [cloths.get(together[0].side)]
            found.update(_tiled(together, stones, others, [one for one in cloth if one]))
    return found


def _near(own: list[PlacedStone], every: list[PlacedStone], names: set[str]) -> list[PlacedStone]:
    """Stones of the same cloth's other patches that may share a border with these."""
    low = min(stone.x_mm for stone in own) - 4.0 * _BEYOND_MM
    high = max(stone.x_mm for stone in own) + 4.0 * _BEYOND_MM
    return [s for s in every if low <= s.x_mm <= high and s.id not in names]


def _by_side(patches: list[Patch]) -> list[list[Patch]]:
    sides: dict[Side, list[Patch]] = {}
    for patch in patches:
        sides.setdefault(patch.side, []).append(patch)
    return list(sides.values())


def _cloths(plan: Plan, zone: str, piece: str) -> dict[Side, BaseGeometry]:
    """The zone's cloth on each side; nothing for a row."""
    regions = [
        region
        for one in plan.ground.zones
        if one.name == zone and one.piece == piece
        for region in one.regions
    ]
    if not regions:
        return {}
    return {
        side.side: united(
            to_polygon(moved_area(region.area, side.transform), _FLAT_MM).buffer(0.02)
            for region in regions
        )
        for side in plan.ground.surface(piece).sides
    }


def _tiled(
    patches: list[Patch],
    stones: Mapping[str, PlacedStone],
    others: list[PlacedStone],
    cloths: Sequence[BaseGeometry],
) -> dict[str, tuple[Ring, ...]]:
    from shapely import prepare

    own = [[stones[name] for name in patch.stones] for patch in patches]
    cells = _cells([stone for group in own for stone in group], others)
    cloth = united(cloths) if cloths else None
    if cloth is not None:
        prepare(cloth)
    found = {}
    first = 0
    for patch, group in zip(patches, own, strict=True):
        shape = _joined(cells[first : first + len(group)])
        first += len(group)
        if cloth is not None and not cloth.covers(shape):
            shape = overlap(shape, cloth)
        shape = shape.simplify(_PLAIN_MM)
        found[patch.name] = tuple(ring for part in polygons_in(shape) for ring in rings_of(part))
    return found


@dataclass(frozen=True, slots=True)
class _Cell:
    """What belongs to a stone. `whole`: nothing had to be cut from what is nearer to it than to
    others, so that its corners are its neighbours' to the last bit.
    """

    shape: BaseGeometry
    whole: bool


def _joined(cells: Sequence[_Cell]) -> BaseGeometry:
    """Cells as one shape: of whole ones the lines between them are left out, which takes a hundredth
    of the time of an overlay.
    """
    from shapely import coverage_union_all

    whole = coverage_union_all([cell.shape for cell in cells if cell.whole])
    cut = [cell.shape for cell in cells if not cell.whole]
    if not cut:
        return whole
    return united(shape.buffer(_HEAL_MM) for shape in (whole, *cut)).buffer(-_HEAL_MM)


def _cells(own: list[PlacedStone], others: list[PlacedStone]) -> list[_Cell]:
    """All that is nearer to each of its own stones than to any other, and near it."""
    import numpy as np
    from shapely import MultiPoint, STRtree, is_valid, points, voronoi_polygons

    at = np.array([(stone.x_mm, stone.y_mm) for stone in (*own, *others)])
    places = points(at[: len(own)])
    reach_mm = [max(s.length_mm, s.width_mm) / 2.0 + _BEYOND_MM for s in own]
    if len(at) < 2:
        return [_Cell(_disc(*one), whole=False) for one in zip(places, reach_mm, strict=True)]
    every = MultiPoint(at)
    tree = STRtree(list(voronoi_polygons(every, extend_to=every.envelope.buffer(20.0)).geoms))
    # Which cell holds which stone is looked up: the order of the cells is not to be relied on.
    polygons = tree.geometries[tree.nearest(places)]
    whole = is_valid(polygons) & (_furthest(polygons, at) <= _WITHIN_DISC * np.array(reach_mm))
    return [
        _Cell(polygon, whole=True)
        if is_whole
        else _Cell(overlap(sound(polygon), _disc(place, reach)), whole=False)
        for polygon, is_whole, place, reach in zip(polygons, whole, places, reach_mm, strict=True)
    ]


def _disc(place: BaseGeometry, radius_mm: float) -> BaseGeometry:
    return place.buffer(radius_mm, quad_segs=_DISC_QUARTER)


def _furthest(polygons: Any, at: Any) -> Any:
    """How far each polygon's furthest corner lies from its place."""
    import numpy as np
    from shapely import get_coordinates

    corners, number = get_coordinates(polygons, return_index=True)
    far = np.zeros(len(polygons))
    np.maximum.at(far, number, np.hypot(*(corners - at[number]).T))
    return far
