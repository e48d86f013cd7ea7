"""`packed`: any sizes, tight and irregular, in contact with the outline row, nothing more fits."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from dataclasses import field as parameter
from typing import TYPE_CHECKING

from templater.geometry.rng import Rng
from templater.model.problems import Problem, Problems, Severity
from templater.model.stones import Field
from templater.stoning.styles.base import FillResult, FillStyle, Sizes, gathered, prepared
from templater.stoning.styles.growths import Growth, grown, stones_about, taste_of
from templater.stoning.styles.mixed import mixed
from templater.stoning.styles.posed import in_own_frame

if TYPE_CHECKING:
    from templater.geometry.kernels.room import Space, Stones


@dataclass(frozen=True, slots=True)
class Parameters:
    """How much work goes into the fill."""

    effort: float = parameter(
        default=1.0,
        metadata={
            "doc": "how long to look for a tighter fill: 0 takes the first, 2 looks twice as long"
        },
    )
    woven: bool = parameter(
        default=True,
        metadata={
            "doc": "whether two or three sizes may lie in a weave where that is tighter: a small pattern "
            "that repeats, in which no size keeps to itself; false keeps the fill irregular all over"
        },
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
_SHAKES = 4
_SHAKEN = 4000
"""Stones up to which a fill is also shaken, in as many rounds as it is renewed."""
_MORE, _MORE_PART = 1, 0.004
"""Stones of one size, and part of all, that a growth must hold beyond a lattice to be taken."""
_FEW = 120
"""Stones of one size up to which four growths are done again, not two."""
_SPOT = 2.9
"""Radius of a spot in grown radii: about a dozen stones."""
_SHARE_NOTED = 0.1
_SMALL_ZONE = 8000
"""Stones that all tries of one zone may add up to beyond the first: a small zone affords more."""


def fill(field: Field, params: Parameters, sizes: Sizes, gap_mm: float, rng: Rng) -> FillResult:
    """Any sizes, tight and irregular."""

    def work(own: Field, gap: float) -> FillResult:
        space, start = prepared(own, sizes, gap)
        if len(sizes) == 1:
            best = _alike(own, space, start, params, sizes, gap, rng)
        else:
            shares = [share for _, share in sizes]
            best = mixed(own, space, start, shares, params.effort, params.woven, rng)
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
    return max(1, min(most, int(params.effort * _SMALL_ZONE / stones_about(space))))


def _again(
    field: Field, space: Space, stones: Stones, depth: object, params: Parameters, rng: Rng
) -> Stones:
    """Stones of one size with many small spots done again, as effort and size of the zone allow."""
    from templater.geometry.kernels.packing import finished, mended, new_bench, renewed

    taste = taste_of(space, _RENEWAL, [1.0], depth)._replace(at_walls=not field.obstacles)
    bench = new_bench(space, (rng.first, rng.second))
    own = int(stones.held[0]) - int(stones.held[1])
    renewals = int(params.effort * min(_RENEWALS_A_STONE * own, _RENEWALS))
    rounds = _SHAKES if own <= _SHAKEN else 1
    for k in range(rounds):
        part = renewals * (k + 1) // rounds - renewals * k // rounds
        stones = renewed(space, stones, taste, bench, part, _SPOT * space.grown[0])
        if rounds > 1:
            stones = mended(space, stones)
    return finished(space, stones)


def _alike(
    field: Field,
    space: Space,
    start: Stones,
    params: Parameters,
    sizes: Sizes,
    gap_mm: float,
    rng: Rng,
) -> Stones:
    """One size: the best lattice, its rim eased, unless growths of several kinds hold clearly more.

    Growths meet in grains with bare lines between, which show; a lattice is even all over.
    """
    from templater.geometry.kernels.lattice import lay_lattice
    from templater.geometry.kernels.packing import depth_map, finished, mended
    from templater.geometry.kernels.space import copied, roomier
    from templater.stoning.styles.regular import best_rows
    from templater.stoning.styles.seam import eased

    depth = depth_map(space)
    found = []
    rows = best_rows(space, start, field, None, staggered=True, size=0)
    count = lay_lattice(space, start, *rows, 0, False)
    stones = roomier(copied(start), int(start.held[0]) + count + 16)
    lay_lattice(space, stones, *rows, 0, True)
    even = eased(field, space, start, stones, sizes, gap_mm, staggered=True)
    found.append(stones)
    for k in range(_tries(space, params, len(_ALIKE))):
        child = rng.child("grow", k)
        found.append(grown(field, space, start, _ALIKE[k], [1.0], depth, child))
    whole = [finished(space, mended(space, stones)) for stones in found]
    whole.sort(key=lambda stones: -int(stones.held[0]))
    best = whole[0]
    own = int(best.held[0]) - int(best.held[1])
    for k, stones in enumerate(whole[: 4 if own < _FEW else 2]):
        again = _again(field, space, copied(stones), depth, params, rng.child("renew", k))
        again = finished(space, mended(space, again))
        if int(again.held[0]) > int(best.held[0]):
            best = again
    more = int(best.held[0]) - int(even.held[0])
    return best if more > max(_MORE, _MORE_PART * own) else even


STYLE = FillStyle(
    "packed",
    "any sizes, as tight as a careful hand sets them, irregular; nothing more fits",
    Parameters,
    fill,
)
