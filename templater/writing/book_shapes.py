"""The outlines of glue patches, fitted to each other like tiles.

A patch is the cells of its stones, each cell being all that is nearer to its stone than to any
other (Voronoi), as far as the zone's cloth and a little beyond the stones. Imported late (shapely).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

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
    own = [[stones[name] for name in patch.stones] for patch in patches]
    cells = _cells([stone for group in own for stone in group], others)
    cloth = united(cloths) if cloths else None
    found = {}
    first = 0
    for patch, group in zip(patches, own, strict=True):
        here = range(first, first + len(group))
        first += len(group)
        shape = united(cells[i].buffer(_HEAL_MM) for i in here).buffer(-_HEAL_MM)
        if cloth is not None:
            shape = overlap(shape, cloth)
        shape = shape.simplify(_PLAIN_MM)
        found[patch.name] = tuple(ring for part in polygons_in(shape) for ring in rings_of(part))
    return found


def _cells(own: list[PlacedStone], others: list[PlacedStone]) -> list[BaseGeometry]:
    """All that is nearer to each of its own stones than to any other, and near it."""
    from shapely import MultiPoint, Point, STRtree, voronoi_polygons

    discs = [
        Point(s.x_mm, s.y_mm).buffer(max(s.length_mm, s.width_mm) / 2.0 + _BEYOND_MM, quad_segs=6)
        for s in own
    ]
    at = MultiPoint([(stone.x_mm, stone.y_mm) for stone in (*own, *others)])
    if len(at.geoms) < 2:
        return list(discs)
    tree = STRtree(list(voronoi_polygons(at, extend_to=at.envelope.buffer(20.0)).geoms))
    cells = []
    for place, disc in zip(list(at.geoms)[: len(own)], discs, strict=True):
        # Which cell holds which stone is looked up: the order of the cells is not to be relied on.
        cell = tree.geometries[tree.nearest(place)]
        cells.append(overlap(sound(cell), disc))
    return cells
