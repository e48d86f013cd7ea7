"""Growing a fill from the outline row inwards: what `packed` starts from, of one size or several."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, NamedTuple

from templater.geometry.rng import Rng
from templater.model.stones import Field

if TYPE_CHECKING:
    from templater.geometry.kernels.room import Space, Stones
    from templater.geometry.kernels.ways import Taste

_FIRM = 6.0
"""How hard sizes are held to their shares: mm of free way for the stones of a zone missed."""
_UNLIKE = 0.05
"""Free way that a place is thought worse by for each neighbour of its own size beyond the first."""


class Growth(NamedTuple):
    """One way to grow a fill: see kernels.ways.Taste. `favour` is for the size asked for most."""

    mode: int
    way: float
    cap: float
    favour: float
    noise: float


def stones_about(space: Space) -> float:
    """About how many stones fill the space."""
    import numpy as np

    cells = int(np.count_nonzero(np.asarray(space.open_to)))
    mean = sum(space.grown) / len(space.grown)
    return float(1.0 + cells * space.fine * space.fine / (4.0 * mean * mean))


def grown(
    field: Field,
    space: Space,
    start: Stones,
    growth: Growth,
    shares: Sequence[float],
    depth: object,
    rng: Rng,
) -> Stones:
    """The stones at the start (which stay as they are) and all that the growth adds."""
    from templater.geometry.kernels.packing import corner_seeds, finished, grown_fill, new_bench
    from templater.geometry.kernels.space import copied

    taste = taste_of(space, growth, shares, depth)
    bench = new_bench(space, (rng.first, rng.second))
    seeds = corner_seeds(space, field.rings)
    return finished(space, grown_fill(space, copied(start), taste, bench, seeds))


def taste_of(space: Space, growth: Growth, shares: Sequence[float], depth: object) -> Taste:
    """What makes a place good for a growth; shares need not add up to 1."""
    from templater.geometry.kernels.compiled import column
    from templater.geometry.kernels.ways import FROM_POINT, Taste

    largest = max(range(len(shares)), key=lambda s: (shares[s], -s))
    bonus = column([growth.favour if s == largest else 0.0 for s in range(len(shares))])
    total = sum(shares)
    x, y = 0.6, 0.8
    if growth.mode == FROM_POINT:
        x = space.fine_x + space.fine_nx * space.fine / 2.0
        y = space.fine_y + space.fine_ny * space.fine / 2.0
    several = len(shares) > 1
    return Taste(
        growth.way,
        bonus,
        growth.noise,
        _FIRM / stones_about(space) if several else 0.0,
        0.0,
        growth.cap,
        _UNLIKE if several else 0.0,
        True,
        column([share / total for share in shares]),
        depth,
        x,
        y,
        growth.mode,
    )
