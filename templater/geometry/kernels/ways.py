"""What makes a place good to grow from: tastes, and the way from where growth began. Import late."""

from __future__ import annotations

from typing import NamedTuple

from templater.geometry.kernels.compiled import Reals, Wholes, kernel
from templater.geometry.kernels.room import Space

FROM_WALL, FROM_POINT, ALONG = 0, 1, 2


class Taste(NamedTuple):
    """What makes a place good, least first: mm of free way to a third thing (counted from `blunt` up
    to `cap`), plus `way` times the way from where growth began, less the size's `bonus`, plus noise
    up to `noise`, plus `alike` for each neighbour in touch of its own size beyond the first; then
    `share` times how far the size is beyond its share. The way is, by `mode`: FROM_WALL, the way to
    the nearest wall, whose number `nearest` holds for each fine cell; FROM_POINT, to (x, y);
    ALONG, how far on a point lies in direction (x, y). Places at walls are offered if `at_walls`.
    """

    way: float
    bonus: Reals
    noise: float
    share: float
    blunt: float
    cap: float
    alike: float
    at_walls: bool
    shares: Reals
    nearest: Wholes
    x: float
    y: float
    mode: int


@kernel
def wall_way(space: Space, w: int, x: float, y: float) -> float:
    """The way from a point to a wall."""
    px = x - space.wall_x[w]
    py = y - space.wall_y[w]
    t = (px * space.wall_dx[w] + py * space.wall_dy[w]) * space.wall_over[w]
    t = min(max(t, 0.0), 1.0)
    px -= t * space.wall_dx[w]
    py -= t * space.wall_dy[w]
    return float((px * px + py * py) ** 0.5)


@kernel
def way_at(space: Space, taste: Taste, x: float, y: float) -> float:
    """How far a point is from where growth began, as the taste has it."""
    if taste.mode == FROM_WALL:
        u = int((x - space.fine_x) / space.fine)
        v = int((y - space.fine_y) / space.fine)
        u = min(max(u, 0), space.fine_nx - 1)
        v = min(max(v, 0), space.fine_ny - 1)
        w = taste.nearest[v * space.fine_nx + u]
        return 0.0 if w < 0 else wall_way(space, w, x, y)
    if taste.mode == FROM_POINT:
        px = x - taste.x
        py = y - taste.y
        return float((px * px + py * py) ** 0.5)
    return float(x * taste.x + y * taste.y)


@kernel
def nearest_walls(space: Space, nearest: Wholes, ways: Reals) -> None:
    """For each fine cell the wall nearest to its centre, handed on from cell to cell.

    Both columns come with what is known at first: the walls near each cell, −1 and FAR elsewhere.
    Nearly always the nearest: good for a preference, not for a clearance.
    Source: P.-E. Danielsson, Euclidean distance mapping, CGIP 14, 1980.
    """
    nx = space.fine_nx
    ny = space.fine_ny
    for w in range(len(space.wall_x)):
        if space.wall_limit[w] >= 0.0:
            continue
        far = (space.wall_dx[w] * space.wall_dx[w] + space.wall_dy[w] * space.wall_dy[w]) ** 0.5
        steps = int(far / space.fine * 2.0) + 1
        for k in range(steps + 1):
            x = space.wall_x[w] + space.wall_dx[w] * k / steps
            y = space.wall_y[w] + space.wall_dy[w] * k / steps
            i = min(max(int((x - space.fine_x) / space.fine), 0), nx - 1)
            j = min(max(int((y - space.fine_y) / space.fine), 0), ny - 1)
            c = j * nx + i
            cx = space.fine_x + (i + 0.5) * space.fine
            cy = space.fine_y + (j + 0.5) * space.fine
            way = wall_way(space, w, cx, cy)
            if way < ways[c]:
                ways[c] = way
                nearest[c] = w
    for sweep in range(2):
        for jj in range(ny):
            j = jj if sweep == 0 else ny - 1 - jj
            back = -1 if sweep == 0 else 1
            for turn in range(2):
                for ii in range(nx):
                    i = ii if turn == 0 else nx - 1 - ii
                    c = j * nx + i
                    cx = space.fine_x + (i + 0.5) * space.fine
                    cy = space.fine_y + (j + 0.5) * space.fine
                    for k in range(4):
                        u = i + (k - 1 if k < 3 else (-1 if turn == 0 else 1))
                        v = j + back if k < 3 else j
                        if 0 <= u < nx and 0 <= v < ny:
                            w = nearest[v * nx + u]
                            if w >= 0 and w != nearest[c]:
                                way = wall_way(space, w, cx, cy)
                                if way < ways[c]:
                                    ways[c] = way
                                    nearest[c] = w
