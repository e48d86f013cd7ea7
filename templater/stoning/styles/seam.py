"""The rim of a lattice eased into its outline row: what staggered and square share.

Inside, the lattice stays as it is. The stones nearest the row give way to each other until the bare
places between row and lattice are shared out evenly; where one more stone fits it is set.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, NamedTuple

from templater.model.stones import Field
from templater.stoning.styles.base import Sizes, prepared

if TYPE_CHECKING:
    from templater.geometry.kernels.room import Space, Stones

_LOOSE = 2
"""Layers of the lattice that may give way."""
_ROOMS = ((0.1, 0.05), (0.07, 0.03), (0.085, 0.04))
"""How much more room the loose stones ask for, in widths: in each turn that is kept which leaves the
least bare; where stones jammed in one turn the next may do."""
_RAMP = (0.25, 0.5, 0.75, 1.0, 1.0, 0.75, 0.5, 0.25)
"""They ask by degrees, up and down: asked for all at once, stones jump past each other and jam."""
_ROUNDS = 20
_MOST_ROUNDS = 15
_HAIR_MM = 1e-3
_TRIES = 24
_AROUND = 5.0
"""Stones within so many grown radii of a jam go back to where they were."""
_SLIT = 0.06
_BESIDE = 2.2
"""Stones within so many pitches of a slit give way, if it is so many wider than a hole of a grid."""
_CLEARLY = 0.8
_BARE = 1e-3
"""A lattice that fits this well is left as it is (bareness in cubed widths)."""


class Place(NamedTuple):
    """A stone's centre, and whether it lies on the fold (1)."""

    x: float
    y: float
    on_fold: int


class _Rim(NamedTuple):
    """What all trials of one zone have in common: the zone with its obstacles, the lattice inside,
    and how far the middle of a hole of the lattice is from its stones.
    """

    field: Field
    space: Space
    start: Stones
    sizes: Sizes
    gap_mm: float
    inside: Sequence[Place]
    hole_mm: float


def eased(
    field: Field,
    space: Space,
    start: Stones,
    stones: Stones,
    sizes: Sizes,
    gap_mm: float,
    *,
    staggered: bool,
) -> Stones:
    """The stones of a lattice set into `start`, its rim eased: never fewer, and no further one fits."""
    from templater.geometry.kernels.compiled import counters
    from templater.geometry.kernels.seams import number_layers

    pitch = 2.0 * space.grown[0]
    layer = counters(len(stones.x))
    number_layers(space, stones, 1.02 * pitch, 6 if staggered else 4, _LOOSE, layer)
    own = range(int(stones.held[1]), int(stones.held[0]))
    loose = [k for k in own if layer[k] < _LOOSE and stones.on_fold[k] == 0]
    hole_mm = pitch / math.sqrt(3.0 if staggered else 2.0) - space.radius[0]
    return _eased(field, space, start, stones, loose, sizes, gap_mm, hole_mm)


def slits_eased(
    field: Field,
    space: Space,
    start: Stones,
    stones: Stones,
    sizes: Sizes,
    gap_mm: float,
    rows_apart_mm: float,
) -> Stones:
    """The stones of rows set into `start`, those beside slits too narrow for a stone sharing the slit
    among them: never fewer, and no further one fits. `rows_apart_mm`: the gap between rows.
    """
    from templater.geometry.kernels.compiled import counters
    from templater.geometry.kernels.seams import mark_beside_bare

    pitch = 2.0 * space.grown[0]
    hole_mm = math.hypot(pitch, 2.0 * space.radius[0] + rows_apart_mm) / 2.0 - space.radius[0]
    marks = counters(len(stones.x))
    mark_beside_bare(space, stones, 0, hole_mm + _SLIT * pitch, _BESIDE * pitch, marks)
    own = range(int(stones.held[1]), int(stones.held[0]))
    loose = [k for k in own if marks[k] and stones.on_fold[k] == 0]
    return _eased(field, space, start, stones, loose, sizes, gap_mm, hole_mm)


def _eased(
    field: Field,
    space: Space,
    start: Stones,
    stones: Stones,
    which: Sequence[int],
    sizes: Sizes,
    gap_mm: float,
    hole_mm: float,
) -> Stones:
    from templater.geometry.kernels.packing import filled_with

    if not which:
        return filled_with(space, stones, 0)
    loose = [_place(stones, k) for k in which]
    free = frozenset(which)
    own = range(int(stones.held[1]), int(stones.held[0]))
    inside = [_place(stones, k) for k in own if k not in free]
    rim = _Rim(field, space, start, sizes, gap_mm, inside, hole_mm)
    best = filled_with(space, _laid(rim, loose)[0], 0)
    for rooms in _ROOMS:
        first = int(start.held[0]) + len(inside)
        loose = [_place(best, k) for k in range(first, int(best.held[0]))]
        eased_more = _best_eased(rim, best, loose, rooms)
        if eased_more is best:
            break
        best = filled_with(space, eased_more, 0)
    return best


