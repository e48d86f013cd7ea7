"""Where a stone's centre may be: the questions every packing loop asks. Import late (see compiled).

A `Space` is what does not change while a zone is filled; `Stones` are the stones set so far, the
obstacles first. Both hold flat columns, so that the same functions run compiled and plain.
"""

from __future__ import annotations

from typing import NamedTuple

from templater.geometry.kernels.compiled import Reals, Wholes, kernel

SLACK_MM = 1e-9
"""What the arithmetic may be out by: a ten-thousandth of the snapping step."""
SPARE_MM = 1.5e-4
"""Added to every gap when a place is reckoned, so that it still holds once snapped to 0.0001."""
FAR = 1e9


class Space(NamedTuple):
    """The zone: a fine grid of cells whose centre lies inside, walls by coarse cell, sizes.

    A fine cell's diagonal is shorter than the smallest radius, so that no stone fits where the
    cell's centre is outside: the walls between would be too near. `open_to` holds a bit for each
    size that may lie there. Coarse cells list the walls that could touch a stone in them.
    `wall_over` is 1 over the squared length, `wall_unit` 1 over the length (0 for a point).
    `fold_*` are a point of the fold and its direction (unit); `on_from`, `on_to` are
    the stretches of it a stone may be centred on.
    """

    fine_x: float
    fine_y: float
    fine: float
    fine_nx: int
    fine_ny: int
    open_to: Wholes
    x0: float
    y0: float
    step: float
    nx: int
    ny: int
    wall_from: Wholes
    wall_item: Wholes
    wall_x: Reals
    wall_y: Reals
    wall_dx: Reals
    wall_dy: Reals
    wall_over: Reals
    wall_unit: Reals
    wall_clear: Reals
    wall_limit: Reals
    wall_fold: Wholes
    radius: Reals
    grown: Reals
    height: Reals
    fold_x: float
    fold_y: float
    fold_dx: float
    fold_dy: float
    on_from: Reals
    on_to: Reals


class Stones(NamedTuple):
    """Stones set: centres, radii grown by half their gap, sizes (−1: an obstacle), cells' chains.

    `on_fold` marks those centred on the fold. `held[0]` counts the places taken, `held[1]` how
    many of them are obstacles. A stone taken out has size −2 and stands in no chain.
    """

    x: Reals
    y: Reals
    grown: Reals
    size: Wholes
    on_fold: Wholes
    first: Wholes
    after: Wholes
    held: Wholes


@kernel
def snapped(value: float) -> float:
    """The nearest multiple of 0.0001, the very number its four decimals stand for."""
    whole = int(value * 10000.0 + 0.5 + 1073741824.0) - 1073741824
    return whole / 10000.0


@kernel
def coarse_cell(space: Space, x: float, y: float) -> int:
    """The coarse cell of a point, those outside counted to the nearest."""
    i = int((x - space.x0) / space.step)
    j = int((y - space.y0) / space.step)
    i = min(max(i, 0), space.nx - 1)
    j = min(max(j, 0), space.ny - 1)
    return j * space.nx + i


@kernel
def is_open(space: Space, x: float, y: float, size: int) -> bool:
    """Whether the fine cell of a point lies inside the zone and is open to the size."""
    u = (x - space.fine_x) / space.fine
    v = (y - space.fine_y) / space.fine
    if u < 0.0 or v < 0.0:
        return False
    i = int(u)
    j = int(v)
    if i >= space.fine_nx or j >= space.fine_ny:
        return False
    return bool((space.open_to[j * space.fine_nx + i] >> size) & 1)


@kernel
def is_on_fold(space: Space, x: float, y: float, size: int) -> bool:
    """Whether a point of the fold is one that a stone of the size may be centred on."""
    t = (x - space.fold_x) * space.fold_dx + (y - space.fold_y) * space.fold_dy
    inside = False
    for k in range(len(space.on_from)):
        if space.on_from[k] <= t <= space.on_to[k]:
            inside = True
    if not inside:
        return False
    out = 1.01 * space.fine
    ax = x - out * space.fold_dy
    ay = y + out * space.fold_dx
    bx = x + out * space.fold_dy
    by = y - out * space.fold_dx
    return is_open(space, ax, ay, size) or is_open(space, bx, by, size)


@kernel
def wall_room(space: Space, x: float, y: float, size: int, on_fold: bool) -> float:
    """How much farther than needed a stone of the size is from the nearest wall (negative: too near).

    Walls out of the coarse cell's reach do not count: the answer is then FAR.
    """
    cell = coarse_cell(space, x, y)
    best = FAR
    height = space.height[size]
    for k in range(space.wall_from[cell], space.wall_from[cell + 1]):
        w = space.wall_item[k]
        limit = space.wall_limit[w]
        if limit >= 0.0 and height <= limit:
            continue
        if on_fold and space.wall_fold[w] == 1:
            continue
        px = x - space.wall_x[w]
        py = y - space.wall_y[w]
        t = (px * space.wall_dx[w] + py * space.wall_dy[w]) * space.wall_over[w]
        t = min(max(t, 0.0), 1.0)
        px -= t * space.wall_dx[w]
        py -= t * space.wall_dy[w]
        reach = best + space.wall_clear[w]
        if reach > 0.0:
            squared = px * px + py * py
            if squared < reach * reach:
                best = squared**0.5 - space.wall_clear[w]
    return float(best - space.radius[size])


