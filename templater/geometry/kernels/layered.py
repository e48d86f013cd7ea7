"""Three sizes in layers: rows of the middle one, and double rows of large and small by turns.

Where large and small together are as wide as two of the middle size, every row has the same pitch,
and the pattern is much denser than a mixture at random: a start to fill a zone from. Import late.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from templater.geometry.kernels.compiled import Reals, Wholes, column, kernel, whole_column
from templater.geometry.kernels.room import SPARE_MM, Space, Stones, put, snapped, stands_free
from templater.geometry.kernels.space import copied, roomier
from templater.geometry.rng import Rng
from templater.model.curves import Point

_SPARE = 0.6 * SPARE_MM


class Row(NamedTuple):
    """A row across the pattern: how high it is, where it begins, the pitch, the size of its stones."""

    high: float
    start: float
    pitch: float
    size: int


def stacked(
    grown: Sequence[float], share: float, first: int, high: float, rng: Rng
) -> tuple[Row, ...]:
    """Rows one on another from a row of the middle size at 0 up to `high` mm.

    Grown radii, largest first; `share` is the middle size's. In the hollows of a row small and large
    stones lie by turns; a second such layer lies on that, large over small, and the next row of the
    middle size closes it. After `first` rows of the middle size comes the first double layer.
    """
    large, middle, small = (radius + _SPARE for radius in grown)
    pitch = 2.0 * middle
    while True:
        tall = math.sqrt((middle + large) ** 2 - pitch * pitch / 4.0)
        low = math.sqrt(max((middle + small) ** 2 - pitch * pitch / 4.0, 0.0))
        if pitch * pitch + (tall - low) ** 2 >= (large + small) ** 2:
            break
        pitch *= 1.002
    up = max(large + small, tall - low + math.sqrt(max(4.0 * large * large - pitch * pitch, 0.0)))
    step = math.sqrt(max(4.0 * middle * middle - pitch * pitch / 4.0, 0.0))
    each = 2.0 * share / (1.0 - share)
    rows = [Row(0.0, 0.0, pitch, 1)]
    y, aside, left = 0.0, 0.0, float(first)
    turn, odd = rng.below(2), rng.below(2)
    while y < high:
        if left > 1.0 - 1e-9:
            left -= 1.0
            y += step
            aside = pitch / 2.0 - aside
        else:
            near = aside + pitch * (0.5 + turn)
            turn = (turn + odd) % 2
            far = near + pitch
            rows += [Row(y + low, near, 2.0 * pitch, 2), Row(y + tall, far, 2.0 * pitch, 0)]
            rows += [Row(y + low + up, near, 2.0 * pitch, 0)]
            rows += [Row(y + tall + up, far, 2.0 * pitch, 2)]
            y += low + tall + up
            left += each - 1.0
        rows.append(Row(y, aside, pitch, 1))
    return tuple(rows)


def laid(
    space: Space, start: Stones, at: Point, way: Point, share: float, first: int, rng: Rng
) -> Stones:
    """The stones at the start, and rows to both sides of the one through `at` along `way` (unit),
    wherever a stone may stand.
    """
    (ax, ay), (ux, uy) = at, way
    xs = space.fine_x + np.array([0.0, 1.0, 1.0, 0.0]) * space.fine * space.fine_nx
    ys = space.fine_y + np.array([0.0, 0.0, 1.0, 1.0]) * space.fine * space.fine_ny
    along = (xs - ax) * ux + (ys - ay) * uy
    across = (ys - ay) * ux - (xs - ax) * uy
    places = []
    for side, high in ((1.0, across.max()), (-1.0, -across.min())):
        for row in stacked(list(space.grown), share, first, float(high), rng):
            low = math.floor((along.min() - row.start) / row.pitch)
            u = row.start + row.pitch * np.arange(low, (along.max() - row.start) / row.pitch + 1.0)
            v = side * row.high
            places.append((ax + u * ux - v * uy, ay + u * uy + v * ux, np.full(u.size, row.size)))
    x, y, size = (np.concatenate(parts) for parts in zip(*places, strict=True))
    keep = (x > xs[0]) & (x < xs[1]) & (y > ys[0]) & (y < ys[2])
    stones = roomier(copied(start), int(start.held[0]) + int(keep.sum()) + 16)
    lay_down(space, stones, column(x[keep]), column(y[keep]), whole_column(size[keep]))
    return stones


@kernel
def lay_down(space: Space, stones: Stones, xs: Reals, ys: Reals, sizes: Wholes) -> None:
    """Sets stones at the given places where they may stand; the columns must have room for all."""
    for k in range(len(xs)):
        x = snapped(xs[k])
        y = snapped(ys[k])
        size = int(sizes[k])
        if stands_free(space, stones, x, y, size, False, -1):
            put(space, stones, x, y, size, 0)
