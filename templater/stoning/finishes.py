"""Colours and finishes by their shares: exact counts, dealt out at random by seed."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from templater.geometry.pairs import close_pairs
from templater.geometry.rng import Rng
from templater.model.curves import Point

_ROUNDS = 40


def whole_shares(shares: Mapping[str, float], count: int) -> dict[str, int]:
    """Whole numbers that add up to `count`, by largest remainder; ties go to the first named.

    Raises ValueError for shares that do not add up to more than 0.
    """
    total = math.fsum(shares.values())
    if not total > 0.0:
        raise ValueError("shares must add up to more than 0")
    exact = {name: count * share / total for name, share in shares.items()}
    whole = {name: math.floor(value + 1e-9) for name, value in exact.items()}
    left = count - sum(whole.values())
    order = sorted(shares, key=lambda name: -round(exact[name] - whole[name], 9))
    for name in order[:left]:
        whole[name] += 1
    return whole


def dealt(shares: Mapping[str, float], count: int, rng: Rng) -> tuple[str, ...]:
    """A name for each of `count` stones: shares exact to a stone, order random by seed."""
    if len(shares) == 1:
        return tuple(shares) * count
    names = [name for name, number in whole_shares(shares, count).items() for _ in range(number)]
    return tuple(rng.shuffled(names))


def mixed(
    colour: Mapping[str, float], finish: Mapping[str, float], count: int, rng: Rng
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """A colour and a finish for each stone, dealt independently of each other."""
    return dealt(colour, count, rng.child("colour")), dealt(finish, count, rng.child("finish"))


def shaded(shares: Mapping[str, float], along: Sequence[float], rng: Rng) -> tuple[str, ...]:
    """A name for each stone by how far along a fade it lies (0 to 1): the first named where it
    begins, the last where it ends, each running out into the next. Shares are exact to a stone.
    """
    blend = 1.0 / max(len(shares), 1)
    keys = [far + blend * (rng.uniform() - 0.5) for far in along]
    order = sorted(range(len(along)), key=lambda k: (keys[k], k))
    counts = whole_shares(shares, len(along))
    names = [name for name, number in counts.items() for _ in range(number)]
    found = [""] * len(along)
    for name, k in zip(names, order, strict=True):
        found[k] = name
    return tuple(found)


def runs_limited(
    names: Sequence[str], points: Sequence[Point], reach_mm: float, most: int, rng: Rng
) -> tuple[str, ...]:
    """The same names dealt so that no more than `most` alike are in contact, as far as swaps reach.

    In contact: centres at most `reach_mm` apart. Counts stay as they are. Where shares are so
    unequal that it cannot be, the longest runs are still broken up.
    """
    dealt_out = list(names)
    near: list[list[int]] = [[] for _ in points]
    for i, j in close_pairs(points, reach_mm):
        near[i].append(j)
        near[j].append(i)
    for _ in range(_ROUNDS):
        swapped = False
        for k in range(len(points)):
            if len(_run(k, dealt_out, near, most)) <= most:
                continue
            swapped = _swap(k, dealt_out, near, most, rng) or swapped
        if not swapped:
            break
    return tuple(dealt_out)


def longest_run(names: Sequence[str], points: Sequence[Point], reach_mm: float) -> int:
    """The most stones alike that are in contact with each other."""
    near: list[list[int]] = [[] for _ in points]
    for i, j in close_pairs(points, reach_mm):
        near[i].append(j)
        near[j].append(i)
    return max((len(_run(k, names, near, len(points))) for k in range(len(points))), default=0)


def _run(k: int, names: Sequence[str], near: Sequence[Sequence[int]], most: int) -> set[int]:
    """The stones alike in contact with stone k, itself among them; stops beyond `most`."""
    run, queue = {k}, [k]
    while queue and len(run) <= most:
        at = queue.pop()
        for other in near[at]:
            if other not in run and names[other] == names[k]:
                run.add(other)
                queue.append(other)
    return run


def _swap(k: int, names: list[str], near: Sequence[Sequence[int]], most: int, rng: Rng) -> bool:
    """Exchanges stone k with another so that neither ends in too long a run; False if none will."""
    count = len(names)
    start = rng.below(count)
    for step in range(min(count, 200)):
        other = (start + step) % count
        if names[other] == names[k]:
            continue
        names[k], names[other] = names[other], names[k]
        if len(_run(k, names, near, most)) <= most and len(_run(other, names, near, most)) <= most:
            return True
        names[k], names[other] = names[other], names[k]
    return False
