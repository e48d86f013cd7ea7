"""A fade behind an outline row, at a gap that nearly fills its dense end: as dense as asked, and even."""

import itertools
import math
import sys
from pathlib import Path

import numpy as np
import pytest
from scipy.spatial import cKDTree

BENCHMARKS = Path(__file__).resolve().parents[2] / "benchmarks"
sys.path.insert(0, str(BENCHMARKS))

from packing_zones import (  # noqa: E402 (found beside the benchmarks)
    SS16,
    assert_sound,
    field_of,
    outline_row,
    rectangle,
)

from templater.geometry.rng import Rng  # noqa: E402
from templater.stoning.styles import faded, fill  # noqa: E402

ONE = ((SS16, 1.0),)
WIDE, HIGH, GAP, EDGE = 200.0, 80.0, 0.6, 0.3
START, END = 0.5, 0.05
BEHIND = 2.0 * EDGE + SS16.width_mm
SEEDS = 6


@pytest.fixture(scope="module")
def settings():
    """Centres of the row and of the fills over some seeds."""
    rings = rectangle(WIDE, HIGH)
    row = outline_row(rings, GAP, edge=EDGE, flat=0.0)
    field = field_of(rings, row, edge=EDGE, flat=0.0)
    given = faded.Parameters(start=START, end=END)
    results = [fill(field, "faded", given, ONE, GAP, Rng(seed, "fade")) for seed in range(SEEDS)]
    assert_sound(field, results[0], ONE, GAP)
    assert not any(result.problems for result in results)
    fills = [np.column_stack([result.x_mm, result.y_mm]) for result in results]
    return np.array([stone.corners[0] for stone in row]), fills


def asked(y):
    return START + (END - START) * (1.0 - y / HIGH)


def test_as_dense_everywhere_as_asked(settings):
    """Coverage behind the row, of six bands and of all, not counting the row's own room.

    With stones for the row's room, too, it would be denser by a sixth.
    """
    _, fills = settings
    ys = np.arange(0.05, HIGH, 0.1)
    covered = np.zeros(len(ys))
    for points in fills:
        for _, y in points:
            covered += 2.0 * np.sqrt(np.maximum((SS16.width_mm / 2.0) ** 2 - (ys - y) ** 2, 0.0))
    covered /= SEEDS * (WIDE - 2.0 * BEHIND)
    bounds = np.linspace(BEHIND, HIGH - BEHIND, 7)
    for low, high in itertools.pairwise(bounds):
        band = (ys > low) & (ys < high)
        got, want = covered[band].mean(), asked(ys[band]).mean()
        print(f"{low:4.0f} to {high:4.0f} mm: {got:.3f}, asked {want:.3f}")
        assert abs(got - want) <= 0.06
    behind = (ys > BEHIND) & (ys < HIGH - BEHIND)
    assert covered[behind].mean() == pytest.approx(asked(ys[behind]).mean(), rel=0.07)


def test_neither_clumps_nor_bare_places_where_it_is_dense(settings):
    """Neighbours hardly farther than the gap, and places far from every stone, in the dense half.

    Far is 0.8 of the spacing of a lattice as dense as asked there; in that no place is farther than
    0.577. Evened out only until the gap was kept, each stone had 0.9 such neighbours.
    """
    row, fills = settings
    x, y = np.meshgrid(np.arange(10.0, WIDE - 10.0, 0.4), np.arange(0.55 * HIGH, HIGH - 8.0, 0.4))
    places = np.column_stack([x.ravel(), y.ravel()])
    area = math.pi * SS16.width_mm**2 / 4.0
    spacing = np.sqrt(2.0 / math.sqrt(3.0) * area / asked(places[:, 1]))
    near, bare = [], []
    for points in fills:
        stones = cKDTree(np.vstack([row, points]))
        dense = points[points[:, 1] > 0.55 * HIGH]
        apart = stones.query(dense, 7)[0][:, 1:]
        near.append((apart < SS16.width_mm + GAP + 0.15).sum(axis=1).mean())
        bare.append((stones.query(places)[0] / spacing > 0.8).mean())
    print(f"{np.mean(near):.3f} neighbours within 0.15 mm of the gap, {np.mean(bare):.5f} bare")
    assert np.mean(near) <= 0.4
    assert np.mean(bare) <= 0.001
