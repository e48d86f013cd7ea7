"""Packed fills beside their limits and peers, in the same run. Run with -s to see the figures."""

import math
import time

import numpy as np
import pytest
from packing_zones import (
    MIX,
    SS12,
    SS16,
    SS20,
    ZONES,
    assert_sound,
    coverage,
    disc,
    field_of,
    rectangle,
    with_row,
    zone_field,
)
from scipy.spatial import cKDTree

from templater.geometry.bare import most_stones
from templater.geometry.rng import Rng
from templater.stoning.styles import fill, packed

CEILING = math.pi / math.sqrt(12.0)


ONE_SIZE_MEAN = 0.94


def test_one_size_comes_near_the_bound():
    """N over the bound of Groemer, Oler, Folkman and Graham, six zones, two sizes, gap 0."""
    ratios = {}
    for size in (SS16, SS12):
        for name in ZONES:
            field = zone_field(name)
            result = fill(field, "packed", None, ((size, 1.0),), 0.0, Rng(1, name))
            assert_sound(field, result, ((size, 1.0),), 0.0)
            bound = most_stones(field.rings, field.walls, size.length_mm / 2.0, 0.0)
            ratios[name, size.name] = len(result.x_mm) / bound
            rows = fill(field, "staggered", None, ((size, 1.0),), 0.0, Rng(1, name))
            print(
                f"{size.name} {name:10} {len(result.x_mm)} of at most {bound} "
                f"({ratios[name, size.name]:.4f}); best rows {len(rows.x_mm)}"
            )
            assert len(result.x_mm) >= len(rows.x_mm)
    mean = sum(ratios.values()) / len(ratios)
    print(f"mean {mean:.4f}")
    assert max(ratios.values()) <= 1.0
    assert mean >= ONE_SIZE_MEAN
    assert ratios["rectangle", "ss16"] >= 0.975


def assortativity(points, sizes, grown, near_mm):
    """Newman's coefficient over pairs whose gap is at most `near_mm` beyond the asked.

    Source: M. E. J. Newman, Mixing patterns in networks, Physical Review E 67, 026126, 2003.
    """
    pairs = cKDTree(points).query_pairs(2.0 * grown.max() + near_mm, output_type="ndarray")
    apart = np.hypot(*(points[pairs[:, 0]] - points[pairs[:, 1]]).T)
    pairs = pairs[apart <= grown[pairs].sum(axis=1) + near_mm]
    count = int(sizes.max()) + 1
    ends = np.zeros((count, count))
    np.add.at(ends, (sizes[pairs[:, 0]], sizes[pairs[:, 1]]), 1.0)
    ends = (ends + ends.T) / (2.0 * ends.sum())
    alike = float((ends.sum(axis=0) ** 2).sum())
    return (float(np.trace(ends)) - alike) / (1.0 - alike)


THIRDS, EVEN = (tuple(zip((SS20, SS16, SS12), shares, strict=True)) for shares in
    ((1 / 3, 1 / 3, 1 / 3), (0.2, 0.6, 0.2)))  # fmt: skip
# What is measured, a little below it: the mean of four seeds with a third of each size, which suits a
# weave wherever the zone has room for one, and with 20 : 60 : 20, which does not; then a job's default
# (MIX, one seed), and thirds kept irregular. Aims, for any one mix with at least 15 % of each size:
# 0.79, 0.77, 0.765 and 0.765; the disc had none.
LEAST_COVERAGE = {
    "rectangle": (0.790, 0.778, 0.770, 0.765),
    "stripe": (0.766, 0.772, 0.770, 0.766),
    "star": (0.760, 0.7635, 0.762, 0.760),
    "leaf": (0.763, 0.765, 0.763, 0.763),
    "disc": (0.784, 0.770, 0.768, 0.760),
}
TRIED = ((THIRDS, True, 4), (EVEN, True, 4), (MIX, True, 1), (THIRDS, False, 1))


