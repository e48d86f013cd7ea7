"""Clearing small spots of a fill and filling them again, to keep what comes out tighter.

Import late.
"""

from __future__ import annotations

from templater.geometry.kernels.compiled import Reals, Wholes, kernel
from templater.geometry.kernels.front import DONE, grow
from templater.geometry.kernels.heap import Queue
from templater.geometry.kernels.offers import Bench, gather, offer_around
from templater.geometry.kernels.room import (
    FAR,
    Space,
    Stones,
    drawn,
    is_open,
    link,
    stone_room,
    unlink,
)
from templater.geometry.kernels.ways import Taste


@kernel
def close_up(space: Space, stones: Stones, gap: int) -> None:
    """Moves the last stone to the place of one taken out, so that columns do not fill with blanks."""
    last = int(stones.held[0]) - 1
    while last >= 0 and stones.size[last] == -2:
        last -= 1
    stones.held[0] = last + 1
    if gap < last:
        unlink(space, stones, last)
        stones.x[gap] = stones.x[last]
        stones.y[gap] = stones.y[last]
        stones.grown[gap] = stones.grown[last]
        stones.size[gap] = stones.size[last]
        stones.on_fold[gap] = stones.on_fold[last]
        link(space, stones, gap)
        stones.held[0] = last


@kernel
def renew(
    space: Space,
    stones: Stones,
    queue: Queue,
    taste: Taste,
    bench: Bench,
    lost: Wholes,
    worth: Reals,
    x: float,
    y: float,
    reach: float,
    heat: float,
) -> float:
    """Clears a disc and fills it again; keeps what covers more (or less by `heat` at most), else
    puts back what was.

    Returns what was won in worth, 0.0 if nothing. The queue is used as if empty. `lost` is a
    working column of NEAR. Does nothing when a column is too short.
    """
    count = 0
    before = 0.0
    gone = gather(space, stones, bench, x, y, reach)
    for k in range(gone):
        number = bench.near[k]
        if bench.far[k] < reach * reach and stones.size[number] >= 0:
            lost[count] = number
            before += worth[stones.size[number]]
            count += 1
    if count == 0 or stones.held[0] + 3 * count + 8 > len(stones.x):
        return 0.0
    for k in range(count):
        unlink(space, stones, lost[k])
        bench.counts[stones.size[lost[k]]] -= 1
    for s in range(len(space.grown)):
        queue.count[s] = 0
    held = int(stones.held[0])
    most = 0.0
    for s in range(len(space.grown)):
        most = max(most, space.grown[s])
    bench.focus[0] = x
    bench.focus[1] = y
    bench.focus[2] = (reach + most) * (reach + most)
    rim = gather(space, stones, bench, x, y, reach + 2.0 * most)
    for k in range(rim):
        lost[count + k] = bench.near[k]
    for k in range(rim):
        number = lost[count + k]
        sx = stones.x[number]
        sy = stones.y[number]
        offer_around(space, stones, queue, taste, bench, sx, sy, stones.grown[number])
    code = grow(space, stones, queue, taste, bench)
    bench.focus[2] = FAR * FAR
    after = 0.0
    for k in range(held, stones.held[0]):
        after += worth[stones.size[k]]
    if code != DONE or after < before - heat * drawn(bench.state) - 1e-9:
        for k in range(held, stones.held[0]):
            unlink(space, stones, k)
            bench.counts[stones.size[k]] -= 1
        stones.held[0] = held
        for k in range(count):
            link(space, stones, lost[k])
            bench.counts[stones.size[lost[k]]] += 1
        return 0.0
    for k in range(count):
        stones.size[lost[k]] = -2
    for k in range(count):
        close_up(space, stones, lost[k])
    return float(after - before)


@kernel
def renew_many(
    space: Space,
    stones: Stones,
    queue: Queue,
    taste: Taste,
    bench: Bench,
    lost: Wholes,
    worth: Reals,
    reach: float,
    heat: float,
    tries: int,
    looks: int,
) -> float:
    """Renews discs, each around the barest of some spots drawn at random; the worth won."""
    won = 0.0
    fixed = int(stones.held[1])
    for turn in range(tries):
        best = -FAR
        x = 0.0
        y = 0.0
        for _ in range(looks):
            k = fixed + int(drawn(bench.state) * (stones.held[0] - fixed))
            sx = stones.x[k] + (drawn(bench.state) - 0.5) * 6.0 * stones.grown[k]
            sy = stones.y[k] + (drawn(bench.state) - 0.5) * 6.0 * stones.grown[k]
            if stones.size[k] >= 0 and is_open(space, sx, sy, stones.size[k]):
                room = stone_room(space, stones, sx, sy, 0.0, -1)
                if room > best:
                    best = room
                    x = sx
                    y = sy
        if best > -FAR:
            won += renew(
                space,
                stones,
                queue,
                taste,
                bench,
                lost,
                worth,
                x,
                y,
                reach,
                heat * (1.0 - turn / tries),
            )
    return won
