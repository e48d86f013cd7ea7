"""Annealing a crowd of stones: hot, stones change places and sizes; cooling, they find an order.

Positions are relaxed while each stone may become the next larger or smaller size where that
strains its surroundings less; a bonus for each step between sizes is steered so that the shares
asked for come out, another so that sizes stay mixed. Exchanges of sizes bring a dense mixture to
order many times faster than motion alone. Import late.
Source: A. Ninarello, L. Berthier, D. Coslovich, Models and algorithms for the next generation of
glass transition studies, Physical Review X 7, 021039, 2017 (from memory).
"""

from __future__ import annotations

from typing import NamedTuple

from templater.geometry.kernels.compiled import Reals, kernel
from templater.geometry.kernels.crowd import (
    Crowd,
    chain,
    crowd_cell,
    list_near,
    push_apart,
    push_busy,
    shake,
    strain_between,
    strain_of,
)
from templater.geometry.kernels.room import FAR, SPARE_MM, Space, drawn, is_open, wall_room

_REST = 0.15
"""The last part of an annealing, in which nothing is shaken."""
_AFRESH = 8
"""Rounds after which neighbours are listed anew."""
_LOOK = 20
"""Rounds after which mixing is measured."""
_LAPSES = 17
"""How often in all stones are squeezed in, or taken out where too many have been."""
_QUIET = 40
"""Rounds of pushing without shaking before that."""
_CROWDED = 0.025
"""Sum of squared lacks a stone (mm²) for a heat of 1 up to which more are squeezed in; beyond five
times as much some are taken out.
"""
_CALM = 1e-8
_STRIVING = 80
_APART_MM = 1e-3
_PART = 0.3
"""Settling: strain that does not count (mm²), rounds of pushing by so many mm more than needed, and
the part of the worst strain from which on stones then give way.
"""
_ROUGH_MM = 0.35
"""How much more room the middle of a void may have than the nearest middle of a fine cell."""
_EXCHANGES, _PUSHES = 2, 2
"""Of each round: what brought small zones closest, see docs/decisions.md."""
_NEAR_MM = 0.4
"""Neighbours with up to this much room between them count for mixing."""


class Plan(NamedTuple):
    """How to anneal: shares of the sizes, adding up to 1; strain accepted for an exchange (mm²) and width
    of shaking (mm) at first; mm kept to spare; mm that a void may be too small for the smallest
    stone, which is then squeezed in (0: none is); how firmly shares are steered, and how far
    they may stray; strain accepted for a mm² over π more of stone; mixing aimed at (Newman's; 1: any).
    """

    shares: Reals
    heat: float
    shaking: float
    extra: float
    lack: float
    firm: float
    band: float
    press: float
    mixing: float


@kernel
def alike_near(crowd: Crowd, k: int, size: int) -> int:
    """How many neighbours of a stone are of a size."""
    count = 0
    for at in range(crowd.start[k], crowd.start[k + 1]):
        if crowd.size[crowd.item[at]] == size:
            count += 1
    return count


@kernel
def exchange(space: Space, crowd: Crowd, plan: Plan, heat: float, unlike: float) -> None:
    """Offers each stone the next larger or smaller size; then sets the bonuses for the shares."""
    fixed = int(crowd.held[0])
    moving = int(crowd.held[1]) - fixed
    sizes = len(space.grown)
    if moving == 0:
        return
    for k in range(fixed, fixed + moving):
        size = int(crowd.size[k])
        u = drawn(crowd.state)
        v = u * 65536.0
        v -= int(v)
        other = size - 1 if u < 0.5 else size + 1
        if other < 0 or other >= sizes or not is_open(space, crowd.x[k], crowd.y[k], other):
            continue
        if crowd.counts[size] - 1 < (plan.shares[size] - plan.band) * moving:
            continue
        if crowd.counts[other] + 1 > (plan.shares[other] + plan.band) * moving:
            continue
        mine = space.grown[size] + plan.extra
        more = strain_between(crowd, k, mine, space.grown[other] + plan.extra)
        if unlike > 0.0:
            more += unlike * (alike_near(crowd, k, other) - alike_near(crowd, k, size))
        more += -crowd.bonus[other] if other < size else crowd.bonus[size]
        if more < heat * v * v:
            crowd.size[k] = other
            crowd.grown[k] = space.grown[other]
            crowd.counts[size] -= 1
            crowd.counts[other] += 1
    beyond = 0.0
    for s in range(sizes - 1):
        beyond += crowd.counts[s] / moving - plan.shares[s]
        crowd.bonus[s] -= plan.firm * beyond