@pytest.mark.parametrize("name", sorted(LEAST_COVERAGE))
@pytest.mark.parametrize("which", range(len(TRIED)))
def test_mixed_sizes_lie_tight_and_well_mixed(name, which):
    (mix, woven, seeds), field = TRIED[which], with_row(name)
    thrown, found = scattered_coverage(field), []
    for seed in range(1, seeds + 1):
        start = time.perf_counter()
        result = fill(field, "packed", packed.Parameters(woven=woven), mix, 0.2, Rng(seed, name))
        seconds = time.perf_counter() - start
        assert_sound(field, result, mix, 0.2)
        assert result.maximal
        covered = coverage(field, result, mix)
        sizes = np.array(result.size_index)
        shares = [float((sizes == s).mean()) for s in range(3)]
        points = np.column_stack([result.x_mm, result.y_mm])
        grown = np.array([size.length_mm / 2.0 + 0.1 for size, _ in mix])[sizes]
        mixing = assortativity(points, sizes, grown, 0.4)
        print(
            f"{name:10} {'' if woven else 'irregular':9} coverage {covered:.4f}; "
            f"large first at random {thrown:.3f}; shares "
            + " ".join(f"{share:.2f}" for share in shares)
            + f"; assortativity {mixing:.3f}; {seconds:.2f} s"
        )
        assert thrown + 0.1 < covered < CEILING
        assert min(shares) >= 0.15
        assert all(abs(got - asked) <= 0.045 for got, (_, asked) in zip(shares, mix, strict=True))
        assert mixing <= 0.15
        found.append(covered)
    print(f"{name:10} mean {np.mean(found):.4f}")
    assert np.mean(found) >= LEAST_COVERAGE[name][which]


def scattered_coverage(field, tries=60_000):
    """The peer: stones thrown at random, the large first, kept where they fit."""
    rng = np.random.default_rng(1)
    xs, ys = zip(*field.rings[0], strict=True)
    low, high = (min(xs), min(ys)), (max(xs), max(ys))
    centres = np.array([o.corners[0] for o in field.obstacles])
    radii = np.array([o.radius_mm for o in field.obstacles])
    from shapely import Polygon, contains_xy

    zone, area = Polygon(field.rings[0]), float((math.pi * radii**2).sum())
    for size, share in MIX:
        radius = size.length_mm / 2.0
        inner = zone.buffer(-radius)
        throws = rng.uniform(low, high, (int(tries * share), 2))
        throws = throws[contains_xy(inner, throws[:, 0], throws[:, 1])]
        tree = cKDTree(centres)
        near = tree.query(throws, 12)
        free = (near[0] >= radii[near[1]] + radius + 0.2).all(axis=1)
        kept = []
        for point in throws[free]:
            if all(math.dist(point, other) >= 2.0 * radius + 0.2 for other in kept):
                kept.append(tuple(point))
        centres = np.vstack([centres, kept]) if kept else centres
        radii = np.concatenate([radii, np.full(len(kept), radius)])
        area += len(kept) * math.pi * radius**2
    return area / field.area_mm2


# Best known R/r. Sources: Lubachevsky and Graham 1997; Fodor 1999 (19); Specht's tables (91).
DISCS = {7: 3.0, 19: 4.8637, 37: 6.75877, 61: 8.66130, 91: 10.56677}


@pytest.mark.parametrize("count", sorted(DISCS))
def test_equal_discs_in_a_disc(count):
    radius = SS16.length_mm / 2.0 * DISCS[count] * 1.005
    field = field_of(disc(radius), flat=5e-4)
    result = fill(field, "packed", None, ((SS16, 1.0),), 0.0, Rng(1, "disc"))
    assert_sound(field, result, ((SS16, 1.0),), 0.0)
    print(f"{len(result.x_mm)} discs where {count} are known to fit")
    assert 0.94 * count <= len(result.x_mm) <= count + 1


@pytest.mark.parametrize(("mix", "woven", "least"), [
    (THIRDS, True, 0.805), (MIX, True, 0.79), (MIX, False, 0.75),
])  # fmt: skip
def test_cost_a_stone_does_not_grow_with_the_zone(mix, woven, least):
    from templater.geometry.kernels.compiled import COMPILED

    if not COMPILED:
        pytest.skip("numba is not installed: plain Python is some hundred times slower")
    side = {count: math.sqrt(count * 17.0) for count in (10_000, 100_000)}
    fields = {n: field_of(rectangle(a, a), flat=0.0) for n, a in side.items()}
    given = packed.Parameters(woven=woven)
    fill(fields[10_000], "packed", given, mix, 0.2, Rng(1, "warm"))
    cost = {}
    for count, field in fields.items():
        start = time.process_time()
        result = fill(field, "packed", given, mix, 0.2, Rng(1, "speed"))
        cost[count] = (time.process_time() - start) / len(result.x_mm)
        covered, sizes = coverage(field, result, mix), np.array(result.size_index)
        print(
            f"{'' if woven else 'irregular: '}{len(result.x_mm)} stones, "
            f"{1.0 / cost[count]:,.0f} a second, {covered:.4f} covered"
        )
        assert covered >= least
        assert all(abs((sizes == s).mean() - share) <= 0.06 for s, (_, share) in enumerate(mix))
    assert cost[100_000] <= 1.3 * cost[10_000]