@kernel
def way_off_wall(space: Space, x: float, y: float, size: int) -> tuple[float, float, float]:
    """As wall_room, the fold a wall like others, and the unit vector straight off that wall."""
    cell = coarse_cell(space, x, y)
    height = space.height[size]
    least = FAR
    ux = 0.0
    uy = 0.0
    for k in range(space.wall_from[cell], space.wall_from[cell + 1]):
        w = space.wall_item[k]
        limit = space.wall_limit[w]
        if limit >= 0.0 and height <= limit:
            continue
        px = x - space.wall_x[w]
        py = y - space.wall_y[w]
        t = (px * space.wall_dx[w] + py * space.wall_dy[w]) * space.wall_over[w]
        t = min(max(t, 0.0), 1.0)
        px -= t * space.wall_dx[w]
        py -= t * space.wall_dy[w]
        far = (px * px + py * py) ** 0.5
        room = far - space.wall_clear[w] - space.radius[size]
        if room < least:
            least = room
            ux = px / (far + 1e-12)
            uy = py / (far + 1e-12)
    return least, ux, uy


@kernel
def stone_room(space: Space, stones: Stones, x: float, y: float, grown: float, skip: int) -> float:
    """How much farther than needed a stone is from the nearest other (negative: too near).

    Sees stones in the nine coarse cells around only, else FAR. `skip` is a stone to overlook.
    """
    i = int((x - space.x0) / space.step)
    j = int((y - space.y0) / space.step)
    i = min(max(i, 0), space.nx - 1)
    j = min(max(j, 0), space.ny - 1)
    best = FAR
    for v in range(max(j - 1, 0), min(j + 2, space.ny)):
        for u in range(max(i - 1, 0), min(i + 2, space.nx)):
            k = stones.first[v * space.nx + u]
            while k >= 0:
                if k != skip:
                    px = x - stones.x[k]
                    py = y - stones.y[k]
                    reach = best + stones.grown[k]
                    if reach > 0.0:
                        squared = px * px + py * py
                        if squared < reach * reach:
                            best = squared**0.5 - stones.grown[k]
                k = stones.after[k]
    return best - grown


@kernel
def stands_free(
    space: Space, stones: Stones, x: float, y: float, size: int, on_fold: bool, skip: int
) -> bool:
    """Whether a stone of the size may stand at a point, all rules kept exactly."""
    if on_fold:
        if not is_on_fold(space, x, y, size):
            return False
    elif not is_open(space, x, y, size):
        return False
    if stone_room(space, stones, x, y, space.grown[size], skip) < -SLACK_MM:
        return False
    return wall_room(space, x, y, size, on_fold) >= -SLACK_MM


@kernel
def put(space: Space, stones: Stones, x: float, y: float, size: int, on_fold: int) -> int:
    """Sets a stone down at the next free place of the columns, which must have one; its number."""
    k = int(stones.held[0])
    stones.held[0] += 1
    stones.x[k] = x
    stones.y[k] = y
    stones.grown[k] = space.grown[size]
    stones.size[k] = size
    stones.on_fold[k] = on_fold
    link(space, stones, k)
    return k


@kernel
def link(space: Space, stones: Stones, k: int) -> None:
    """Enters a stone in its cell's chain."""
    cell = coarse_cell(space, stones.x[k], stones.y[k])
    stones.after[k] = stones.first[cell]
    stones.first[cell] = k


@kernel
def unlink(space: Space, stones: Stones, k: int) -> None:
    """Takes a stone out of its cell's chain."""
    cell = coarse_cell(space, stones.x[k], stones.y[k])
    at = stones.first[cell]
    if at == k:
        stones.first[cell] = stones.after[k]
        return
    while stones.after[at] != k:
        at = stones.after[at]
    stones.after[at] = stones.after[k]


@kernel
def take_out(space: Space, stones: Stones, k: int) -> None:
    """Removes a stone; its number is not given again."""
    unlink(space, stones, k)
    stones.size[k] = -2


@kernel
def drawn(state: Wholes) -> float:
    """The next number of a generator (two 64-bit whole numbers), between 0 and 1. See rng.py."""
    state[0] = state[0] * 40014 % 2147483563
    state[1] = state[1] * 40692 % 2147483399
    return float(((state[0] - state[1]) % 2147483562 + 1) / 2147483563)
