"""A large mixed zone in passes: how many beside the bound. Figures are printed: pytest -s."""

import math
import time

from templater.geometry.rng import Rng
from templater.stencils.parting import part
from templater.stencils.sizing import HoleSize

RADII = {2.4: 0.25, 2.0: 0.5, 1.6: 0.25}
GAP_MM = 0.3


def _mixed(count):
    """Random dense discs of three sizes, a gap apart: each thrown until it lies free."""
    rng = Rng("mixed zone")
    cells = {}
    placed = []
    side = math.sqrt(count / 0.036)
    draws = [radius for radius, share in RADII.items() for _ in range(int(share * count))]
    for radius in sorted(draws, reverse=True):
        for _ in range(2000):
            x, y = rng.uniform() * side, rng.uniform() * side
            cell = (int(x / 5.2), int(y / 5.2))
            near = [
                other
                for dx in (-1, 0, 1)
                for dy in (-1, 0, 1)
                for other in cells.get((cell[0] + dx, cell[1] + dy), ())
            ]
            if all(math.hypot(x - a, y - b) >= radius + r + GAP_MM for a, b, r in near):
                cells.setdefault(cell, []).append((x, y, radius))
                placed.append((x, y, radius))
                break
    return placed


def test_two_thousand_mixed_stones_take_at_most_one_pass_above_the_bound():
    discs = _mixed(2000)
    spots = []
    for x, y, radius in discs:
        wide = 2.0 * radius + 0.4
        spots.append(((x, y), 0.0, HoleSize("round", wide, wide, wide, wide)))
    for bridge in (1.0, 2.0):
        start = time.perf_counter()
        passes, bound = part(spots, bridge)
        seconds = time.perf_counter() - start
        print(
            f"{len(spots)} mixed stones, bridge {bridge} mm: {max(passes) + 1} passes, "
            f"at least {bound}, in {seconds:.2f} s"
        )
        assert bound <= max(passes) + 1 <= bound + 1
