"""Which stones share a sheet: those of one zone or row on one side, or the whole of one at a fold."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from templater.geometry.pose import inverse
from templater.model.curves import Point, Transform
from templater.model.ground import EdgeKind, Ground, Side, Surface
from templater.model.stones import PlacedStone

if TYPE_CHECKING:
    from templater.job.schema import Job

_SIDES = (Side.LEFT, Side.RIGHT, Side.CENTRE, Side.SINGLE)
_SAME_MM = 0.0003
"""Mirrored positions, each snapped to 0.0001 mm, agree within this."""


@dataclass(frozen=True, slots=True)
class Group:
    """Stones of one zone or row, and the frame's mark centres, on the garment.

    `twin` is the index of an earlier group of which this one is the mirror image, stone for
    stone, under `from_twin`.
    """

    piece: str
    zone: str
    side: Side
    method: str
    stones: tuple[PlacedStone, ...]
    marks: tuple[Point, ...]
    twin: int | None = None
    from_twin: Transform | None = None


def make_groups(ground: Ground, stones: Sequence[PlacedStone], job: Job) -> tuple[Group, ...]:
    """Groups in the order of zones, then rows, then sides; stones in their own order."""
    by_name: dict[tuple[str, str], list[PlacedStone]] = {}
    for stone in stones:
        by_name.setdefault((stone.piece, stone.zone), []).append(stone)
    places = {(zone.piece, zone.name): i for i, zone in enumerate(ground.zones)}
    for row in ground.rows:
        places.setdefault((row.piece, row.name), len(places))
    groups: list[Group] = []
    for key in sorted(by_name, key=lambda name: (places.get(name, len(places)), name)):
        groups.extend(_groups_of(ground, key, by_name[key], job, len(groups)))
    return tuple(groups)


def _groups_of(
    ground: Ground, key: tuple[str, str], stones: list[PlacedStone], job: Job, first: int
) -> list[Group]:
    piece, name = key
    surface = ground.surface(piece)
    method = _method(name, job)
    if surface.joined_at_fold and _is_at_fold(ground, key, stones):
        return [Group(piece, name, Side.CENTRE, method, tuple(stones), ())]
    zone = next((z for z in ground.zones if (z.piece, z.name) == key), None)
    moves = {placement.side: placement.transform for placement in surface.sides}
    groups: list[Group] = []
    for side in _SIDES:
        own = tuple(stone for stone in stones if stone.side is side)
        if not own:
            continue
        move = moves.get(side)
        marks = tuple(_snapped(move.apply(p)) for p in zone.register) if zone and move else ()
        group = Group(piece, name, side, method, own, marks)
        groups.append(_with_twin(group, groups[0], surface, first) if groups else group)
    return groups


def _with_twin(group: Group, earlier: Group, surface: Surface, index: int) -> Group:
    """The group as the mirror image of an earlier one, if it is that, stone for stone."""
    moves = {placement.side: placement.transform for placement in surface.sides}
    there, here = moves.get(earlier.side), moves.get(group.side)
    if there is None or here is None or len(earlier.stones) != len(group.stones):
        return group
    move = inverse(there).then(here)
    for a, b in zip(earlier.stones, group.stones, strict=True):
        alike = (a.size, a.colour, a.finish) == (b.size, b.colour, b.finish)
        if not alike or math.dist(move.apply((a.x_mm, a.y_mm)), (b.x_mm, b.y_mm)) > _SAME_MM:
            return group
    marks = tuple(_snapped(move.apply(mark)) for mark in earlier.marks)
    return Group(
        group.piece, group.zone, group.side, group.method, group.stones, marks, index, move
    )


def _snapped(point: Point) -> Point:
    return (round(point[0], 4) + 0.0, round(point[1], 4) + 0.0)


def _is_at_fold(ground: Ground, key: tuple[str, str], stones: list[PlacedStone]) -> bool:
    if any(stone.side is Side.CENTRE for stone in stones):
        return True
    return any(
        edge.kind is EdgeKind.FOLD
        for zone in ground.zones
        if (zone.piece, zone.name) == key
        for region in zone.regions
        for ring in region.rings
        for edge in ring
    )


def _method(name: str, job: Job) -> str:
    stoning = job.stoning_of(name)
    if stoning is not None:
        return stoning.method
    row = job.rows.get(name)
    return "hand" if row is None else row.method
