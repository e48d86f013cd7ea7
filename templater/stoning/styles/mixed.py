"""`packed` of several sizes: grown and annealed, or begun from a weave where one is tighter."""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from typing import TYPE_CHECKING

from templater.geometry.rng import Rng
from templater.model.stones import Field
from templater.stoning.styles.fold_line import with_fold_line
from templater.stoning.styles.growths import Growth, grown, stones_about
from templater.stoning.styles.woven import laid_weaves

if TYPE_CHECKING:
    from templater.geometry.kernels.room import Space, Stones
    from templater.geometry.kernels.weave import Depths

_INWARDS = Growth(0, 0.1, 4.0, 0.1, 0.01)
_WORK = 3.6e6
"""Rounds of annealing in a zone, times its stones: less than a second."""
_ROUNDS, _LEAST_ROUNDS = 1200, 120
"""Rounds of one hot annealing, and how few are still of use: a larger zone is not annealed."""
_ORDERLY = 1.02
"""What a weave must cover beside a growth, before either is annealed, to be begun from: then it ends
about two points tighter, which is worth its regular look. Measured in six zones with three mixes.
"""
_GROWN = 50_000
"""Stones of a zone beyond which nothing is grown to compare with a weave."""
_HOT_PART = 0.6
_STARTS, _CYCLES, _CYCLE, _TWINS = 8, 16, 400, 2
"""Hot annealings at most; warm ones, rounds of each, and how many are tried from the same stones."""
_LACKS_MM, _LACK_MM = (0.68, 0.62, 0.65), 0.5
"""Voids too small by so much get a stone squeezed in while it is hot, or at every second warm turn."""
_SHARE_MET, _MISSED = 0.02, 0.3
"""A share off by more than the first counts as that part of the area lost."""
_MIXED_ENOUGH, _MIXED_LATER, _MIXING = 0.14, 0.03, 0.5
"""Sizes that keep to themselves by 1 beyond what is enough (more, as long as annealing is to follow
and mixes them) count as that part of the area lost.
"""


def mixed(
    field: Field,
    space: Space,
    start: Stones,
    shares: Sequence[float],
    effort: float,
    woven: bool,
    rng: Rng,
) -> Stones:
    """The start and a fill of several sizes: the best of all that effort allows to try."""
    from templater.geometry.kernels.packing import depth_map

    depth = depth_map(space)
    total = sum(shares)
    wanted = [share / total for share in shares]
    start = with_fold_line(space, start, wanted, rng.child("fold"))
    ordered: list[tuple[Stones, Depths]] = []
    # A weave and its mirror image would meet at a fold as two grains do, in a line that shows.
    if woven and len(space.on_from) == 0:
        ordered += laid_weaves(space, start, wanted, depth, effort, rng)
    ordered.sort(key=lambda found: -_worth(space, found[0], wanted, _MIXED_LATER))
    if ordered and stones_about(space) > _GROWN:
        return ordered[0][0]
    best = grown(field, space, start, _INWARDS, wanted, depth, rng.child("grow", 0))
    if int(best.held[0]) == int(best.held[1]):
        return best
    work = effort * _WORK
    if ordered:
        laid = _worth(space, ordered[0][0], wanted, _MIXED_LATER)
        if laid > _ORDERLY * _worth(space, best, wanted, _MIXED_LATER):
            return _warmed(space, *ordered[0], wanted, work, rng)
    return _annealed(field, space, start, best, wanted, depth, work, rng)


def _annealed(
    field: Field,
    space: Space,
    start: Stones,
    first: Stones,
    shares: Sequence[float],
    depth: object,
    work: float,
    rng: Rng,
) -> Stones:
    """The first growth and others annealed, hot and then warm, if work is enough for them."""
    from templater.geometry.kernels.weave import SHALLOW

    own = int(first.held[0]) - int(first.held[1])
    rounds = work / own
    if rounds < _LEAST_ROUNDS:
        return first
    hot = _hot(field, space, start, shares, depth, _HOT_PART * rounds, rng)
    best = max((first, *hot), key=lambda stones: _worth(space, stones, shares))
    return _warmed(space, best, SHALLOW, shares, (1.0 - _HOT_PART) * work, rng)


