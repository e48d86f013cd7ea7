"""`packed` of several sizes: grown and annealed, or laid in layers where three sizes suit."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from templater.geometry.rng import Rng
from templater.model.stones import Field
from templater.stoning.styles.fold_line import with_fold_line
from templater.stoning.styles.growths import Growth, grown, stones_about, taste_of

if TYPE_CHECKING:
    from templater.geometry.kernels.room import Space, Stones

_INWARDS = Growth(0, 0.1, 4.0, 0.1, 0.01)
_BETWEEN = Growth(0, 0.05, 4.0, 0.0, 0.02)
"""Fills what layers leave at the edges."""
_WORK = 4.0e6
"""Rounds of annealing in a zone, times its stones: some six tenths of a second."""
_ROUNDS, _LEAST_ROUNDS = 1200, 120
"""Rounds of one hot annealing, and how few are still of use: a larger zone is not annealed."""
_ORDERLY = 1.015
"""Layers that cover so much more than a growth are not tried to beat by annealing a growth."""
_HOT_PART = 0.6
_STARTS, _CYCLES, _CYCLE = 8, 16, 400
"""Hot annealings at most; warm ones, and rounds of each."""
_LACKS_MM, _LACK_MM = (0.68, 0.62, 0.65), 0.5
"""Voids too small by so much get a stone squeezed in while it is hot, or at every second warm turn."""
_LAYINGS, _LAID_STONES = 20, 42_000
"""Layings tried at most, and stones that all of one zone may add up to beyond the first."""
_THREE, _MOSTLY_MIDDLE = 3, 0.9
"""Layers are of three sizes, and of some use only where the middle one is not nearly all."""
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
    layers: bool,
    rng: Rng,
) -> Stones:
    """The start and a fill of several sizes: the best of all that effort allows to try."""
    from templater.geometry.kernels.packing import depth_map

    depth = depth_map(space)
    total = sum(shares)
    wanted = [share / total for share in shares]
    unlined, start = start, with_fold_line(space, start, wanted, rng.child("fold"))
    first = grown(field, space, start, _INWARDS, wanted, depth, rng.child("grow", 0))
    own = int(first.held[0]) - int(first.held[1])
    if own == 0:
        return first
    rounds = effort * _WORK / own
    found = [first]
    if layers and len(wanted) == _THREE and wanted[1] <= _MOSTLY_MIDDLE:
        found += _layered(space, unlined, wanted, depth, effort, rng)
    worths = [_worth(space, stones, wanted, _MIXED_LATER) for stones in found]
    orderly = max(worths) > _ORDERLY * worths[0]
    best = found[worths.index(max(worths))]
    if rounds < _LEAST_ROUNDS * min(effort, 1.0):
        return best
    if not orderly:
        hot = _HOT_PART * rounds
        rounds -= hot
        found = [best, *_hot(field, space, start, wanted, depth, hot, rng)]
        best = max(found, key=lambda stones: _worth(space, stones, wanted))
    return _warmed(space, best, wanted, rounds, rng)


def _hot(
    field: Field,
    space: Space,
    start: Stones,
    shares: Sequence[float],
    depth: object,
    rounds: float,
    rng: Rng,
) -> Iterator[Stones]:
    """Growths annealed so hot that they order themselves anew, shares and mixing steered."""
    from templater.geometry.kernels.annealing import Plan
    from templater.geometry.kernels.compiled import column
    from templater.geometry.kernels.packing import annealed

    starts = max(1, min(_STARTS, int(rounds / _ROUNDS)))
    turns = int(min(rounds / starts, 2.0 * _ROUNDS))
    for k in range(starts):
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
        yield annealed(space, stones, plan, turns, (state.first, state.second))


def _warmed(
    space: Space, stones: Stones, shares: Sequence[float], rounds: float, rng: Rng
) -> Stones:
    """The stones annealed again and again, just so warm that faults heal, as long as it helps.

    Larger stones are preferred as far as the shares allow.
    """
    from templater.geometry.kernels.annealing import Plan
    from templater.geometry.kernels.compiled import column
    from templater.geometry.kernels.packing import annealed

    best, most = stones, _worth(space, stones, shares)
    for k in range(min(_CYCLES, int(rounds / _CYCLE))):
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
        stones = annealed(space, best, plan, _CYCLE, (state.first, state.second))
        worth = _worth(space, stones, shares)
        if worth > most:
            best, most = stones, worth
    return best


def _layered(
    space: Space, start: Stones, shares: Sequence[float], depth: object, effort: float, rng: Rng
) -> Iterator[Stones]:
    """Layers along the outline row here and there, what they leave at the edges grown."""
    from templater.geometry.kernels.layered import laid
    from templater.geometry.kernels.packing import finished, grown_fill, new_bench

    count = max(1, int(min(effort, 1.0) * min(_LAYINGS, _LAID_STONES / stones_about(space))))
    firsts = max(1, math.ceil(2.0 * shares[1] / (1.0 - shares[1])))
    taste = taste_of(space, _BETWEEN, shares, depth)._replace(share=0.0)
    for k, (at, way) in enumerate(_stretches(space, start, count)):
        child = rng.child("layers", k)
        stones = laid(space, start, at, way, shares[1], k % firsts, child)
        bench = new_bench(space, (child.first, child.second))
        yield finished(space, grown_fill(space, stones, taste, bench))


def _stretches(
    space: Space, start: Stones, count: int
) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    """Places for stones of a row, with its direction there: stones of the outline row, spread over it,
    and the way to their nearest neighbours; without a row, along the longest walls.
    """
    import numpy as np

    fixed = int(start.held[1])
    found = []
    if fixed < 2:
        dx, dy = np.asarray(space.wall_dx), np.asarray(space.wall_dy)
        lengths = np.sqrt(dx * dx + dy * dy)
        for w in np.argsort(-lengths, kind="stable")[: max(count // 2, 1)]:
            far = float(lengths[w])
            if far > 0.0:
                ux, uy = float(dx[w]) / far, float(dy[w]) / far
                off = float(space.radius[1] + space.wall_clear[w]) + 2e-4
                mx, my = float(space.wall_x[w] + dx[w] / 2.0), float(space.wall_y[w] + dy[w] / 2.0)
                found += [((mx - uy * side, my + ux * side), (ux, uy)) for side in (off, -off)]
        return found
    x, y = np.asarray(start.x)[:fixed], np.asarray(start.y)[:fixed]
    for i in (np.arange(count) + 0.5) * fixed / count:
        k = int(i)
        squared = (x - x[k]) ** 2 + (y - y[k]) ** 2
        squared[k] = np.inf
        n = int(np.argmin(squared))
        far = math.sqrt(squared[n])
        if far > 0.0:
            way = (float(x[n] - x[k]) / far, float(y[n] - y[k]) / far)
            found.append(((float(x[k]), float(y[k])), way))
    return found


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
