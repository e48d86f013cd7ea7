"""Open, even, random settings: thrown, then pushed apart until they are even. Import late.

Every stone claims a disc: its radius and half the gap that its place asks for, which may change
from place to place. Stones are thrown where they have most room of a few throws, then overlapping
claims push each other apart by turns; claims keep inside the zone as far as they can, the stones
themselves always do.
"""

from __future__ import annotations

from templater.geometry.kernels.compiled import Reals, Wholes, kernel
from templater.geometry.kernels.room import (
    FAR,
    Space,
    Stones,
    coarse_cell,
    drawn,
    is_on_fold,
    is_open,
    link,
    put,
    snapped,
    stands_free,
    stone_room,
    unlink,
    wall_room,
)


@kernel
def half_gap_at(space: Space, half_gaps: Reals, x: float, y: float) -> float:
    """Half the gap asked for at a point."""
    i = int((x - space.fine_x) / space.fine)
    j = int((y - space.fine_y) / space.fine)
    i = min(max(i, 0), space.fine_nx - 1)
    j = min(max(j, 0), space.fine_ny - 1)
    return float(half_gaps[j * space.fine_nx + i])


@kernel
def throw(
    space: Space,
    stones: Stones,
    half_gaps: Reals,
    cells: Wholes,
    chances: Reals,
    size: int,
    count: int,
    throws: int,
    state: Wholes,
) -> int:
    """Throws `count` stones of a size onto cells, each the best of some throws; how many landed.

    `cells` are fine cells, `chances` the running sums of their chances, the last being the sum.
    """
    landed = 0
    for _ in range(count):
        best = -FAR
        bx = 0.0
        by = 0.0
        for _ in range(throws):
            want = drawn(state) * chances[len(chances) - 1]
            low = 0
            high = len(chances) - 1
            while low < high:
                middle = (low + high) // 2
                if chances[middle] < want:
                    low = middle + 1
                else:
                    high = middle
            cell = cells[low]
            x = space.fine_x + (cell % space.fine_nx + drawn(state)) * space.fine
            y = space.fine_y + (cell // space.fine_nx + drawn(state)) * space.fine
            if not is_open(space, x, y, size) or wall_room(space, x, y, size, False) < 0.0:
                continue
            claim = space.radius[size] + half_gap_at(space, half_gaps, x, y)
            room = stone_room(space, stones, x, y, claim, -1) / claim
            if room > best:
                best = room
                bx = x
                by = y
        if best > -FAR and stones.held[0] < len(stones.x):
            k = put(space, stones, bx, by, size, 0)
            stones.grown[k] = space.radius[size] + half_gap_at(space, half_gaps, bx, by)
            landed += 1
    return landed


@kernel
def even_out(
    space: Space, stones: Stones, half_gaps: Reals, rounds: int, wall_share: float
) -> float:
    """Pushes stones apart whose claims overlap, some rounds; the largest overlap left, by claim.

    Walls push too, as far as `wall_share` of the claim, but a stone in a neck stays where it may.
    Stones centred on the fold slide along it.
    """
    worst = 0.0
    for _ in range(rounds):
        worst = 0.0
        for k in range(stones.held[1], stones.held[0]):
            fold = stones.on_fold[k] == 1
            size = stones.size[k]
            x = stones.x[k]
            y = stones.y[k]
            claim = stones.grown[k]
            mx = 0.0
            my = 0.0
            i = int((x - space.x0) / space.step)
            j = int((y - space.y0) / space.step)
            for v in range(max(j - 1, 0), min(j + 2, space.ny)):
                for u in range(max(i - 1, 0), min(i + 2, space.nx)):
                    n = stones.first[v * space.nx + u]
                    while n >= 0:
                        if n != k:
                            px = x - stones.x[n]
                            py = y - stones.y[n]
                            want = claim + stones.grown[n]
                            squared = px * px + py * py
                            if 1e-12 < squared < want * want:
                                far = squared**0.5
                                part = 0.55
                                if stones.size[n] < 0 or (stones.on_fold[n] == 1 and not fold):
                                    part = 1.0
                                push = part * (want - far) / far
                                mx += push * px
                                my += push * py
                                worst = max(worst, (want - far) / want)
                        n = stones.after[n]
            cell = coarse_cell(space, x, y)
            for item in range(space.wall_from[cell], space.wall_from[cell + 1]):
                w = space.wall_item[item]
                limit = space.wall_limit[w]
                if limit >= 0.0 and space.height[size] <= limit:
                    continue
                if fold and space.wall_fold[w] == 1:
                    continue
                px = x - space.wall_x[w]
                py = y - space.wall_y[w]
                t = (px * space.wall_dx[w] + py * space.wall_dy[w]) * space.wall_over[w]
                t = min(max(t, 0.0), 1.0)
                px -= t * space.wall_dx[w]
                py -= t * space.wall_dy[w]
                want = max(wall_share * claim, space.radius[size] + space.wall_clear[w])
                squared = px * px + py * py
                if 1e-12 < squared < want * want:
                    far = squared**0.5
                    push = 0.5 * (want - far) / far
                    if space.wall_over[w] * want * want > 1.0:
                        push *= 0.5
                    mx += push * px
                    my += push * py
            if fold:
                along = mx * space.fold_dx + my * space.fold_dy
                mx = along * space.fold_dx
                my = along * space.fold_dy
            length = (mx * mx + my * my) ** 0.5
            if length < 1e-7:
                continue
            most = 0.5 * claim
            if length > most:
                mx *= most / length
                my *= most / length
            for _ in range(4):
                nx = x + mx
                ny = y + my
                free = is_on_fold(space, nx, ny, size) if fold else is_open(space, nx, ny, size)
                if free and wall_room(space, nx, ny, size, fold) >= 1e-3:
                    unlink(space, stones, k)
                    stones.x[k] = nx
                    stones.y[k] = ny
                    link(space, stones, k)
                    stones.grown[k] = space.radius[size] + half_gap_at(space, half_gaps, nx, ny)
                    break
                mx *= 0.4
                my *= 0.4
    return worst


@kernel
def snap_all(space: Space, stones: Stones) -> None:
    """Snaps the stones that are no obstacles."""
    for k in range(stones.held[1], stones.held[0]):
        unlink(space, stones, k)
        stones.x[k] = snapped(stones.x[k])
        stones.y[k] = snapped(stones.y[k])
        link(space, stones, k)


@kernel
def bare_cells(space: Space, stones: Stones, size: int, rooms: Reals) -> None:
    """For each fine cell inside, how far its centre is from anything (stone edge or wall)."""
    for cell in range(space.fine_nx * space.fine_ny):
        rooms[cell] = -1.0
        if space.open_to[cell] == 0:
            continue
        x = space.fine_x + (cell % space.fine_nx + 0.5) * space.fine
        y = space.fine_y + (cell // space.fine_nx + 0.5) * space.fine
        wall = wall_room(space, x, y, size, False) + space.radius[size]
        rooms[cell] = min(stone_room(space, stones, x, y, 0.0, -1), wall)


@kernel
def settle_elsewhere(space: Space, stones: Stones, size: int, throws: int, state: Wholes) -> bool:
    """Sets a stone at the barest of some spots drawn at random; False if none of them is free."""
    best = -FAR
    bx = 0.0
    by = 0.0
    for _ in range(throws):
        x = snapped(space.fine_x + drawn(state) * space.fine_nx * space.fine)
        y = snapped(space.fine_y + drawn(state) * space.fine_ny * space.fine)
        if is_open(space, x, y, size):
            room = stone_room(space, stones, x, y, space.grown[size], -1)
            if room > best and stands_free(space, stones, x, y, size, False, -1):
                best = room
                bx = x
                by = y
    if best == -FAR:
        return False
    put(space, stones, bx, by, size, 0)
    return True
