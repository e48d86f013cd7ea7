"""Laying a zone out on grids: which cells are inside, which walls are near. Import late."""

from __future__ import annotations

from templater.geometry.kernels.compiled import Reals, Wholes, kernel


@kernel
def flip_rows(
    xs: Reals,
    ys: Reals,
    starts: Wholes,
    x0: float,
    y0: float,
    h: float,
    nx: int,
    ny: int,
    flips: Wholes,
) -> None:
    """Marks where each row of cell centres enters or leaves the rings (even-odd).

    `flips` holds ny rows of nx + 1 marks, one at the first cell whose centre lies beyond the
    crossing. Ring r has corners starts[r] to starts[r + 1].
    """
    for r in range(len(starts) - 1):
        before = starts[r + 1] - 1
        for k in range(starts[r], starts[r + 1]):
            xa, ya, xb, yb = xs[before], ys[before], xs[k], ys[k]
            before = k
            if ya > yb:
                xa, ya, xb, yb = xb, yb, xa, ya
            low = int(max((ya - y0) / h - 0.5, 0.0))
            high = int(min(max((yb - y0) / h + 0.5, 0.0), ny - 1.0))
            for j in range(low, high + 1):
                centre = y0 + (j + 0.5) * h
                if ya <= centre < yb:
                    x = xa + (xb - xa) * ((centre - ya) / (yb - ya))
                    i = (x - x0) / h - 0.5
                    first = 0 if i < 0.0 else min(int(i) + 1, nx)
                    flips[j * (nx + 1) + first] ^= 1


@kernel
def set_inside(flips: Wholes, nx: int, ny: int, bits: int, on: bool, open_to: Wholes) -> None:
    """Gives the cells between flips these bits, or takes the bits from them."""
    for j in range(ny):
        inside = 0
        for i in range(nx):
            inside ^= flips[j * (nx + 1) + i]
            if inside == 1:
                if on:
                    open_to[j * nx + i] |= bits
                else:
                    open_to[j * nx + i] &= ~bits


@kernel
def list_walls(
    xs: Reals,
    ys: Reals,
    dxs: Reals,
    dys: Reals,
    overs: Reals,
    reaches: Reals,
    x0: float,
    y0: float,
    h: float,
    nx: int,
    ny: int,
    starts: Wholes,
    items: Wholes,
    fill: bool,
) -> None:
    """Counts, then lists, for each cell the walls that come within their reach of it.

    First with fill False: starts[c + 1] becomes the count. Then, with starts[c] made where cell c
    begins, with fill True: items are written and starts[c] moved on to where it ends.
    """
    half = h * 0.7071067811865476
    for w in range(len(xs)):
        reach = reaches[w]
        left = min(xs[w], xs[w] + dxs[w]) - reach
        right = max(xs[w], xs[w] + dxs[w]) + reach
        low = min(ys[w], ys[w] + dys[w]) - reach
        high = max(ys[w], ys[w] + dys[w]) + reach
        if right < x0 or high < y0 or left > x0 + nx * h or low > y0 + ny * h:
            continue
        i0 = min(max(int((left - x0) / h), 0), nx - 1)
        i1 = min(max(int((right - x0) / h), 0), nx - 1)
        j0 = min(max(int((low - y0) / h), 0), ny - 1)
        j1 = min(max(int((high - y0) / h), 0), ny - 1)
        enough = (reach + half) * (reach + half)
        for j in range(j0, j1 + 1):
            for i in range(i0, i1 + 1):
                px = x0 + (i + 0.5) * h - xs[w]
                py = y0 + (j + 0.5) * h - ys[w]
                t = (px * dxs[w] + py * dys[w]) * overs[w]
                t = min(max(t, 0.0), 1.0)
                px -= t * dxs[w]
                py -= t * dys[w]
                if px * px + py * py <= enough:
                    cell = j * nx + i
                    if fill:
                        items[starts[cell]] = w
                        starts[cell] += 1
                    else:
                        starts[cell + 1] += 1
