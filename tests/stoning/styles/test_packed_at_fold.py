"""Packed of several sizes on a piece made on the fold: no bare line along it."""

import dataclasses
import sys
from pathlib import Path

import numpy as np

BENCHMARKS = Path(__file__).resolve().parents[2] / "benchmarks"
sys.path.insert(0, str(BENCHMARKS))

from packing_zones import (  # noqa: E402 (found beside the benchmarks)
    MIX,
    SS12,
    SS16,
    SS20,
    assert_sound,
    field_of,
    on_fold,
    rectangle,
    walls_of,
)

from templater.geometry.rng import Rng  # noqa: E402
from templater.model.ground import Fold  # noqa: E402
from templater.model.stones import Wall  # noqa: E402
from templater.stoning.styles import fill, packed  # noqa: E402

WIDE, HIGH, GAP = 45.0, 110.0, 0.6
SEEDS = 8


def on_the_fold():
    """The right half of a zone made on the fold at x = 0."""
    rings = rectangle(WIDE, HIGH)
    sides = [wall for wall in walls_of(rings, 0.1) if not wall.x0 == wall.x1 == 0.0]
    fold_wall = Wall(0.0, HIGH, 0.0, 0.0, GAP / 2.0, is_fold=True)
    field = field_of(rings, fold=Fold((0.0, 0.0), (0.0, 1.0)))
    return dataclasses.replace(field, walls=(*sides, fold_wall))


def test_no_bare_line_along_the_fold():
    """Coverage of half a millimetre, half a stone, and two stones at the fold beside the rest.

    Grown without a thought for the fold, the first had a third of the rest, the second 0.83 of it.
    """
    field, xs = on_the_fold(), np.arange(0.05, WIDE, 0.1)
    covered = np.zeros(len(xs))
    for seed in range(SEEDS):
        result = fill(field, "packed", None, MIX, GAP, Rng(seed, "fold"))
        if seed == 0:
            assert_sound(field, result, MIX, GAP)
            assert result.maximal
        for x, y, k in zip(result.x_mm, result.y_mm, result.size_index, strict=True):
            if 8.0 < y < HIGH - 8.0:
                radius = MIX[k][0].width_mm / 2.0
                covered += 2.0 * np.sqrt(np.maximum(radius**2 - (xs - x) ** 2, 0.0))
    rest = covered[(xs > 12.0) & (xs < WIDE - 12.0)].mean()
    line, half, two = (covered[xs < width].mean() / rest for width in (0.5, 2.0, 7.8))
    print(f"{line:.3f} within 0.5 mm of the fold, {half:.3f} within 2 mm, {two:.3f} within 7.8 mm")
    assert line >= 0.7
    assert 0.93 <= half <= 1.1
    assert 0.96 <= two <= 1.04


def test_the_stones_on_the_fold_are_as_mixed_as_the_rest_and_in_no_regular_order():
    field = on_the_fold()
    steps, sizes = [], []
    for seed in range(SEEDS):
        result = fill(field, "packed", packed.Parameters(effort=0.1), MIX, GAP, Rng(seed, "fold"))
        there = sorted(
            (y, k)
            for x, y, k in zip(result.x_mm, result.y_mm, result.size_index, strict=True)
            if on_fold(field, (x, y))
        )
        sizes += [k for _, k in there]
        ys = np.array([y for y, _ in there])
        steps += list(np.diff(ys))
    found = [sizes.count(k) / len(sizes) for k in range(3)]
    assert all(abs(got - share) < 0.12 for got, (_, share) in zip(found, MIX, strict=True))
    assert np.std(steps) > 0.2 * np.mean(steps)


def test_across_a_fold_nothing_is_woven():
    """Two weaves would meet there, the cloth up to 7.8 mm from the fold a tenth less covered."""
    field = on_the_fold()
    thirds = tuple((size, 1.0 / 3.0) for size in (SS20, SS16, SS12))
    plain = packed.Parameters(effort=0.1, woven=False)
    fills = [
        fill(field, "packed", given, thirds, GAP, Rng(1, "fold"))
        for given in (packed.Parameters(effort=0.1), plain)
    ]
    assert fills[0] == fills[1]
