"""Growing a fill stone by stone, each touching two things already there. Import late.

A queue holds places tangent to two stones (or stone and wall); the best is taken, tried again,
filled, and gives new places. What counts as best decides how tight the fill comes out: the free
way to a third neighbour first, then how near the place is to where the growth began.
"""

from __future__ import annotations

from templater.geometry.kernels.compiled import kernel
from templater.geometry.kernels.heap import Queue, drop_first, push
from templater.geometry.kernels.offers import NEAR, Bench, offer_around
from templater.geometry.kernels.room import FAR, Space, Stones, put, stands_free
from templater.geometry.kernels.ways import Taste

DONE, MORE_STONES, MORE_PLACES = 0, 1, 2


@kernel
def grow(space: Space, stones: Stones, queue: Queue, taste: Taste, bench: Bench) -> int:
    """Fills from the queue until it is empty (DONE) or a column is full."""
    sizes = len(space.grown)
    while True:
        if stones.held[0] >= len(stones.x):
            return MORE_STONES
        best = -1
        least = FAR
        total = 0.0
        for s in range(sizes):
            total += bench.counts[s]
        for s in range(sizes):
            if queue.count[s] + 6 * NEAR >= queue.each:
                return MORE_PLACES
            if queue.count[s] > 0:
                beyond = bench.counts[s] - taste.shares[s] * total
                key = queue.key[s * queue.each] + taste.share * beyond
                if key < least:
                    least = key
                    best = s
        if best < 0:
            return DONE
        x = queue.x[best * queue.each]
        y = queue.y[best * queue.each]
        fold = queue.fold[best * queue.each]
        drop_first(queue, best)
        if stands_free(space, stones, x, y, best, fold == 1, -1):
            put(space, stones, x, y, best, fold)
            bench.counts[best] += 1
            offer_around(space, stones, queue, taste, bench, x, y, space.grown[best])


@kernel
def offer_beside(
    space: Space,
    stones: Stones,
    queue: Queue,
    taste: Taste,
    bench: Bench,
    first: int,
    deep_from: int,
    deep_to: int,
) -> int:
    """Puts the places around stones from number `first` on in the queue; the first not done.

    Those from `deep_from` up to `deep_to` have no place beside them.
    """
    for k in range(first, stones.held[0]):
        if deep_from <= k < deep_to:
            continue
        for s in range(len(space.grown)):
            if queue.count[s] + 6 * NEAR >= queue.each:
                return k
        if stones.size[k] != -2:
            x = stones.x[k]
            y = stones.y[k]
            offer_around(space, stones, queue, taste, bench, x, y, stones.grown[k])
    return int(stones.held[0])


@kernel
def weed(space: Space, stones: Stones, queue: Queue) -> None:
    """Drops from the queue the places that have been taken meanwhile."""
    for s in range(len(space.grown)):
        base = s * queue.each
        count = queue.count[s]
        queue.count[s] = 0
        for k in range(count):
            x = queue.x[base + k]
            y = queue.y[base + k]
            fold = queue.fold[base + k]
            if stands_free(space, stones, x, y, s, fold == 1, -1):
                push(queue, s, queue.key[base + k], x, y, fold)
