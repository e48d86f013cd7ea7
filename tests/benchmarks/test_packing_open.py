"""Open settings: how even, how random, how exact. Run with -s to see the figures."""

import math

import numpy as np
import pytest
from packing_zones import SS16, ZONES, assert_sound, coverage, field_of, rectangle, zone_field
from scipy.spatial import cKDTree

from templater.geometry.rng import Rng
from templater.stoning.styles import fill, sprinkled

ONE = ((SS16, 1.0),)


@pytest.mark.parametrize("name", sorted(ZONES))
@pytest.mark.parametrize("asked", [0.1, 0.3, 0.5])
def test_relative_radius_and_coverage(name, asked):
    """Source of the measure and its good range: Lagae and Dutré 2008."""
    field = zone_field(name)
    result = fill(field, "sprinkled", sprinkled.Parameters(coverage=asked), ONE, 0.2, Rng(1, name))
    assert_sound(field, result, ONE, 0.2)
    assert not result.problems
    points = np.column_stack([result.x_mm, result.y_mm])
    apart = cKDTree(points).query(points, 2)[0][:, 1].min()
    widest = math.sqrt(2.0 / math.sqrt(3.0) * field.area_mm2 / len(points))
    reached = coverage(field, result, ONE)
    print(f"{name:10} asked {asked}, got {reached:.4f}, relative radius {apart / widest:.3f}")
    assert 0.65 <= apart / widest <= 0.85
    # One stone more or less is what rounding may do in a small zone.
    one = math.pi * SS16.length_mm**2 / 4.0 / field.area_mm2
    assert abs(reached - asked) <= max(0.01 * asked, 0.5 * one + 1e-9)


def test_random_beyond_the_first_shell():
    """Pair correlation over five settings, margins left out: no order after the first shell."""
    wide, high, deepest = 400.0, 300.0, 40.0
    field = field_of(rectangle(wide, high), flat=0.0)
    edges = np.linspace(0.0, deepest, 81)
    seen, expected = np.zeros(80), np.zeros(80)
    for seed in range(5):
        given = sprinkled.Parameters(coverage=0.3)
        result = fill(field, "sprinkled", given, ONE, 0.2, Rng(seed))
        points = np.column_stack([result.x_mm, result.y_mm])
        inner = points[
            (np.abs(points[:, 0] - wide / 2.0) < wide / 2.0 - deepest)
            & (np.abs(points[:, 1] - high / 2.0) < high / 2.0 - deepest)
        ]
        apart = np.hypot(*(inner[:, None, :] - points[None, :, :]).transpose(2, 0, 1))
        seen += np.histogram(apart[apart > 0.0], edges)[0]
        density = len(points) / (wide * high)
        expected += len(inner) * density * math.pi * (edges[1:] ** 2 - edges[:-1] ** 2)
    correlation = seen / expected
    middles = (edges[1:] + edges[:-1]) / 2.0
    mean_apart = math.sqrt(math.pi * SS16.length_mm**2 / 4.0 / 0.3)
    beyond = correlation[middles > 1.6 * mean_apart]
    print(f"pair correlation beyond the first shell {beyond.min():.3f} to {beyond.max():.3f}")
    # Measured 0.956 to 1.483, the most at twice the least distance, where three lie in line. A
    # lattice has peaks of many times 1 and nothing between.
    assert 0.85 <= beyond.min() <= beyond.max() <= 1.6
    assert np.abs(beyond[10:] - 1.0).max() <= 0.1


def test_beyond_what_dart_throwing_reaches():
    """Random sequential placement saturates at 0.547 of the plane (claims, here with the gap)."""
    field = zone_field("rectangle")
    given = sprinkled.Parameters(coverage=0.65)
    result = fill(field, "sprinkled", given, ONE, 0.2, Rng(1))
    assert_sound(field, result, ONE, 0.2)
    claimed = len(result.x_mm) * math.pi * 2.05**2 / field.area_mm2
    print(f"claims cover {claimed:.3f}")
    assert claimed > 0.7