def _hot(
    field: Field,
    space: Space,
    start: Stones,
    shares: Sequence[float],
    depth: object,
    rounds: float,
    rng: Rng,
) -> list[Stones]:
    """Growths annealed so hot that they order themselves anew, shares and mixing steered."""
    from templater.geometry.kernels.annealing import Plan
    from templater.geometry.kernels.compiled import column
    from templater.geometry.kernels.packing import annealed

    starts = max(1, min(_STARTS, round(rounds / _ROUNDS)))
    turns = int(min(rounds / starts, 2.0 * _ROUNDS))

    def one(k: int) -> Stones:
        stones = grown(field, space, start, _INWARDS, shares, depth, rng.child("grow", k))
        lack, state = _LACKS_MM[k % len(_LACKS_MM)], rng.child("hot", k)
        plan = Plan(
            column(shares),
            heat=0.4,
            shaking=0.5,
            extra=0.02,
            lack=lack,
            firm=0.5,
            band=1.0,
            press=0.0,
            mixing=0.12,
        )
        return annealed(space, stones, plan, turns, (state.first, state.second))

    # Each start is its own affair, so any number of threads comes to the same stones.
    with ThreadPoolExecutor(starts) as pool:
        return list(pool.map(one, range(starts)))


def _warmed(
    space: Space,
    stones: Stones,
    deep: Depths,
    shares: Sequence[float],
    work: float,
    rng: Rng,
) -> Stones:
    """The stones annealed again and again, just so warm that faults heal, as long as it helps.

    Stones deep in a weave stay where they are. Larger ones are preferred as far as the shares allow.
    """
    from templater.geometry.kernels.annealing import Plan
    from templater.geometry.kernels.compiled import column
    from templater.geometry.kernels.packing import annealed

    best, most = stones, _worth(space, stones, shares)
    own = int(stones.held[0]) - int(stones.held[1])
    moving = max(own - (deep.firm - deep.first), 1)
    turns = min(_CYCLES, int(work / (_CYCLE * moving)))

    def one(k: int) -> Stones:
        state = rng.child("warm", k)
        plan = Plan(
            column(shares),
            heat=0.1,
            shaking=0.2,
            extra=0.0,
            lack=_LACK_MM * (k % 2),
            firm=0.0,
            band=0.03,
            press=0.06,
            mixing=1.0,
        )
        return annealed(space, best, plan, _CYCLE, (state.first, state.second), deep)

    with ThreadPoolExecutor(_TWINS) as pool:
        for first in range(0, turns, _TWINS):
            # All from the same stones, whichever thread is first: so none is judged before all are done.
            for tried in list(pool.map(one, range(first, min(first + _TWINS, turns)))):
                worth = _worth(space, tried, shares)
                if worth > most:
                    best, most = tried, worth
    return best


def _worth(space: Space, stones: Stones, shares: Sequence[float], leave: float = 0.0) -> float:
    """What the stones cover, in mm² over π, less where shares are missed or sizes not mixed."""
    import numpy as np

    from templater.geometry.kernels.packing import assortativity, stone_area

    apart = max(0.0, assortativity(space, stones) - _MIXED_ENOUGH - leave)
    sizes = np.asarray(stones.size)[: int(stones.held[0])]
    counts = np.bincount(sizes[sizes >= 0], minlength=len(shares)) / max(1, (sizes >= 0).sum())
    missed = max(abs(float(c) - s) for c, s in zip(counts, shares, strict=True))
    lost = _MIXING * apart + _MISSED * max(0.0, missed - _SHARE_MET)
    return stone_area(space, stones) * (1.0 - lost)