@kernel
def mixing_of(space: Space, crowd: Crowd) -> float:
    """Newman's coefficient for sizes of stones near each other: see packing.assortativity."""
    sizes = len(space.grown)
    for e in range(sizes * sizes):
        crowd.ends[e] = 0.0
    total = 0.0
    for k in range(crowd.held[0], crowd.held[1]):
        for at in range(crowd.start[k], crowd.start[k + 1]):
            n = crowd.item[at]
            if n < crowd.held[0]:
                continue
            px = crowd.x[k] - crowd.x[n]
            py = crowd.y[k] - crowd.y[n]
            far = crowd.grown[k] + crowd.grown[n] + _NEAR_MM
            if px * px + py * py < far * far:
                crowd.ends[crowd.size[k] * sizes + crowd.size[n]] += 1.0
                total += 1.0
    together = 0.0
    chance = 0.0
    for s in range(sizes):
        part = 0.0
        for t in range(sizes):
            part += crowd.ends[s * sizes + t]
        together += crowd.ends[s * sizes + s]
        chance += part * part / max(total, 1.0)
    return float((together - chance) / max(total - chance, 1.0))


@kernel
def room_around(space: Space, crowd: Crowd, x: float, y: float, enough: float) -> float:
    """How far the nearest stone's grown edge is from a point; any number below `enough` if less."""
    cell = crowd_cell(space, crowd, x, y)
    i = cell % crowd.nx
    j = cell // crowd.nx
    best = FAR
    for v in range(max(j - 1, 0), min(j + 2, crowd.ny)):
        for u in range(max(i - 1, 0), min(i + 2, crowd.nx)):
            n = crowd.head[v * crowd.nx + u]
            while n >= 0:
                px = x - crowd.x[n]
                py = y - crowd.y[n]
                best = min(best, (px * px + py * py) ** 0.5 - crowd.grown[n])
                if best < enough:
                    return float(best)
                n = crowd.after[n]
    return float(best)


