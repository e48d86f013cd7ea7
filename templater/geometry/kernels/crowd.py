"""Stones as a crowd of soft discs that are shaken and push each other apart. Import late.

The stones of a fill are copied into columns of their own, in which they may overlap for a while;
who is near whom is listed now and then. What comes out is put back exactly or not at all.
"""

from __future__ import annotations

from typing import NamedTuple

from templater.geometry.kernels.compiled import Reals, Wholes, kernel
from templater.geometry.kernels.room import (
    SPARE_MM,
    Space,
    Stones,
    drawn,
    put,
    snapped,
    stands_free,
    unlink,
    wall_room,
    way_off_wall,
)

SKIN_MM = 0.8
"""How far beyond touch others count as near: more than two stones move until listed anew."""
NEIGHBOURS = 16
"""Neighbours listed for each stone, on the average, at most."""


class Crowd(NamedTuple):
    """Stones in columns, the fixed ones first: centres, grown radii, sizes (−1: an obstacle).

    `walled` marks those that a wall is near to. Stone k's neighbours are `item[start[k]]` up to
    `item[start[k + 1]]`, the moving ones beyond `held[0]`; `held[1]` is the count of all. `head` and
    `after` chain the stones of each cell (`nx` × `ny`, `step` wide). `counts` holds the moving stones
    of each size, `bonus` what a step to the next larger size is worth, `strain` a number for each
    stone; `busy` lists stones that are being pushed, those `marked`; `ends` is for counting neighbours by size, `state` the generator's.
    """

    x: Reals
    y: Reals
    grown: Reals
    size: Wholes
    walled: Wholes
    start: Wholes
    item: Wholes
    head: Wholes
    after: Wholes
    busy: Wholes
    marked: Wholes
    held: Wholes
    counts: Wholes
    bonus: Reals
    strain: Reals
    ends: Reals
    state: Wholes
    step: float
    nx: int
    ny: int


@kernel
def enter(space: Space, stones: Stones, crowd: Crowd, first: int, firm: int) -> None:
    """Copies the stones into the crowd, cell by cell; obstacles, stones on the fold and those from
    number `first` up to `firm` stay put.
    """
    count = 0
    for moving in range(2):
        if moving == 1:
            crowd.held[0] = count
        for cell in range(space.nx * space.ny):
            k = stones.first[cell]
            while k >= 0:
                free = stones.size[k] >= 0 and stones.on_fold[k] == 0 and not first <= k < firm
                if free == (moving == 1):
                    crowd.x[count] = stones.x[k]
                    crowd.y[count] = stones.y[k]
                    crowd.grown[count] = stones.grown[k]
                    crowd.size[count] = stones.size[k]
                    if moving == 1:
                        crowd.counts[stones.size[k]] += 1
                    count += 1
                k = stones.after[k]
    crowd.held[1] = count


@kernel
def crowd_cell(space: Space, crowd: Crowd, x: float, y: float) -> int:
    """The crowd's cell of a point, those outside counted to the nearest."""
    i = min(max(int((x - space.x0) / crowd.step), 0), crowd.nx - 1)
    j = min(max(int((y - space.y0) / crowd.step), 0), crowd.ny - 1)
    return j * crowd.nx + i


@kernel
def chain(space: Space, crowd: Crowd, k: int) -> None:
    """Enters a stone in its cell's chain."""
    cell = crowd_cell(space, crowd, crowd.x[k], crowd.y[k])
    crowd.after[k] = crowd.head[cell]
    crowd.head[cell] = k


@kernel
def list_near(space: Space, crowd: Crowd) -> None:
    """Lists anew for each moving stone who is near it, and whether a wall is."""
    for cell in range(crowd.nx * crowd.ny):
        crowd.head[cell] = -1
    total = int(crowd.held[1])
    for k in range(total):
        chain(space, crowd, total - 1 - k)
    at = 0
    for k in range(crowd.held[0], total):
        crowd.start[k] = at
        x = crowd.x[k]
        y = crowd.y[k]
        cell = crowd_cell(space, crowd, x, y)
        i = cell % crowd.nx
        j = cell // crowd.nx
        for v in range(max(j - 1, 0), min(j + 2, crowd.ny)):
            for u in range(max(i - 1, 0), min(i + 2, crowd.nx)):
                n = crowd.head[v * crowd.nx + u]
                while n >= 0:
                    px = x - crowd.x[n]
                    py = y - crowd.y[n]
                    far = crowd.grown[k] + crowd.grown[n] + SKIN_MM
                    if n != k and px * px + py * py < far * far and at < len(crowd.item):
                        crowd.item[at] = n
                        at += 1
                    n = crowd.after[n]
        crowd.walled[k] = 1 if wall_room(space, x, y, crowd.size[k], False) < 1.0 else 0
    crowd.start[total] = at


