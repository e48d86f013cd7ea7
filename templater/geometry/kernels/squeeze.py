"""Making room: a stone is set where it almost fits and its neighbours are pushed aside. Import late.

Stones around a place are moved by turns, each pair that is too near pushed apart by half its
overlap, until all keep their gaps; then the whole neighbourhood is snapped and tried exactly, and
put back as it was if anything is still too near. Outside the neighbourhood nothing moves.
"""

from __future__ import annotations

from typing import NamedTuple

from templater.geometry.kernels.compiled import Reals, Wholes, kernel
from templater.geometry.kernels.room import (
    SPARE_MM,
    Space,
    Stones,
    is_open,
    link,
    put,
    snapped,
    stands_free,
    stone_room,
    unlink,
    wall_room,
    way_off_wall,
)

MOST = 200
"""Stones in one neighbourhood, those around it included; others stay out of it."""
PAIRS = 3000
EXTRA_MM = 2e-3
"""Pairs are pushed this much farther apart than needed, so that pushing comes to an end."""


class Yard(NamedTuple):
    """Working columns of one push: stones' numbers, places, radii, sizes; pairs that may touch."""

    number: Wholes
    x: Reals
    y: Reals
    grown: Reals
    size: Wholes
    walled: Wholes
    first: Wholes
    second: Wholes
    push: Reals


@kernel
def clear_at(space: Space, stones: Stones, x: float, y: float, size: int, skip: int) -> float:
    """The grown radius a stone may have at a point as far as stones and the size's walls go."""
    free = stone_room(space, stones, x, y, 0.0, skip)
    wall = wall_room(space, x, y, size, False)
    return float(min(free, wall + space.grown[size]))


@kernel
def climb(
    space: Space, stones: Stones, push: Reals, x: float, y: float, size: int, skip: int, step: float
) -> float:
    """Walks from a point to where there is most room near it; leaves the place in push[0], [1]."""
    best = clear_at(space, stones, x, y, size, skip)
    while step > 0.02:
        found = False
        for k in range(8):
            dx = step if k in (0, 4, 7) else (-step if k in (2, 5, 6) else 0.0)
            dy = step if k in (1, 4, 5) else (-step if k in (3, 6, 7) else 0.0)
            if k >= 4:
                dx *= 0.7071
                dy *= 0.7071
            if not is_open(space, x + dx, y + dy, size):
                continue
            room = clear_at(space, stones, x + dx, y + dy, size, skip)
            if room > best:
                best = room
                x += dx
                y += dy
                found = True
                break
        if not found:
            step *= 0.5
    push[0] = x
    push[1] = y
    return best


@kernel
def push_from_walls(space: Space, yard: Yard, k: int) -> float:
    """Moves a stone of the yard off the wall it is nearest to; how much too near it was."""
    x = yard.x[k]
    y = yard.y[k]
    room, ux, uy = way_off_wall(space, x, y, yard.size[k])
    if room < EXTRA_MM:
        yard.x[k] = x + ux * (EXTRA_MM - room)
        yard.y[k] = y + uy * (EXTRA_MM - room)
        return float(max(SPARE_MM - room, 0.0))
    return 0.0


