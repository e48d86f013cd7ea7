"""The numbers: what to buy, what it costs and weighs, how long it takes, in which portions."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from templater.counting.materials import cloth_lines, glue_ml, stencil_sheets
from templater.counting.patches import make_patches
from templater.counting.shopping import shopping_list
from templater.counting.work import stone_minutes, zone_counts
from templater.model.parts import CutPart, Pass
from templater.model.plan import Counts
from templater.model.problems import Problems
from templater.model.stones import PlacedStone, Size

if TYPE_CHECKING:
    from templater.job.schema import Job

__all__ = ["count"]


def count(
    stones: Sequence[PlacedStone],
    sizes: Mapping[str, Size],
    job: Job,
    parts: Sequence[CutPart] = (),
    passes: Sequence[Pass] = (),
) -> tuple[Counts, Problems]:
    """Every number of a job. `cost` sums what is priced; it is None where nothing is."""
    lines, problems = shopping_list(stones, sizes, job)
    zones = zone_counts(stones, sizes, job)
    priced = [line.cost for line in lines if line.cost is not None]
    sheets, film = stencil_sheets(passes)
    counts = Counts(
        shopping=lines,
        zones=zones,
        minutes=round(sum(zone.minutes for zone in zones), 1),
        mass_g=round(sum(zone.mass_g for zone in zones), 1),
        cost=round(sum(priced), 2) if priced else None,
        currency=job.prices.currency,
        patches=make_patches(
            stones,
            sizes,
            {zone.zone: zone.patch_stones for zone in zones},
            lambda stone: stone_minutes(stone, job),
        ),
        cloths=cloth_lines(parts, job.templates.cloth.width),
        glue_ml=glue_ml(stones),
        stencil_sheets=sheets,
        film_sheets=film,
        open_minutes=job.rates.open_minutes,
    )
    return counts, problems
