"""Fills and bounds against published packings of equal circles."""

import math
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "benchmarks"))

from packing_zones import SS12, SS16, SS20, assert_sound, disc, field_of, rectangle

from templater.geometry.bare import most_stones
from templater.geometry.rng import Rng
from templater.stoning.styles import fill
from templater.stoning.styles.open_setting import ceiling

# Radius of N circles in a unit square. Source: E. Specht, packomania.com, circles in a square.
SQUARE = {10: 0.1482043, 20: 0.1113824, 30: 0.0916711, 39: 0.0813675, 52: 0.0709577, 68: 0.0625201}
# R/r of N circles in a circle. Sources: Fodor 1999 (19); Lubachevsky and Graham 1997; Specht.
DISC = {7: 3.0, 19: 4.8637033, 37: 6.7587705, 61: 8.6612976, 91: 10.5667722}


@pytest.mark.parametrize("count", sorted(SQUARE))
def test_circles_in_a_square(count):
    side = SS16.length_mm / 2.0 / SQUARE[count]
    roomy = field_of(rectangle(side * 1.002, side * 1.002), flat=0.0)
    assert most_stones(roomy.rings, roomy.walls, SS16.length_mm / 2.0, 0.0) >= count
    result = fill(roomy, "packed", None, ((SS16, 1.0),), 0.0, Rng(1))
    assert_sound(roomy, result, ((SS16, 1.0),), 0.0)
    print(f"{len(result.x_mm)} of {count}")
    assert 0.85 * count <= len(result.x_mm) <= count + 1


@pytest.mark.parametrize("count", sorted(DISC))
def test_the_bound_allows_what_is_known_to_fit(count):
    field = field_of(disc(SS16.length_mm / 2.0 * DISC[count] * 1.0005), flat=5e-4)
    assert most_stones(field.rings, field.walls, SS16.length_mm / 2.0, 0.0) >= count


def test_ceilings_with_a_gap():
    """π/√12·(D/(D+g))², L. Fejes Tóth 1943; at 0.2 mm 0.834, 0.821 and 0.800 (derived)."""
    found = [ceiling(((size, 1.0),), 0.2) for size in (SS20, SS16, SS12)]
    assert found == pytest.approx([0.8344, 0.8206, 0.8004], abs=1e-4)
    assert ceiling(((SS16, 1.0),), 0.0) == pytest.approx(math.pi / math.sqrt(12.0))
