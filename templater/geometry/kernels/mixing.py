"""How well sizes are mixed: who lies beside whom. Import late."""

from __future__ import annotations

from templater.geometry.kernels.compiled import Wholes, kernel
from templater.geometry.kernels.room import Space, Stones


@kernel
def count_ends(space: Space, stones: Stones, near: float, ends: Wholes) -> None:
    """Counts pairs of fill stones up to `near` mm beyond their gap, by the sizes of both.

    `ends` holds sizes × sizes numbers, each pair counted both ways round.
    """
    sizes = len(space.grown)
    for j in range(space.ny):
        for i in range(space.nx):
            k = stones.first[j * space.nx + i]
            while k >= 0:
                if stones.size[k] >= 0:
                    for v in range(max(j - 1, 0), min(j + 2, space.ny)):
                        for u in range(max(i - 1, 0), min(i + 2, space.nx)):
                            n = stones.first[v * space.nx + u]
                            while n >= 0:
                                if n != k and stones.size[n] >= 0:
                                    px = stones.x[k] - stones.x[n]
                                    py = stones.y[k] - stones.y[n]
                                    far = stones.grown[k] + stones.grown[n] + near
                                    if px * px + py * py <= far * far:
                                        ends[stones.size[k] * sizes + stones.size[n]] += 1
                                n = stones.after[n]
                k = stones.after[k]
