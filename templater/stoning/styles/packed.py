"""`packed`: any sizes, tight and irregular, in contact with the outline row, nothing more fits."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from dataclasses import field as parameter
from typing import TYPE_CHECKING, NamedTuple

from templater.geometry.rng import Rng
from templater.model.problems import Problem, Problems, Severity
from templater.model.stones import Field
from templater.stoning.styles.base import FillResult, FillStyle, Sizes, gathered, prepared
from templater.stoning.styles.posed import in_own_frame

if TYPE_CHECKING:
    from templater.geometry.kernels.room import Space, Stones
    from templater.geometry.kernels.ways import Taste


@dataclass(frozen=True, slots=True)
class Parameters:
    """How much work goes into the fill."""

    effort: float = parameter(
        default=1.0,
        metadata={
            "doc": "how long to look for a tighter fill: 0 takes the first, 2 looks twice as long"
        },
    )


class Growth(NamedTuple):
    """One way to grow a fill: see kernels.front.Taste. `favour` is for the size asked for most."""

    mode: int
    way: float
    cap: float
    favour: float
    noise: float


_MIXED = (
    Growth(0, 0.1, 4.0, 0.0, 0.01),
    Growth(0, 0.05, 4.0, 0.0, 0.01),
    Growth(0, 0.1, 4.0, 0.05, 0.02),
    Growth(0, 0.02, 4.0, 0.0, 0.02),
)
_ALIKE = (
    Growth(0, 0.5, 1.0, 0.0, 0.0),
    Growth(1, 0.1, 4.0, 0.0, 0.0),
    Growth(0, 3.0, 0.5, 0.0, 0.0),
    Growth(0, -0.5, 0.5, 0.0, 0.0),
    Growth(2, 0.5, 1.0, 0.0, 0.0),
)
_RENEWAL = Growth(0, 0.05, 4.0, 0.0, 0.2)
_RENEWALS = 4000
"""Spots of one zone that are done again: what fits in a fraction of a second."""
_RENEWALS_A_STONE = 40
_ROUNDS = 4
_SHAKEN = 4000
"""Stones up to which a fill is also shaken, in as many rounds as it is renewed."""
_FEW = 120
"""Stones of one size up to which four growths are done again, not two."""
_PATIENT = 12
"""Renewals a stone from which on spots may at first come out worse by all of the heat."""
_SPOT = 2.9
"""Radius of a spot in grown radii of the largest size: about a dozen stones."""
_HEAT = 0.6
"""How much worse a spot may come out at first, in steps from the smallest size to the largest."""
_SHARE_NOTED = 0.1
_SHARE = 0.2
"""How hard sizes are held to their shares: mm of free way for a share missed altogether."""
_MIXED_ENOUGH = 0.1
_MIXING = 0.1
"""A growth counts this share less for sizes that keep to themselves by 1 beyond what is enough."""
_UNLIKE = 0.05
"""Free way that a place is thought worse by for each neighbour of its own size beyond the first."""
_SMALL_ZONE = 8000
"""Stones that all tries of one zone may add up to beyond the first: a small zone affords more."""


def fill(field: Field, params: Parameters, sizes: Sizes, gap_mm: float, rng: Rng) -> FillResult:
    """Any sizes, tight and irregular."""

    def work(own: Field, gap: float) -> FillResult:
        space, start = prepared(own, sizes, gap)
        if len(sizes) == 1:
            best = _alike(own, space, start, params, rng)
        else:
            best = _mixed(own, space, start, [share for _, share in sizes], params, rng)
        return gathered(best, maximal=True)

    result = in_own_frame(field, gap_mm, work)
    return replace(result, problems=_shifted(field, sizes, result.size_index))


def _shifted(field: Field, sizes: Sizes, set_sizes: Sequence[int]) -> Problems:
    """A note where geometry has moved a size's share by more than a tenth of the count."""
    total, count = sum(share for _, share in sizes), len(set_sizes)
    found = [set_sizes.count(s) / max(count, 1) for s in range(len(sizes))]
    wanted = [share / total for _, share in sizes]
    if count == 0 or all(abs(a - b) <= _SHARE_NOTED for a, b in zip(found, wanted, strict=True)):
        return ()
    told = ", ".join(
        f"{size.name} {got:.0%} (asked {want:.0%})"
        for (size, _), got, want in zip(sizes, found, wanted, strict=True)
    )
    return (
        Problem(
            "shares-shifted",
            Severity.NOTE,
            f"zone {field.zone!r}: the tightest fill found has {told}",
            "change the shares, or count by these; shares are aims, room decides",
        ),
    )


def _tries(space: Space, params: Parameters, most: int) -> int:
    import numpy as np

    cells = int(np.count_nonzero(np.asarray(space.open_to)))
    mean = sum(space.grown) / len(space.grown)
    stones = 1.0 + cells * space.fine * space.fine / (4.0 * mean * mean)
    return max(1, min(most, int(params.effort * _SMALL_ZONE / stones)))


