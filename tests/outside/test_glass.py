"""The mass of stones against the published density classes of glass and a hand calculation."""

import math

import pytest

from templater.catalogue.sizes import find_size
from templater.counting.shopping import GROSS
from templater.counting.work import DENSITY_G_CM3, stone_mass_g

# EU Directive 69/493/EEC, crystal glass categories: the least density of each, g/cm³.
CRYSTALLIN, CRYSTAL_GLASS, LEAD_CRYSTAL, FULL_LEAD_CRYSTAL = 2.40, 2.45, 2.90, 3.00


def test_the_density_taken_is_that_of_glass_without_lead():
    # Soda-lime glass is about 2.5 g/cm³ (handbook value); lead crystal begins at 2.90.
    assert CRYSTALLIN <= CRYSTAL_GLASS <= DENSITY_G_CM3 < LEAD_CRYSTAL < FULL_LEAD_CRYSTAL


@pytest.mark.parametrize(
    ("name", "grams"),
    # A gross as a frustum 0.4 of the diameter high with a table half as wide, 2.5 g/cm³, by hand:
    # 144 · 0.4·D·(π/12)·(1 + 0.5 + 0.25)·D² · 2.5e-3.
    [("ss6", 0.5), ("ss10", 1.4), ("ss16", 3.9), ("ss20", 6.9), ("ss30", 17.0), ("ss34", 24.0)],
)
def test_a_gross_weighs_what_the_hand_calculation_says(name, grams):
    diameter = find_size(name).length_mm
    mass = GROSS * stone_mass_g(diameter, diameter)
    assert mass == pytest.approx(144 * 0.4 * diameter**3 * math.pi / 12 * 1.75 * 2.5e-3, rel=1e-9)
    assert mass == pytest.approx(grams, rel=0.06)


def test_lead_crystal_stays_within_what_is_said_of_the_figure():
    # ±30 %: full lead crystal at its least density is a fifth heavier.
    assert FULL_LEAD_CRYSTAL / DENSITY_G_CM3 < 1.3
