"""Making sure that nothing more fits: every spot of a zone looked at, exactly. Import late.

How much more room than needed a stone would have changes by no more than a point moves. So a
square can be left when its middle has less room than its half diagonal; else it is quartered.
"""

from __future__ import annotations

from templater.geometry.kernels.compiled import Reals, kernel
from templater.geometry.kernels.room import (
    SPARE_MM,
    Space,
    Stones,
    put,
    snapped,
    stands_free,
    stone_room,
    wall_room,
)

ENOUGH_MM = 8e-4
"""Spots with this much to spare are always found: less than the micron that maximal means."""
DEEP = 64
"""Squares waiting at once: three for each of at most twenty quarterings."""


@kernel
def slack(space: Space, stones: Stones, x: float, y: float, size: int, on_fold: bool) -> float:
    """How much more room than needed a stone has at a point (negative: how much it lacks)."""
    room = stone_room(space, stones, x, y, space.grown[size], -1)
    if room < -2.0 * space.fine:
        return room
    return min(room, wall_room(space, x, y, size, on_fold))


@kernel
def fill_rest(space: Space, stones: Stones, stack: Reals, size: int, first: int) -> int:
    """Sets a stone of the size wherever one has room to spare, in one pass over the zone's cells.

    Starts at cell `first`; returns the cell at which the columns were full, or the count of cells
    when done: then none fits with a micron to spare. `stack` holds 3·DEEP numbers.
    """
    cells = space.fine_nx * space.fine_ny
    for cell in range(first, cells):
        if (space.open_to[cell] >> size) & 1 == 0:
            continue
        stack[0] = space.fine_x + (cell % space.fine_nx + 0.5) * space.fine
        stack[1] = space.fine_y + (cell // space.fine_nx + 0.5) * space.fine
        stack[2] = space.fine * 0.5
        top = 1
        while top > 0:
            top -= 1
            x = stack[3 * top]
            y = stack[3 * top + 1]
            half = stack[3 * top + 2]
            room = slack(space, stones, x, y, size, False)
            if room >= SPARE_MM and stands_free(
                space, stones, snapped(x), snapped(y), size, False, -1
            ):
                if stones.held[0] >= len(stones.x):
                    return cell
                put(space, stones, snapped(x), snapped(y), size, 0)
                room = -space.radius[size]
            if room + half * 1.4142135623730951 < ENOUGH_MM:
                continue
            half *= 0.5
            for k in range(4):
                stack[3 * top] = x + (half if k % 2 == 0 else -half)
                stack[3 * top + 1] = y + (half if k < 2 else -half)
                stack[3 * top + 2] = half
                top += 1
    return cells


@kernel
def fill_fold(space: Space, stones: Stones, size: int) -> bool:
    """Sets stones of the size centred on the fold wherever they have room; False if columns fill."""
    for k in range(len(space.on_from)):
        t = space.on_from[k]
        while t <= space.on_to[k]:
            x = snapped(space.fold_x + t * space.fold_dx)
            y = snapped(space.fold_y + t * space.fold_dy)
            room = slack(space, stones, x, y, size, True)
            if room >= SPARE_MM and stands_free(space, stones, x, y, size, True, -1):
                if stones.held[0] >= len(stones.x):
                    return False
                put(space, stones, x, y, size, 1)
                room = -space.radius[size]
            t += max(0.0 - room, 5e-4)
    return True