@kernel
def push_apart(space: Space, crowd: Crowd, extra: float) -> float:
    """Moves each pair that is too near apart, and stones off walls; the sum of squared lacks found.

    Too near is what has less than `extra` mm to spare.
    """
    lacks = 0.0
    fixed = int(crowd.held[0])
    for k in range(fixed, crowd.held[1]):
        x = crowd.x[k]
        y = crowd.y[k]
        mine = crowd.grown[k] + extra
        for at in range(crowd.start[k], crowd.start[k + 1]):
            n = crowd.item[at]
            if fixed <= n < k:
                continue
            px = x - crowd.x[n]
            py = y - crowd.y[n]
            want = mine + crowd.grown[n]
            squared = px * px + py * py
            if squared < want * want:
                far = squared**0.5 + 1e-9
                lack = want - far
                lacks += lack * lack
                move = lack / far
                if n >= fixed:
                    move *= 0.5
                    crowd.x[n] -= move * px
                    crowd.y[n] -= move * py
                x += move * px
                y += move * py
        crowd.x[k] = x
        crowd.y[k] = y
        if crowd.walled[k] == 1:
            push_off_walls(space, crowd, k)
    return lacks


@kernel
def push_busy(space: Space, crowd: Crowd, extra: float, count: int) -> int:
    """As push_apart, but only the first `count` stones of the busy list; whoever they push joins it.

    Returns how many are busy, 0 if nothing had to be moved.
    """
    fixed = int(crowd.held[0])
    calm = True
    at_last = count
    for b in range(count):
        k = int(crowd.busy[b])
        x = crowd.x[k]
        y = crowd.y[k]
        mine = crowd.grown[k] + extra
        for at in range(crowd.start[k], crowd.start[k + 1]):
            n = int(crowd.item[at])
            px = x - crowd.x[n]
            py = y - crowd.y[n]
            want = mine + crowd.grown[n]
            squared = px * px + py * py
            if squared < want * want:
                calm = False
                far = squared**0.5 + 1e-9
                move = (want - far) / far
                if n >= fixed:
                    move *= 0.5
                    crowd.x[n] -= move * px
                    crowd.y[n] -= move * py
                    if crowd.marked[n] == 0:
                        crowd.marked[n] = 1
                        crowd.busy[at_last] = n
                        at_last += 1
                x += move * px
                y += move * py
        crowd.x[k] = x
        crowd.y[k] = y
        if crowd.walled[k] == 1:
            push_off_walls(space, crowd, k)
    return 0 if calm else at_last


@kernel
def push_off_walls(space: Space, crowd: Crowd, k: int) -> None:
    """Moves a stone off the wall it is nearest to, if it is too near."""
    x = crowd.x[k]
    y = crowd.y[k]
    room, ux, uy = way_off_wall(space, x, y, crowd.size[k])
    if room < 2.0 * SPARE_MM:
        crowd.x[k] = x + ux * (2.0 * SPARE_MM - room)
        crowd.y[k] = y + uy * (2.0 * SPARE_MM - room)


@kernel
def shake(crowd: Crowd, wide: float) -> None:
    """Moves every stone at random within a square `wide` mm wide."""
    for k in range(crowd.held[0], crowd.held[1]):
        u = drawn(crowd.state)
        v = u * 65536.0
        v -= int(v)
        crowd.x[k] += (u - 0.5) * wide
        crowd.y[k] += (v - 0.5) * wide


@kernel
def strain_of(crowd: Crowd, k: int, grown: float) -> float:
    """The sum of squared lacks that a stone would have with another grown radius."""
    total = 0.0
    x = crowd.x[k]
    y = crowd.y[k]
    for at in range(crowd.start[k], crowd.start[k + 1]):
        n = crowd.item[at]
        px = x - crowd.x[n]
        py = y - crowd.y[n]
        want = grown + crowd.grown[n]
        squared = px * px + py * py
        if squared < want * want:
            lack = want - squared**0.5
            total += lack * lack
    return total


@kernel
def leave(space: Space, stones: Stones, crowd: Crowd, first: int, firm: int) -> None:
    """Puts the crowd in place of the stones that may move, all but those from number `first` up to
    `firm`; the columns must have room for it.

    A stone that may not stand where it is gives place to the largest smaller one that may.
    """
    held = int(stones.held[0])
    for k in range(int(stones.held[1]), held):
        if stones.size[k] >= 0 and stones.on_fold[k] == 0 and not first <= k < firm:
            unlink(space, stones, k)
            stones.size[k] = -2
    for k in range(crowd.held[0], crowd.held[1]):
        x = snapped(crowd.x[k])
        y = snapped(crowd.y[k])
        size = int(crowd.size[k])
        while size < len(space.grown):
            if stands_free(space, stones, x, y, size, False, -1):
                put(space, stones, x, y, size, 0)
                break
            size += 1


@kernel
def strain_between(crowd: Crowd, k: int, grown: float, other: float) -> float:
    """How much more strain a stone would have with grown radius `other` than with `grown`."""
    more = 0.0
    x = crowd.x[k]
    y = crowd.y[k]
    most = max(grown, other)
    for at in range(crowd.start[k], crowd.start[k + 1]):
        n = crowd.item[at]
        px = x - crowd.x[n]
        py = y - crowd.y[n]
        theirs = crowd.grown[n]
        want = most + theirs
        squared = px * px + py * py
        if squared < want * want:
            far = squared**0.5
            lack = other + theirs - far
            if lack > 0.0:
                more += lack * lack
            lack = grown + theirs - far
            if lack > 0.0:
                more -= lack * lack
    return more
