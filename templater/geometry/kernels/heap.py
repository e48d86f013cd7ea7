"""A queue of places for stones, the best first: a binary heap for each size. Import late."""

from __future__ import annotations

from typing import NamedTuple

from templater.geometry.kernels.compiled import Reals, Wholes, kernel


class Queue(NamedTuple):
    """A binary heap for each size, of `each` places: key (least first), centre, whether on fold."""

    key: Reals
    x: Reals
    y: Reals
    fold: Wholes
    count: Wholes
    each: int


@kernel
def push(queue: Queue, size: int, key: float, x: float, y: float, fold: int) -> None:
    """Adds a place to a size's heap, which must have room."""
    base = size * queue.each
    at = queue.count[size]
    queue.count[size] += 1
    while at > 0:
        up = (at - 1) // 2
        if queue.key[base + up] <= key:
            break
        queue.key[base + at] = queue.key[base + up]
        queue.x[base + at] = queue.x[base + up]
        queue.y[base + at] = queue.y[base + up]
        queue.fold[base + at] = queue.fold[base + up]
        at = up
    queue.key[base + at] = key
    queue.x[base + at] = x
    queue.y[base + at] = y
    queue.fold[base + at] = fold


@kernel
def drop_first(queue: Queue, size: int) -> None:
    """Takes the best place off a size's heap."""
    base = size * queue.each
    queue.count[size] -= 1
    count = queue.count[size]
    if count == 0:
        return
    last = base + count
    key = queue.key[last]
    at = 0
    while True:
        down = 2 * at + 1
        if down >= count:
            break
        if down + 1 < count and queue.key[base + down + 1] < queue.key[base + down]:
            down += 1
        if queue.key[base + down] >= key:
            break
        queue.key[base + at] = queue.key[base + down]
        queue.x[base + at] = queue.x[base + down]
        queue.y[base + at] = queue.y[base + down]
        queue.fold[base + at] = queue.fold[base + down]
        at = down
    queue.key[base + at] = key
    queue.x[base + at] = queue.x[last]
    queue.y[base + at] = queue.y[last]
    queue.fold[base + at] = queue.fold[last]
