"""Weaves of the catalogue beside published packings, and fills that begin from them."""

import math
import sys
from pathlib import Path

import numpy as np
import pytest
from scipy.spatial import cKDTree

BENCHMARKS = Path(__file__).resolve().parents[2] / "benchmarks"
sys.path.insert(0, str(BENCHMARKS))

from packing_zones import (  # noqa: E402 (found beside the benchmarks)
    SS12,
    SS16,
    SS20,
    assert_sound,
    coverage,
    field_of,
    rectangle,
)

from templater.catalogue.tables import table  # noqa: E402
from templater.geometry.kernels.tightening import tightened  # noqa: E402
from templater.geometry.rng import Rng  # noqa: E402
from templater.geometry.weave_figures import fullness, kept_apart, striped  # noqa: E402
from templater.stoning.styles import fill, packed  # noqa: E402
from templater.stoning.styles.woven import catalogued, promising  # noqa: E402

THIRDS = ((SS20, 1 / 3), (SS16, 1 / 3), (SS12, 1 / 3))
GROWN = tuple(size.length_mm / 2.0 + 0.1 for size, _ in THIRDS)
RADIUS = tuple(size.length_mm / 2.0 for size, _ in THIRDS)
FEW = packed.Parameters(effort=0.1)


def root(coefficients, low, high):
    (found,) = [
        float(r.real) for r in np.roots(coefficients) if abs(r.imag) < 1e-9 and low < r.real < high
    ]
    return found


@pytest.mark.parametrize(
    ("ratio", "full"),
    [
        (root([1.0, 0.0, -10.0, -8.0, 9.0], 0.6, 0.7), 0.9106),
        (root([8.0, 3.0, -2.0, -1.0], 0.5, 0.6), 0.9141),
        (math.sqrt(2.0) - 1.0, math.pi * (2.0 - math.sqrt(2.0)) / 2.0),
    ],
)
def test_the_catalogue_holds_the_densest_patterns_known_of_two_sizes(ratio, full):
    """Where every stone touches those around it there is no room to spare.

    Sources: T. Kennedy, Compact packings of the plane with two sizes of discs, Discrete &
    Computational Geometry 35, 2006 (the ratios); A. Heppes, the same journal 30, 2003 (the
    densities). Both from memory; the last density is a square's own sum.
    """
    grown = (2.45, 2.45 * ratio)
    two = [tightened(cell, grown) for cell in catalogued() if set(cell.size) == {0, 1}]
    best = max(fullness(cell, grown) for cell in two if cell is not None)
    assert best == pytest.approx(full, abs=3e-4)


def test_rows_of_the_catalogue_are_patterns_of_two_or_three_sizes():
    rows = catalogued()
    assert len(rows) == len(table("weaves")["weaves"]) > 20
    for cell in rows:
        counts = [cell.size.count(size) for size in range(max(cell.size) + 1)]
        assert len(counts) in (2, 3)
        assert min(counts) >= 0.14 * len(cell.size)
        assert all(0.0 <= part <= 1.0 for place in cell.places for part in place)


def test_the_best_weave_of_a_third_each():
    """Fuller than all but equal stones: our own search, see tests/benchmarks/find_weaves.py."""
    weave = promising(GROWN, RADIUS, (1 / 3, 1 / 3, 1 / 3))[0]
    assert weave.shares == pytest.approx((1 / 3, 1 / 3, 1 / 3))
    assert fullness(weave.cell, GROWN) == pytest.approx(0.901, abs=0.001)
    assert kept_apart(weave.cell, GROWN) < -0.3
    assert striped(weave.cell) < 0.25


def test_sizes_may_be_named_in_any_order():
    turned = promising(GROWN[::-1], RADIUS[::-1], (1 / 3, 1 / 3, 1 / 3))[0]
    plain = promising(GROWN, RADIUS, (1 / 3, 1 / 3, 1 / 3))[0]
    assert turned.cell.area_mm2 == pytest.approx(plain.cell.area_mm2)
    assert sorted(turned.cell.size) == sorted(plain.cell.size)
    assert promising(GROWN, RADIUS, (0.6, 0.1, 0.3)) == ()


def test_wide_stripes_are_told_from_what_is_mixed():
    rows = [cell for cell in catalogued() if set(cell.size) == {0, 1}]
    first = rows[0]
    halves = first._replace(
        size=(0, 0, 1, 1),
        places=((0.0, 0.125), (0.0, 0.375), (0.0, 0.625), (0.0, 0.875)),
        ax=4.0, bx=0.0, by=16.0,
    )  # fmt: skip
    assert striped(halves) > 0.8
    turns = halves._replace(size=(0, 1, 0, 1))
    assert striped(turns) == pytest.approx(0.0, abs=1e-12)


def alike_one_side_away(result):
    """The part of the stones that have one of their own size at the commonest of all steps.

    In a pattern that repeats all but the outermost have one.
    """
    points = np.column_stack([result.x_mm, result.y_mm])
    own = np.array(result.size_index)
    tree = cKDTree(points)
    pairs = tree.query_pairs(20.0, output_type="ndarray")
    pairs = pairs[own[pairs[:, 0]] == own[pairs[:, 1]]]
    steps = points[pairs[:, 1]] - points[pairs[:, 0]]
    steps[steps[:, 0] < 0.0] *= -1.0
    _, counts = np.unique(np.round(steps / 0.5).astype(int), axis=0, return_counts=True)
    return counts.max() / len(points)


def test_a_fill_begins_from_a_weave_where_one_is_tighter_unless_told_not_to():
    field = field_of(rectangle(120.0, 90.0), flat=0.0)
    cover, order = {}, {}
    for woven in (True, False):
        given = packed.Parameters(effort=0.1, woven=woven)
        result = fill(field, "packed", given, THIRDS, 0.2, Rng(3, "woven"))
        assert_sound(field, result, THIRDS, 0.2)
        assert result.maximal
        cover[woven] = coverage(field, result, THIRDS)
        order[woven] = alike_one_side_away(result)
    assert cover[True] > cover[False] + 0.015
    assert order[True] > 0.5
    assert order[False] < 0.2


def test_two_sizes_may_be_woven_too():
    field = field_of(rectangle(120.0, 90.0), flat=0.0)
    halves = ((SS20, 0.5), (SS12, 0.5))
    plain = fill(field, "packed", packed.Parameters(effort=0.1, woven=False), halves, 0.2, Rng(3))
    woven = fill(field, "packed", FEW, halves, 0.2, Rng(3))
    assert_sound(field, woven, halves, 0.2)
    assert coverage(field, woven, halves) > coverage(field, plain, halves) + 0.015


def test_shares_that_no_weave_has_are_kept():
    field = field_of(rectangle(120.0, 90.0), flat=0.0)
    mix = ((SS20, 0.6), (SS16, 0.1), (SS12, 0.3))
    result = fill(field, "packed", packed.Parameters(), mix, 0.2, Rng(3))
    for size, (_, share) in enumerate(mix):
        assert result.size_index.count(size) / len(result.size_index) == pytest.approx(
            share, abs=0.04
        )
    assert alike_one_side_away(result) < 0.2
