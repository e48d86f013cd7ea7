"""`packed` of several sizes: grown and annealed, or laid in layers where three sizes suit."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from templater.geometry.rng import Rng
from templater.model.stones import Field
from templater.stoning.styles.growths import Growth, grown, stones_about, taste_of

if TYPE_CHECKING:
    from templater.geometry.kernels.room import Space, Stones

_INWARDS = Growth(0, 0.1, 4.0, 0.1, 0.01)
_BETWEEN = Growth(0, 0.05, 4.0, 0.0, 0.02)
"""Fills what layers leave at the edges."""
_WORK = 2.2e6
"""Rounds of annealing in a zone, times its stones: half a second."""
_ROUNDS, _LEAST_ROUNDS = 1000, 120
"""Rounds of one annealing, and how few are still of use: a larger zone is not annealed."""
_STARTS = 8
_LACKS_MM = (0.68, 0.62, 0.65)
"""Voids too small by so much get a stone squeezed in while it is hot."""
_HEAT, _SHAKING_MM, _EXTRA_MM, _FIRM = 0.4, 0.5, 0.02, 0.5
_LAYINGS = 64
_LAID_STONES = 60_000
"""Stones that all trial layings of one zone may add up to beyond the first."""
_FILLED = 4
"""How many of the fullest layings are filled up."""
_SHARE_MET, _MISSED = 0.02, 0.3
"""A share off by more than the first counts as that part of the area lost."""
_MIXED_ENOUGH, _MIXING = 0.12, 0.2
"""Sizes that keep to themselves by 1 beyond what is enough count as that part of the area lost."""


def mixed(
    field: Field,
    space: Space,
    start: Stones,
    shares: Sequence[float],
    effort: float,
    rng: Rng,
) -> Stones:
    """The start and a fill of several sizes: the best of all that effort allows to try."""
    from templater.geometry.kernels.packing import depth_map

    depth = depth_map(space)
    total = sum(shares)
    wanted = [share / total for share in shares]
    best = grown(field, space, start, _INWARDS, wanted, depth, rng.child("grow", 0))
    most = _worth(space, best, wanted)
    tries = (
        *_layered(space, start, wanted, depth, effort, rng),
        *_annealed(field, space, start, best, wanted, depth, effort, rng),
    )
    for stones in tries:
        worth = _worth(space, stones, wanted)
        if worth > most:
            best, most = stones, worth
    return best


def _annealed(
    field: Field,
    space: Space,
    start: Stones,
    first: Stones,
    shares: Sequence[float],
    depth: object,
    effort: float,
    rng: Rng,
) -> Iterator[Stones]:
    """Growths annealed, the first of them given: one in a large zone, several in a small one."""
    from templater.geometry.kernels.annealing import Plan
    from templater.geometry.kernels.compiled import column
    from templater.geometry.kernels.packing import annealed

    own = max(int(first.held[0]) - int(first.held[1]), 1)
    work = effort * _WORK / own
    starts = max(1, min(_STARTS, int(work / _ROUNDS)))
    rounds = int(min(work / starts, 2.0 * _ROUNDS))
    if rounds < _LEAST_ROUNDS * min(effort, 1.0):
        return
    for k in range(starts):
        child = rng.child("grow", k)
        stones = first if k == 0 else grown(field, space, start, _INWARDS, shares, depth, child)
        lack = _LACKS_MM[k % len(_LACKS_MM)]
        plan = Plan(column(shares), _HEAT, _SHAKING_MM, _EXTRA_MM, _FIRM, lack, _MIXED_ENOUGH)
        state = rng.child("anneal", k)
        yield annealed(space, stones, plan, rounds, (state.first, state.second))


def _layered(
    space: Space, start: Stones, shares: Sequence[float], depth: object, effort: float, rng: Rng
) -> Iterator[Stones]:
    """Layers along the outline row here and there, the fullest of them filled up."""
    from templater.geometry.kernels.layered import laid
    from templater.geometry.kernels.packing import finished, grown_fill, new_bench, stone_area

    if len(shares) != 3 or shares[1] > 0.9:
        return
    count = max(1, int(min(effort, 1.0) * min(_LAYINGS, _LAID_STONES / stones_about(space))))
    firsts = math.ceil(2.0 * shares[1] / (1.0 - shares[1]))
    trials = []
    for k, (at, way) in enumerate(_stretches(space, start, count)):
        child = rng.child("layers", k)
        stones = laid(space, start, at, way, shares[1], k % firsts, child)
        trials.append((stone_area(space, stones), -k, stones))
    trials.sort(key=lambda trial: trial[:2], reverse=True)
    taste = taste_of(space, _BETWEEN, shares, depth)
    for _, k, stones in trials[:_FILLED]:
        child = rng.child("between", k)
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


def _worth(space: Space, stones: Stones, shares: Sequence[float]) -> float:
    """What the stones cover, in mm² over π, less where shares are missed or sizes not mixed."""
    import numpy as np

    from templater.geometry.kernels.packing import assortativity, stone_area

    apart = max(0.0, assortativity(space, stones) - _MIXED_ENOUGH)
    sizes = np.asarray(stones.size)[: int(stones.held[0])]
    counts = np.bincount(sizes[sizes >= 0], minlength=len(shares)) / max(1, (sizes >= 0).sum())
    missed = max(abs(float(c) - s) for c, s in zip(counts, shares, strict=True))
    lost = _MIXING * apart + _MISSED * max(0.0, missed - _SHARE_MET)
    return stone_area(space, stones) * (1.0 - lost)
