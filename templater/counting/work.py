"""How long the setting takes, what the stones weigh, how many fit the glue's open time."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from templater.model.plan import ZoneCount
from templater.model.stones import PlacedStone, Size, StoneKind

if TYPE_CHECKING:
    from templater.job.schema import Job

DENSITY_G_CM3 = 2.5
"""Soda-lime glass, about; crystal glass classes begin at 2.40 (EU Directive 69/493/EEC). ±30 % in all."""

_HEIGHT_OF_WIDTH = 0.4
_TABLE_OF_WIDTH = 0.5


def stone_mass_g(length_mm: float, width_mm: float) -> float:
    """Mass of a flat-back as a frustum, 0.4 of the width high with a table half as wide.

    V = h·(A + √(A·a) + a)/3, an ellipse for shaped stones; derived, ±30 %.
    """
    base = math.pi / 4.0 * length_mm * width_mm
    table = base * _TABLE_OF_WIDTH**2
    volume_mm3 = _HEIGHT_OF_WIDTH * width_mm * (base + math.sqrt(base * table) + table) / 3.0
    return volume_mm3 * DENSITY_G_CM3 / 1000.0


def zone_counts(
    stones: Sequence[PlacedStone], sizes: Mapping[str, Size], job: Job
) -> tuple[ZoneCount, ...]:
    """Totals by zone or row, in the order in which they first appear."""
    by_zone: dict[str, list[PlacedStone]] = {}
    for stone in stones:
        by_zone.setdefault(stone.zone, []).append(stone)
    return tuple(_zone_count(zone, placed, sizes, job) for zone, placed in by_zone.items())


def _zone_count(
    zone: str, stones: Sequence[PlacedStone], sizes: Mapping[str, Size], job: Job
) -> ZoneCount:
    minutes = sum(stone_minutes(stone, job) for stone in stones)
    mass = sum(
        stone_mass_g(sizes[stone.size].length_mm, sizes[stone.size].width_mm) for stone in stones
    )
    per_minute = len(stones) / minutes
    return ZoneCount(
        zone=zone,
        stones=len(stones),
        minutes=round(minutes, 1),
        mass_g=round(mass, 1),
        patch_stones=max(1, math.floor(per_minute * job.rates.open_minutes)),
    )


def stone_minutes(stone: PlacedStone, job: Job) -> float:
    """How long setting this stone takes, by the maker's rates."""
    return 60.0 / _stones_per_hour(stone.zone, stone.kind, job)


def _stones_per_hour(zone: str, kind: StoneKind, job: Job) -> float:
    rates = job.rates.stones_per_hour
    stoning = None if kind is StoneKind.ROW else job.stoning_of(zone)
    method = job.row_table(zone).method if stoning is None else stoning.method
    if method == "film":
        return rates.film
    if method == "tape":
        return rates.tape
    if stoning is None:
        return rates.outline
    if kind is StoneKind.OUTLINE:
        return rates.outline
    return rates.packed if stoning.fill.style == "packed" else rates.open
