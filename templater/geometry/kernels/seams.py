"""Which stones of a lattice lie at its rim, and how bare a fill is. Import late."""

from __future__ import annotations

from templater.geometry.kernels.compiled import Wholes, kernel
from templater.geometry.kernels.room import Space, Stones, is_open, stone_room, wall_room


@kernel
def number_layers(
    space: Space, stones: Stones, near_mm: float, full: int, most: int, layer: Wholes
) -> None:
    """For each stone that is no obstacle how many layers lie between it and the lattice's rim.

    Stones with less than `full` others within `near_mm`, mirror images at a fold counted, have 0.
    Deeper ones than `most` have `most`.
    """
    folded = len(space.on_from) > 0
    for turn in range(most):
        for k in range(int(stones.held[1]), int(stones.held[0])):
            if turn == 0:
                layer[k] = most
            elif layer[k] < most:
                continue
            x = stones.x[k]
            y = stones.y[k]
            aside = (x - space.fold_x) * space.fold_dy - (y - space.fold_y) * space.fold_dx
            met = 0
            beside = False
            i = int((x - space.x0) / space.step)
            j = int((y - space.y0) / space.step)
            for v in range(max(j - 1, 0), min(j + 2, space.ny)):
                for u in range(max(i - 1, 0), min(i + 2, space.nx)):
                    n = stones.first[v * space.nx + u]
                    while n >= 0:
                        if n >= stones.held[1] and n != k:
                            px = x - stones.x[n]
                            py = y - stones.y[n]
                            if px * px + py * py <= near_mm * near_mm:
                                met += 1
                                if turn > 0 and layer[n] == turn - 1:
                                    beside = True
                        if folded and n >= stones.held[1] and stones.on_fold[n] == 0:
                            px = x - stones.x[n]
                            py = y - stones.y[n]
                            along = px * space.fold_dx + py * space.fold_dy
                            other = (stones.x[n] - space.fold_x) * space.fold_dy
                            other -= (stones.y[n] - space.fold_y) * space.fold_dx
                            across = aside + other
                            if along * along + across * across <= near_mm * near_mm:
                                met += 1
                        n = stones.after[n]
            if turn == 0 and met < full:
                layer[k] = 0
            elif beside:
                layer[k] = turn


@kernel
def bareness(space: Space, stones: Stones, size: int, from_mm: float) -> float:
    """How much of a zone is barer than it has to be: over its cells, the cube of how much farther
    than `from_mm` each is from every stone and wall.
    """
    total = 0.0
    for cell in range(space.fine_nx * space.fine_ny):
        x = space.fine_x + (cell % space.fine_nx + 0.5) * space.fine
        y = space.fine_y + (cell // space.fine_nx + 0.5) * space.fine
        if not is_open(space, x, y, size):
            continue
        wall = wall_room(space, x, y, size, False) + space.radius[size]
        more = min(stone_room(space, stones, x, y, 0.0, -1), wall) - from_mm
        if more > 0.0:
            total += more * more * more
    return total


@kernel
def mark_beside_bare(
    space: Space, stones: Stones, size: int, bare_mm: float, reach_mm: float, mark: Wholes
) -> int:
    """Marks the stones within reach of a place that is farther than `bare_mm` from every stone and
    wall; how many such cells there are.
    """
    found = 0
    wide = int(reach_mm / space.step) + 1
    for cell in range(space.fine_nx * space.fine_ny):
        x = space.fine_x + (cell % space.fine_nx + 0.5) * space.fine
        y = space.fine_y + (cell // space.fine_nx + 0.5) * space.fine
        if not is_open(space, x, y, size):
            continue
        wall = wall_room(space, x, y, size, False) + space.radius[size]
        if min(stone_room(space, stones, x, y, 0.0, -1), wall) <= bare_mm:
            continue
        found += 1
        i = int((x - space.x0) / space.step)
        j = int((y - space.y0) / space.step)
        for v in range(max(j - wide, 0), min(j + wide + 1, space.ny)):
            for u in range(max(i - wide, 0), min(i + wide + 1, space.nx)):
                n = stones.first[v * space.nx + u]
                while n >= 0:
                    px = x - stones.x[n]
                    py = y - stones.y[n]
                    if px * px + py * py < reach_mm * reach_mm:
                        mark[n] = 1
                    n = stones.after[n]
    return found
