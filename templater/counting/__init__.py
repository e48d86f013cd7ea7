"""The numbers: what to buy, what it costs and weighs, how long it takes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from templater.counting.shopping import shopping_list
from templater.counting.work import zone_counts
from templater.model.plan import Counts
from templater.model.problems import Problems
from templater.model.stones import PlacedStone, Size

if TYPE_CHECKING:
    from templater.job.schema import Job

__all__ = ["count"]


def count(
    stones: Sequence[PlacedStone], sizes: Mapping[str, Size], job: Job
) -> tuple[Counts, Problems]:
    """Every number of a job. `cost` sums what is priced; it is None where nothing is."""
    lines, problems = shopping_list(stones, sizes, job)
    zones = zone_counts(stones, sizes, job)
    priced = [line.cost for line in lines if line.cost is not None]
    counts = Counts(
        shopping=lines,
        zones=zones,
        minutes=round(sum(zone.minutes for zone in zones), 1),
        mass_g=round(sum(zone.mass_g for zone in zones), 1),
        cost=round(sum(priced), 2) if priced else None,
        currency=job.prices.currency,
    )
    return counts, problems