def _mixed(
    field: Field,
    space: Space,
    start: Stones,
    shares: Sequence[float],
    params: Parameters,
    rng: Rng,
) -> Stones:
    """Several sizes: the best of some growths, then many small spots of it done again."""
    from templater.geometry.kernels.packing import assortativity, depth_map, stone_area

    depth = depth_map(space)
    best, most = start, -1.0
    for k in range(_tries(space, params, 6)):
        growth = _MIXED[k % len(_MIXED)]
        stones = _grown(field, space, start, growth, shares, depth, rng.child("grow", k))
        apart = max(0.0, assortativity(space, stones) - _MIXED_ENOUGH)
        worth = stone_area(space, stones) * (1.0 - _MIXING * apart)
        if worth > most:
            best, most = stones, worth
    return _again(field, space, best, shares, depth, params, rng.child("renew"))


def _again(
    field: Field,
    space: Space,
    stones: Stones,
    shares: Sequence[float],
    depth: object,
    params: Parameters,
    rng: Rng,
) -> Stones:
    """The stones with many small spots done again, as many as effort and size of the zone allow."""
    from templater.geometry.kernels.packing import enlarged, finished, mended, new_bench, renewed

    taste = _taste(space, _RENEWAL, shares, depth)._replace(at_walls=not field.obstacles)
    bench = new_bench(space, (rng.first, rng.second))
    own = int(stones.held[0]) - int(stones.held[1])
    renewals = int(params.effort * min(_RENEWALS_A_STONE * own, _RENEWALS))
    reach = _SPOT * max(space.grown)
    patience = min(1.0, renewals / (_PATIENT * max(own, 1)))
    heat = patience * _HEAT * (max(space.radius) ** 2 - min(space.radius) ** 2)
    rounds = _ROUNDS if own <= _SHAKEN else 1
    for k in range(rounds):
        part = renewals * (k + 1) // rounds - renewals * k // rounds
        warm = heat * (rounds - k) / rounds
        stones = renewed(space, stones, taste, bench, part, reach, warm)
        if rounds > 1:
            stones = enlarged(space, mended(space, stones, len(shares) - 1))
    return finished(space, stones)


def _alike(field: Field, space: Space, start: Stones, params: Parameters, rng: Rng) -> Stones:
    """One size: growth of several kinds and the best lattice, each mended; the fullest of all."""
    from templater.geometry.kernels.lattice import lay_lattice
    from templater.geometry.kernels.packing import depth_map, finished, mended
    from templater.geometry.kernels.space import copied, roomier
    from templater.stoning.styles.regular import best_rows

    depth = depth_map(space)
    found = []
    rows = best_rows(space, start, field, None, staggered=True, size=0)
    count = lay_lattice(space, start, *rows, 0, False)
    stones = roomier(copied(start), int(start.held[0]) + count + 16)
    lay_lattice(space, stones, *rows, 0, True)
    found.append(stones)
    for k in range(_tries(space, params, len(_ALIKE))):
        child = rng.child("grow", k)
        found.append(_grown(field, space, start, _ALIKE[k], [1.0], depth, child))
    whole = [finished(space, mended(space, stones, 0)) for stones in found]
    whole.sort(key=lambda stones: -int(stones.held[0]))
    best = whole[0]
    own = int(best.held[0]) - int(best.held[1])
    for k, stones in enumerate(whole[: 4 if own < _FEW else 2]):
        again = _again(field, space, copied(stones), [1.0], depth, params, rng.child("renew", k))
        again = finished(space, mended(space, again, 0))
        if int(again.held[0]) > int(best.held[0]):
            best = again
    return best


def _grown(
    field: Field,
    space: Space,
    start: Stones,
    growth: Growth,
    shares: Sequence[float],
    depth: object,
    rng: Rng,
) -> Stones:
    from templater.geometry.kernels.packing import (
        corner_seeds,
        finished,
        grown_fill,
        new_bench,
    )
    from templater.geometry.kernels.space import copied

    taste = _taste(space, growth, shares, depth)
    bench = new_bench(space, (rng.first, rng.second))
    seeds = corner_seeds(space, field.rings)
    return finished(space, grown_fill(space, copied(start), taste, bench, seeds))


def _taste(space: Space, growth: Growth, shares: Sequence[float], depth: object) -> Taste:
    from templater.geometry.kernels.compiled import column
    from templater.geometry.kernels.ways import FROM_POINT, Taste

    largest = max(range(len(shares)), key=lambda s: (shares[s], -s))
    bonus = column([growth.favour if s == largest else 0.0 for s in range(len(shares))])
    total = sum(shares)
    x, y = 0.6, 0.8
    if growth.mode == FROM_POINT:
        x = space.fine_x + space.fine_nx * space.fine / 2.0
        y = space.fine_y + space.fine_ny * space.fine / 2.0
    even = 0.0 if len(shares) == 1 else _SHARE
    wanted = column([share / total for share in shares])
    return Taste(
        growth.way,
        bonus,
        growth.noise,
        even,
        0.0,
        growth.cap,
        0.0 if len(shares) == 1 else _UNLIKE,
        True,
        wanted,
        depth,
        x,
        y,
        growth.mode,
    )


STYLE = FillStyle(
    "packed",
    "any sizes, as tight as a careful hand sets them, irregular; nothing more fits",
    Parameters,
    fill,
)
