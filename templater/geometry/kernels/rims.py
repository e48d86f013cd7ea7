"""Distances from the points of a grid to the nearest of many discs. Import late (see compiled)."""

from __future__ import annotations

from templater.geometry.kernels.compiled import Reals, kernel


@kernel
def near_rims(
    xs: Reals,
    ys: Reals,
    radii: Reals,
    x0: float,
    y0: float,
    step: float,
    nx: int,
    ny: int,
    far: float,
    room: Reals,
) -> None:
    """Lowers `room`, ny rows of nx points from (x0, y0) on, to the distance from the nearest rim.

    Looks no farther than `far` from each rim.
    """
    for k in range(len(xs)):
        x, y, reach = xs[k], ys[k], radii[k] + far
        first = max(int((x - reach - x0) / step), 0)
        last = min(int((x + reach - x0) / step) + 1, nx - 1)
        low = max(int((y - reach - y0) / step), 0)
        high = min(int((y + reach - y0) / step) + 1, ny - 1)
        for j in range(low, high + 1):
            dy = y0 + j * step - y
            for i in range(first, last + 1):
                dx = x0 + i * step - x
                away = (dx * dx + dy * dy) ** 0.5 - radii[k]
                room[j * nx + i] = min(room[j * nx + i], away)
