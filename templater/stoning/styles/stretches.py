"""Stretches of an outline row, or of walls, that patterns are laid along."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from templater.geometry.kernels.room import Space, Stones


def stretches(
    space: Space, start: Stones, count: int
) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    """Places for stones of a row, with its direction there: stones of the outline row, spread over it,
    and the way to their nearest neighbours; without a row, along the longest walls.
    """
    import numpy as np

    fixed = int(start.held[1])
    found = []
    if fixed < 2:
        dx, dy = np.asarray(space.wall_dx), np.asarray(space.wall_dy)
        lengths = np.sqrt(dx * dx + dy * dy)
        for w in np.argsort(-lengths, kind="stable")[: max(count // 2, 1)]:
            far = float(lengths[w])
            if far > 0.0:
                ux, uy = float(dx[w]) / far, float(dy[w]) / far
                off = float(space.radius[1] + space.wall_clear[w]) + 2e-4
                mx, my = float(space.wall_x[w] + dx[w] / 2.0), float(space.wall_y[w] + dy[w] / 2.0)
                found += [((mx - uy * side, my + ux * side), (ux, uy)) for side in (off, -off)]
        return found
    x, y = np.asarray(start.x)[:fixed], np.asarray(start.y)[:fixed]
    for i in (np.arange(count) + 0.5) * fixed / count:
        k = int(i)
        squared = (x - x[k]) ** 2 + (y - y[k]) ** 2
        squared[k] = np.inf
        n = int(np.argmin(squared))
        far = math.sqrt(squared[n])
        if far > 0.0:
            way = (float(x[n] - x[k]) / far, float(y[n] - y[k]) / far)
            found.append(((float(x[k]), float(y[k])), way))
    return found