@kernel
def squeeze_in(
    space: Space,
    stones: Stones,
    yard: Yard,
    x: float,
    y: float,
    size: int,
    reach: float,
    turns: int,
) -> bool:
    """Sets a stone of the size near a point, neighbours within `reach` making room, or does nothing.

    The columns must have room for one more. At most `turns` rounds of pushing.
    """
    yard.x[0] = x
    yard.y[0] = y
    yard.size[0] = size
    yard.grown[0] = space.grown[size]
    yard.walled[0] = 1 if wall_room(space, x, y, size, False) < 1.0 else 0
    moving = 1
    count = 1
    wide = reach + 2.0 * space.step
    i0 = max(int((x - wide - space.x0) / space.step), 0)
    j0 = max(int((y - wide - space.y0) / space.step), 0)
    i1 = min(int((x + wide - space.x0) / space.step), space.nx - 1)
    j1 = min(int((y + wide - space.y0) / space.step), space.ny - 1)
    for rest in range(2):
        if rest == 1:
            moving = count
        for j in range(j0, j1 + 1):
            for i in range(i0, i1 + 1):
                k = stones.first[j * space.nx + i]
                while k >= 0:
                    px = stones.x[k] - x
                    py = stones.y[k] - y
                    far = px * px + py * py
                    fixed = stones.size[k] < 0 or stones.on_fold[k] == 1 or far > reach * reach
                    edge = reach + space.step + stones.grown[k]
                    if fixed == (rest == 1) and far < edge * edge:
                        if count >= MOST:
                            return False
                        yard.number[count] = k
                        yard.x[count] = stones.x[k]
                        yard.y[count] = stones.y[k]
                        yard.grown[count] = stones.grown[k]
                        yard.size[count] = stones.size[k]
                        if rest == 0:
                            room = wall_room(space, stones.x[k], stones.y[k], stones.size[k], False)
                            yard.walled[count] = 1 if room < 1.0 else 0
                        count += 1
                    k = stones.after[k]
    pairs = 0
    for a in range(moving):
        for b in range(a + 1, count):
            px = yard.x[a] - yard.x[b]
            py = yard.y[a] - yard.y[b]
            far = yard.grown[a] + yard.grown[b] + 0.8
            if px * px + py * py < far * far:
                if pairs >= PAIRS:
                    return False
                yard.first[pairs] = a
                yard.second[pairs] = b
                pairs += 1
    before = 1e9
    settled = False
    for turn in range(turns):
        worst = 0.0
        for pair in range(pairs):
            a = yard.first[pair]
            b = yard.second[pair]
            px = yard.x[a] - yard.x[b]
            py = yard.y[a] - yard.y[b]
            touch = yard.grown[a] + yard.grown[b]
            want = touch + EXTRA_MM
            squared = px * px + py * py
            if squared < want * want:
                far = squared**0.5
                worst = max(worst, touch + SPARE_MM - far)
                if far < 1e-9:
                    return False
                move = (want - far) / far
                if b < moving:
                    move *= 0.5
                    yard.x[b] -= move * px
                    yard.y[b] -= move * py
                yard.x[a] += move * px
                yard.y[a] += move * py
        for k in range(moving):
            if yard.walled[k] == 1:
                worst = max(worst, push_from_walls(space, yard, k))
        if worst <= 0.0:
            settled = True
            break
        if turn % 8 == 7:
            if worst > 0.97 * before:
                break
            before = worst
    if not settled:
        return False
    return settle(space, stones, yard, moving)


@kernel
def settle(space: Space, stones: Stones, yard: Yard, moving: int) -> bool:
    """Moves the stones of a yard to their new places, the first set anew, if all may stand there;
    else leaves them.
    """
    for k in range(1, moving):
        unlink(space, stones, yard.number[k])
    free = True
    done = 0
    for k in range(moving):
        x = snapped(yard.x[k])
        y = snapped(yard.y[k])
        size = yard.size[k]
        if not stands_free(space, stones, x, y, size, False, -1):
            free = False
            break
        if k == 0:
            yard.number[0] = put(space, stones, x, y, size, 0)
            yard.push[0] = 0.0
        else:
            number = yard.number[k]
            yard.x[k] = stones.x[number]
            yard.y[k] = stones.y[number]
            stones.x[number] = x
            stones.y[number] = y
            link(space, stones, number)
        done = k + 1
    if free:
        return True
    for k in range(done):
        number = yard.number[k]
        unlink(space, stones, number)
        if k == 0:
            stones.held[0] -= 1
        else:
            stones.x[number] = yard.x[k]
            stones.y[number] = yard.y[k]
    for k in range(1, moving):
        link(space, stones, yard.number[k])
    return False


@kernel
def fill_voids(
    space: Space,
    stones: Stones,
    yard: Yard,
    size: int,
    lack: float,
    reach: float,
    turns: int,
    tally: Wholes,
) -> int:
    """Squeezes stones of a size into every void that lacks at most `lack` mm of radius.

    Returns how many; stops when the columns are full. tally[0] counts the tries.
    """
    won = 0
    for j in range(space.fine_ny):
        for i in range(space.fine_nx):
            cell = j * space.fine_nx + i
            if (space.open_to[cell] >> size) & 1 == 0:
                continue
            x = space.fine_x + (i + 0.5) * space.fine
            y = space.fine_y + (j + 0.5) * space.fine
            rough = clear_at(space, stones, x, y, size, -1)
            if rough + 0.5 * space.fine < space.grown[size] - lack:
                continue
            best = climb(space, stones, yard.push, x, y, size, -1, space.fine * 0.4)
            if best < space.grown[size] - lack:
                continue
            tally[0] += 1
            if stones.held[0] >= len(stones.x):
                return won
            if squeeze_in(space, stones, yard, yard.push[0], yard.push[1], size, reach, turns):
                won += 1
    return won