@kernel
def squeeze_in_voids(space: Space, crowd: Crowd, size: int, lack: float) -> None:
    """Sets a stone of the size in every void that is at most `lack` mm too small for it."""
    enough = space.grown[size] - lack
    for cell in range(space.fine_nx * space.fine_ny):
        if (space.open_to[cell] >> size) & 1 == 0:
            continue
        x = space.fine_x + (cell % space.fine_nx + 0.5) * space.fine
        y = space.fine_y + (cell // space.fine_nx + 0.5) * space.fine
        best = room_around(space, crowd, x, y, enough - _ROUGH_MM)
        if best < enough - _ROUGH_MM:
            continue
        step = space.fine * 0.4
        while step > 0.05:
            found = False
            for way in range(4):
                px = x + (step if way == 0 else (-step if way == 1 else 0.0))
                py = y + (step if way == 2 else (-step if way == 3 else 0.0))
                room = room_around(space, crowd, px, py, best)
                if room > best and wall_room(space, px, py, size, False) > -lack:
                    best = room
                    x = px
                    y = py
                    found = True
                    break
            if not found:
                step *= 0.5
        k = int(crowd.held[1])
        if best < enough or k >= len(crowd.x) or not is_open(space, x, y, size):
            continue
        if wall_room(space, x, y, size, False) < -lack:
            continue
        crowd.x[k] = x
        crowd.y[k] = y
        crowd.size[k] = size
        crowd.grown[k] = space.grown[size]
        crowd.counts[size] += 1
        crowd.held[1] = k + 1
        chain(space, crowd, k)


@kernel
def worst_strain(crowd: Crowd) -> float:
    """Reckons every stone's strain; the largest of all."""
    worst = 0.0
    for k in range(crowd.held[0]):
        crowd.strain[k] = 0.0
    for k in range(crowd.held[0], crowd.held[1]):
        crowd.strain[k] = strain_of(crowd, k, crowd.grown[k] + SPARE_MM)
        worst = max(worst, crowd.strain[k])
    return worst


@kernel
def relieve(space: Space, crowd: Crowd, most: float) -> None:
    """Gives way where the strain is above `most` and the worst around: a stone becomes one size
    smaller, or is taken out if there is none. For `worst_strain` has been reckoned; list anew after.
    """
    sizes = len(space.grown)
    for k in range(crowd.held[0], crowd.held[1]):
        worst = crowd.strain[k] > most
        for at in range(crowd.start[k], crowd.start[k + 1]):
            n = crowd.item[at]
            if crowd.strain[n] > crowd.strain[k] or (crowd.strain[n] == crowd.strain[k] and n < k):
                worst = False
        if worst:
            size = int(crowd.size[k])
            crowd.counts[size] -= 1
            crowd.size[k] = size + 1
            if size + 1 < sizes:
                crowd.counts[size + 1] += 1
                crowd.grown[k] = space.grown[size + 1]
    k = int(crowd.held[0])
    while k < crowd.held[1]:
        if crowd.size[k] < sizes:
            k += 1
            continue
        last = int(crowd.held[1]) - 1
        crowd.held[1] = last
        crowd.x[k] = crowd.x[last]
        crowd.y[k] = crowd.y[last]
        crowd.size[k] = crowd.size[last]
        crowd.grown[k] = crowd.grown[last]


@kernel
def anneal(space: Space, crowd: Crowd, plan: Plan, rounds: int) -> None:
    """Shakes, exchanges and pushes apart, from hot to cold; some stones may still lie too near."""
    smallest = len(space.grown) - 1
    lapse = max(rounds // _LAPSES, _QUIET)
    unlike = 0.0
    for s in range(smallest):
        larger = space.radius[s] * space.radius[s]
        crowd.bonus[s] = plan.press * (larger - space.radius[s + 1] * space.radius[s + 1])
    for turn in range(rounds):
        left = 1.0 - turn / rounds
        warm = max((left - _REST) / (1.0 - _REST), 0.0)
        if turn % _AFRESH == 0:
            list_near(space, crowd)
        if turn % lapse == lapse - 1 and warm > 0.0:
            lacks = 0.0
            for _ in range(_QUIET):
                lacks = push_apart(space, crowd, 2.0 * SPARE_MM)
            list_near(space, crowd)
            enough = _CROWDED * plan.heat * warm * (crowd.held[1] - crowd.held[0])
            if lacks > 5.0 * enough:
                relieve(space, crowd, 0.5 * worst_strain(crowd))
            elif lacks < enough and plan.lack > 0.0:
                squeeze_in_voids(space, crowd, smallest, plan.lack)
            list_near(space, crowd)
        if turn % _LOOK == 0 and plan.mixing < 1.0:
            unlike += 0.002 * (mixing_of(space, crowd) - plan.mixing)
            unlike = min(max(unlike, 0.0), 0.05)
        if warm > 0.0:
            shake(crowd, plan.shaking * warm)
        for _ in range(_EXCHANGES):
            exchange(space, crowd, plan, plan.heat * warm, unlike)
        for _ in range(_PUSHES):
            push_apart(space, crowd, plan.extra)


@kernel
def settle(space: Space, crowd: Crowd, rounds: int) -> None:
    """Pushes apart, relieving where that does not do, until no stone is too near another."""
    for _ in range(rounds):
        list_near(space, crowd)
        worst = worst_strain(crowd)
        if worst <= _CALM:
            return
        count = 0
        for k in range(crowd.held[0], crowd.held[1]):
            crowd.marked[k] = 0
            if crowd.strain[k] > 0.0:
                crowd.marked[k] = 1
                crowd.busy[count] = k
                count += 1
        for _ in range(_STRIVING):
            count = push_busy(space, crowd, _APART_MM, count)
            if count == 0:
                break
        list_near(space, crowd)
        worst = worst_strain(crowd)
        if worst > _CALM:
            relieve(space, crowd, max(_PART * worst, _CALM))