def _place(stones: Stones, k: int) -> Place:
    return Place(float(stones.x[k]), float(stones.y[k]), int(stones.on_fold[k]))


def _laid(rim: _Rim, loose: Sequence[Place]) -> tuple[Stones, list[int]]:
    """All stones set, snapped, but for those of the loose that are in the way of others: which."""
    from templater.geometry.kernels.room import put, snapped, stands_free
    from templater.geometry.kernels.space import copied, roomier

    space, count = rim.space, len(rim.inside) + len(loose)
    stones = roomier(copied(rim.start), int(rim.start.held[0]) + count + 16)
    for at in rim.inside:
        put(space, stones, *at[:2], 0, at.on_fold)
    clashes = []
    for k, at in enumerate(loose):
        x, y = snapped(at.x), snapped(at.y)
        if stands_free(space, stones, x, y, 0, bool(at.on_fold), -1):
            put(space, stones, x, y, 0, at.on_fold)
        else:
            clashes.append(k)
    return stones, clashes


def _best_eased(
    rim: _Rim, stones: Stones, loose: Sequence[Place], rooms: Sequence[float]
) -> Stones:
    """The stones as they are, or with the loose ones eased where that leaves clearly less bare."""
    from templater.geometry.kernels.seams import bareness

    width = 2.0 * rim.space.radius[0]
    best, least = stones, _CLEARLY * bareness(rim.space, stones, 0, rim.hole_mm)
    if least < _BARE * width**3:
        return stones
    for share in rooms:
        trial = _reconciled(rim, loose, _pushed(rim, loose, share * width))
        if trial is not None and (bare := bareness(rim.space, trial, 0, rim.hole_mm)) < least:
            best, least = trial, bare
    return best


def _reconciled(rim: _Rim, before: Sequence[Place], after: Sequence[Place]) -> Stones | None:
    """The loose stones at their new places, but around those that jammed at their old ones."""
    places, around = list(after), _AROUND * rim.space.grown[0]
    for _ in range(_TRIES):
        stones, clashes = _laid(rim, places)
        if not clashes:
            return stones
        jams = [places[k] for k in clashes]
        for k, old in enumerate(before):
            if any(math.dist(old[:2], jam[:2]) < around for jam in jams):
                places[k] = old
    return None


def _pushed(rim: _Rim, loose: Sequence[Place], more_mm: float) -> list[Place]:
    """The loose stones pushed apart, first as if each kept half of `more_mm` more from everything,
    then until all keep what they must.
    """
    from templater.geometry.kernels.compiled import column
    from templater.geometry.kernels.room import put
    from templater.geometry.kernels.scatter import even_out
    from templater.geometry.kernels.space import roomier

    half = (rim.gap_mm + more_mm) / 2.0
    space, stones = prepared(rim.field, rim.sizes, 2.0 * half, half + 1.0)
    obstacles = int(stones.held[0])
    stones = roomier(stones, obstacles + len(rim.inside) + len(loose) + 1)
    for at in rim.inside:
        k = put(space, stones, *at[:2], 0, at.on_fold)
        stones.size[k] = -1
    stones.held[1] = stones.held[0]
    for at in loose:
        put(space, stones, *at[:2], 0, at.on_fold)
    claims = [float(stones.grown[k]) for k in range(obstacles)]
    claims += [rim.gap_mm / 2.0 + space.radius[0]] * (int(stones.held[0]) - obstacles)

    def ask(more: float, wall_share: float) -> float:
        stones.grown[: len(claims)] = [claim + more for claim in claims]
        cells = column([rim.gap_mm / 2.0 + more] * (space.fine_nx * space.fine_ny))
        return even_out(space, stones, cells, _ROUNDS, wall_share)

    for share in _RAMP:
        ask(share * more_mm / 2.0, 1.0)
    for _ in range(_MOST_ROUNDS):
        if ask(_HAIR_MM, 0.0) <= 0.0:
            break
    return [_place(stones, k) for k in range(int(stones.held[1]), int(stones.held[0]))]
