"""Stones of several sizes centred on a fold, for a fill to grow from."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from templater.geometry.rng import Rng

if TYPE_CHECKING:
    from templater.geometry.kernels.room import Space, Stones

_TOUCHING = 0.25
"""How often a stone is followed by one that it touches; else room is left between them for a stone
beside the fold and its mirror image. With 1 they lie in a row, a bare line on either side of it; with
0 stones and pairs lie by turns. Measured: with a quarter the cloth is covered most evenly.
"""
_LEAST_STEP_MM = 5e-4


def with_fold_line(space: Space, start: Stones, shares: Sequence[float], rng: Rng) -> Stones:
    """The stones at the start, and others centred on the fold here and there. Shares add up to 1.

    Left to themselves the stones beside a fold line up with their mirror images, all of them half a
    gap off it: a bare line along the whole garment.
    """
    from templater.geometry.kernels.room import put, snapped, stands_free
    from templater.geometry.kernels.space import copied, roomier
    from templater.geometry.kernels.sweep import slack

    stones = copied(start)
    for begin, end in zip(space.on_from, space.on_to, strict=True):
        stones = roomier(stones, int(stones.held[0] + (end - begin) / min(space.radius)) + 2)
        size, at = _drawn(shares, rng), float(begin)
        while at <= end:
            x = snapped(space.fold_x + at * space.fold_dx)
            y = snapped(space.fold_y + at * space.fold_dy)
            if not stands_free(space, stones, x, y, size, True, -1):
                at += max(-slack(space, stones, x, y, size, True), _LEAST_STEP_MM)
                continue
            put(space, stones, x, y, size, 1)
            following = _drawn(shares, rng)
            if rng.uniform() >= _TOUCHING:
                between = space.grown[_drawn(shares, rng)]
                at += _leg(space.grown[size], between) + _leg(space.grown[following], between)
            size = following
    return stones


def _leg(on_fold: float, beside: float) -> float:
    """How far apart along the fold a stone on it and one that touches both lie, by grown radii."""
    return math.sqrt(on_fold * (on_fold + 2.0 * beside))


def _drawn(shares: Sequence[float], rng: Rng) -> int:
    """A size at random, by shares of the count."""
    left, size = rng.uniform(), 0
    while size < len(shares) - 1 and left > shares[size]:
        left -= shares[size]
        size += 1
    return size
