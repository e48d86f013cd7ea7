"""Weaves: small patterns of two or three sizes that repeat, in which no size keeps to its own kind.

Some are so much tighter than any mixture at random that a fill starts from one wherever it can:
the pattern is drawn together for the sizes at hand, laid across the zone, and what it leaves along
the edges is grown.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

from templater.catalogue.tables import table
from templater.geometry.rng import Rng
from templater.stoning.styles.growths import Growth, stones_about, taste_of

if TYPE_CHECKING:
    from templater.geometry.kernels.room import Space, Stones
    from templater.geometry.kernels.tightening import Cell
    from templater.geometry.kernels.weave import Depths

_BETWEEN = Growth(0, 0.05, 4.0, 0.0, 0.02)
"""Fills what patterns leave at the edges."""
_KINDS = 3
"""How many of the most promising weaves are laid."""
_LAYINGS, _LAID_STONES = 32, 60_000
"""Layings tried at most, and stones that all of one zone may add up to beyond the first."""
_FILLED = 6
"""How many of the layings that hold most are filled up."""
_MISSED, _MOST_MISSED = 0.3, 0.06
"""A share missed by 1 counts as that part of the area lost; weaves that miss one by more are left out."""
_LEAST_FULL = 0.87
"""Part of the cloth that stones with half their gaps must take: an irregular rectangle reaches 0.863."""
_MOST_STRIPED = 0.25
"""Weaves of which one wave holds more show as stripes: found by looking at a dozen of them."""
_SPARE_MM = 1e-4
"""Room beyond the gap for each stone: what places lose when they are snapped."""


class Weave(NamedTuple):
    """A pattern for the sizes at hand, and how its sizes are shared out."""

    cell: Cell
    shares: tuple[float, ...]


def laid_weaves(
    space: Space,
    start: Stones,
    shares: Sequence[float],
    depth: object,
    effort: float,
    rng: Rng,
) -> Iterator[tuple[Stones, Depths]]:
    """Fills that start from a weave, laid here and there, now along the outline row and now across.

    With each goes which of its stones lie deep within the pattern.
    """
    from templater.geometry.kernels.packing import finished, grown_fill, new_bench, stone_area
    from templater.geometry.kernels.weave import laid
    from templater.stoning.styles.stretches import stretches

    kinds = promising(tuple(space.grown), tuple(space.radius), tuple(shares))
    count = max(1, int(min(effort, 1.0) * min(_LAYINGS, _LAID_STONES / stones_about(space))))
    taste = taste_of(space, _BETWEEN, shares, depth)._replace(share=0.0)
    if not kinds:
        return
    tried = []
    for k, (at, way) in enumerate(stretches(space, start, count)):
        child = rng.child("weave", k)
        cell = kinds[k // 2 % len(kinds)].cell
        turn = 2.0 * math.pi * child.uniform() if k % 2 else 0.0
        cosine, sine = math.cos(turn), math.sin(turn)
        turned = (way[0] * cosine - way[1] * sine, way[0] * sine + way[1] * cosine)
        shift = (child.uniform(), child.uniform())
        mirrored = child.below(2) == 1
        tried.append((*laid(space, start, cell, at, turned, shift, mirrored=mirrored), child))
    # What is grown in the rest is never as tight as a weave, so the more is laid the better.
    tried.sort(key=lambda found: -stone_area(space, found[0]))
    for stones, deep, child in tried[:_FILLED]:
        bench = new_bench(space, (child.first, child.second))
        filled = grown_fill(space, stones, taste, bench, deep=deep)
        yield finished(space, filled), deep


@lru_cache(maxsize=64)
def promising(
    grown: tuple[float, ...], radius: tuple[float, ...], shares: tuple[float, ...]
) -> tuple[Weave, ...]:
    """The weaves that would cover most with sizes in about these shares, the best first.

    Grown radii (half the gap more) and radii in mm.
    """
    from templater.geometry.kernels.tightening import tightened
    from templater.geometry.weave_figures import fullness, striped

    ranks = sorted(range(len(grown)), key=lambda s: -grown[s])
    wider = tuple(radius + _SPARE_MM for radius in grown)
    found = []
    for row in catalogued():
        size = tuple(ranks[rank] for rank in row.size) if max(row.size) < len(ranks) else ()
        own = tuple(size.count(s) / len(row.size) for s in range(len(grown)))
        missed = max(abs(a - b) for a, b in zip(own, shares, strict=True))
        if missed > _MOST_MISSED or min(own) == 0.0:
            continue
        cell = tightened(row._replace(size=size), wider)
        if cell and fullness(cell, grown) >= _LEAST_FULL and striped(cell) <= _MOST_STRIPED:
            area = sum(radius[s] ** 2 for s in size) / cell.area_mm2
            found.append((area * (1.0 - _MISSED * missed), Weave(cell, own)))
    found.sort(key=lambda pair: -pair[0])
    return tuple(weave for _, weave in found[:_KINDS])


@lru_cache(maxsize=1)
def catalogued() -> tuple[Cell, ...]:
    """The cells of the catalogue, sizes by rank, 0 the largest."""
    from templater.geometry.kernels.tightening import Cell

    found = []
    for row in table("weaves")["weaves"]:
        ax, bx, by = row["sides"]
        size, places = [], []
        for stone in row["stones"]:
            size.append(int(stone[0]))
            places.append((float(stone[1]), float(stone[2])))
        found.append(Cell(tuple(size), tuple(places), ax, bx, by))
    return tuple(found)
