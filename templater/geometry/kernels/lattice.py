"""Regular rows: how many points of a lattice may take a stone, and setting them. Import late."""

from __future__ import annotations

from templater.geometry.kernels.compiled import kernel
from templater.geometry.kernels.room import Space, Stones, put, snapped, stands_free

ON_FOLD_MM = 5e-4
"""A lattice point this near the fold is one on it."""


@kernel
def lay_lattice(
    space: Space,
    stones: Stones,
    ax: float,
    ay: float,
    bx: float,
    by: float,
    ox: float,
    oy: float,
    size: int,
    place: bool,
) -> int:
    """How many stones fit on the points o + i·a + j·b, counted or (with `place`) set.

    Setting stops when the columns are full. Counting looks at walls and obstacles only.
    """
    over = 1.0 / (ax * by - ay * bx)
    left = space.fine_x - ox
    low = space.fine_y - oy
    right = left + space.fine_nx * space.fine
    high = low + space.fine_ny * space.fine
    j_low = 1e9
    j_high = -1e9
    for corner in range(4):
        x = left if corner % 2 == 0 else right
        y = low if corner < 2 else high
        j = (ax * y - ay * x) * over
        j_low = min(j_low, j)
        j_high = max(j_high, j)
    count = 0
    for j in range(int(j_low) - 1, int(j_high) + 2):
        rx = j * bx
        ry = j * by
        i_low = -1e9
        i_high = 1e9
        if abs(ax) > 1e-12:
            p = (left - rx) / ax
            q = (right - rx) / ax
            i_low = max(i_low, min(p, q))
            i_high = min(i_high, max(p, q))
        if abs(ay) > 1e-12:
            p = (low - ry) / ay
            q = (high - ry) / ay
            i_low = max(i_low, min(p, q))
            i_high = min(i_high, max(p, q))
        if i_high < i_low:
            continue
        for i in range(int(i_low) - 1, int(i_high) + 2):
            x = snapped(ox + rx + i * ax)
            y = snapped(oy + ry + i * ay)
            fold = False
            if len(space.on_from) > 0:
                aside = (x - space.fold_x) * space.fold_dy - (y - space.fold_y) * space.fold_dx
                fold = -ON_FOLD_MM < aside < ON_FOLD_MM
            if stands_free(space, stones, x, y, size, fold, -1):
                count += 1
                if place:
                    if stones.held[0] >= len(stones.x):
                        return count - 1
                    put(space, stones, x, y, size, 1 if fold else 0)
    return count
