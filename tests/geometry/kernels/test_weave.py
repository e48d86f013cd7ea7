"""Weaves drawn together for the sizes at hand, and laid across a zone."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from templater.geometry.kernels.packing import annealed, depth_map, grown_fill, new_bench
from templater.geometry.kernels.space import Kind, copied, lay_out, roomier
from templater.geometry.kernels.tightening import Cell, squared_up, tightened
from templater.geometry.kernels.weave import SHALLOW, laid
from templater.model.stones import Wall
from templater.stoning.styles.growths import Growth, taste_of

HEXAGONS = math.pi / math.sqrt(12.0)
SQUARE = Cell((0, 1), ((0.1, 0.1), (0.55, 0.65)), 1.0, 0.05, 1.0)


def fullness(cell, grown):
    return sum(math.pi * grown[size] ** 2 for size in cell.size) / cell.area_mm2


def deepest_overlap(cell, grown):
    """By how much any two stones of the pattern overlap, mm; below 0 if none touch."""
    place, radius = np.array(cell.places), np.array([grown[size] for size in cell.size])
    worst = -math.inf
    for u, v in itertools.product(range(-4, 5), repeat=2):
        apart = place[None, :] - place[:, None] + (u, v)
        x = apart[..., 0] * cell.ax + apart[..., 1] * cell.bx
        far = np.hypot(x, apart[..., 1] * cell.by)
        if u == v == 0:
            np.fill_diagonal(far, math.inf)
        worst = max(worst, float((radius[None, :] + radius[:, None] - far).max()))
    return worst


def test_one_size_comes_to_lie_as_equal_circles_do():
    """Source: A. Thue 1910, L. Fejes Tóth 1940: no packing of equal circles is denser than π/√12."""
    cell = Cell((0, 0), ((0.0, 0.1), (0.4, 0.6)), 1.0, 0.2, 1.1)
    tight = tightened(cell, (2.05,))
    assert fullness(tight, (2.05,)) == pytest.approx(HEXAGONS, abs=3e-4)
    assert fullness(tight, (2.05,)) <= HEXAGONS


def test_a_small_stone_in_each_square_of_large_ones():
    """At √2 - 1 it touches all four: π(1 + r²)/4 = 0.9202.

    Source: A. Heppes, Some densest two-size disc packings in the plane, Discrete & Computational
    Geometry 30, 2003 (from memory); the sum is the square's own.
    """
    grown = (2.0, 2.0 * (math.sqrt(2.0) - 1.0))
    tight = tightened(SQUARE, grown)
    wanted = math.pi * (1.0 + (math.sqrt(2.0) - 1.0) ** 2) / 4.0
    assert fullness(tight, grown) == pytest.approx(wanted, abs=3e-4)
    assert fullness(tight, grown) <= wanted
    assert tight.ax == pytest.approx(4.0, abs=2e-3)
    assert tight.by == pytest.approx(4.0, abs=2e-3)


@settings(deadline=None, max_examples=60, derandomize=True)
@given(
    sizes=st.lists(st.integers(0, 2), min_size=2, max_size=8),
    numbers=st.lists(st.floats(0.0, 1.0), min_size=18, max_size=18),
    widths=st.tuples(*[st.floats(1.0, 4.0)] * 3),
)
def test_whatever_is_drawn_together_overlaps_nowhere(sizes, numbers, widths):
    places = tuple(zip(numbers[: len(sizes)], numbers[8 : 8 + len(sizes)], strict=True))
    cell = Cell(tuple(sizes), places, 0.5 + numbers[16], numbers[17] - 0.5, 1.0)
    tight = tightened(cell, widths)
    if tight is None:
        return
    assert deepest_overlap(tight, widths) <= 1e-9
    assert fullness(tight, widths) <= 0.95
    assert tight.size == cell.size


@pytest.mark.parametrize("times", [0.25, 3.0])
def test_a_pattern_of_larger_stones_is_the_same_pattern_larger(times):
    grown = (2.45, 1.65)
    small, large = tightened(SQUARE, grown), tightened(SQUARE, tuple(times * r for r in grown))
    assert large.ax == pytest.approx(times * small.ax, rel=1e-9)
    assert large.by == pytest.approx(times * small.by, rel=1e-9)


def test_the_same_pattern_told_by_longer_sides_is_told_by_its_shortest():
    cell = Cell((0, 1), ((0.25, 0.5), (0.5, 0.125)), 1.0, 0.25, 1.5)
    # Second side plus three times the first.
    askew = Cell((0, 1), ((-1.25, 0.5), (0.125, 0.125)), 1.0, 3.25, 1.5)
    plain = squared_up(askew)
    assert (plain.ax, plain.bx, plain.by) == pytest.approx((cell.ax, cell.bx, cell.by))
    for found, wanted in zip(plain.places, cell.places, strict=True):
        for a, b in zip(found, wanted, strict=True):
            assert (a - b + 0.5) % 1.0 - 0.5 == pytest.approx(0.0, abs=1e-12)
    flat = squared_up(Cell((0,), ((0.0, 0.0),), 4.0, 0.5, 1.0))
    assert math.hypot(flat.bx, flat.by) >= flat.ax * (1.0 - 1e-9)
    assert flat.area_mm2 == pytest.approx(4.0)


SIDE = 80.0
CORNERS = ((0.0, 0.0), (SIDE, 0.0), (SIDE, SIDE), (0.0, SIDE))
WALLS = tuple(Wall(*a, *b, 0.1) for a, b in zip(CORNERS, (*CORNERS[1:], CORNERS[0]), strict=True))


def zone():
    kinds = [Kind(radius, radius) for radius in (2.35, 1.55)]
    return lay_out((CORNERS,), WALLS, (), (), None, kinds, 0.2)


def standing(stones):
    held = int(stones.held[0])
    size = np.asarray(stones.size)[:held]
    x, y = np.asarray(stones.x)[:held], np.asarray(stones.y)[:held]
    return x[size >= 0], y[size >= 0], size[size >= 0]


@pytest.mark.parametrize("mirrored", [False, True])
@pytest.mark.parametrize("turn", [0.0, 0.7, 2.9])
def test_a_pattern_is_laid_wherever_a_stone_may_stand(turn, mirrored):
    space, start = zone()
    cell = tightened(SQUARE, tuple(radius + 1e-4 for radius in space.grown))
    way = (math.cos(turn), math.sin(turn))
    stones, deep = laid(space, start, cell, (40.0, 40.0), way, (0.3, 0.4), mirrored=mirrored)
    x, y, size = standing(stones)
    # As many as the cells that fit, but for those cut by the edge.
    cells = SIDE * SIDE / cell.area_mm2
    assert 2.0 * cells * 0.85 <= len(x) <= 2.0 * cells
    assert int(start.held[0]) == deep.first < deep.firm < deep.enclosed < len(x)
    # Every stone but the outermost has its like one side of the cell away.
    inner = (np.abs(x - 40.0) < 25.0) & (np.abs(y - 40.0) < 25.0)
    for a, b, s in zip(x[inner], y[inner], size[inner], strict=True):
        there = np.hypot(x - a - cell.ax * way[0], y - b - cell.ax * way[1])
        assert there.min() < 2e-4
        assert size[there.argmin()] == s


def test_nothing_is_missed_beside_the_stones_called_enclosed():
    space, start = zone()
    cell = tightened(SQUARE, tuple(radius + 1e-4 for radius in space.grown))
    stones, deep = laid(space, start, cell, (9.0, 9.0), (0.6, 0.8), (0.0, 0.0), mirrored=False)
    taste = taste_of(space, Growth(0, 0.05, 4.0, 0.0, 0.02), [0.5, 0.5], depth_map(space))
    found = []
    for passed in (SHALLOW, deep):
        bench = new_bench(space, (1, 2))
        filled = grown_fill(space, roomier(copied(stones), 600), taste, bench, deep=passed)
        x, y, size = standing(filled)
        assert len(x) > int(stones.held[0])
        found.append(sorted(zip(x.tolist(), y.tolist(), size.tolist(), strict=True)))
    assert found[0] == found[1]


def test_deep_stones_stay_where_they_are_while_the_rest_is_annealed():
    from templater.geometry.kernels.annealing import Plan
    from templater.geometry.kernels.compiled import column

    space, start = zone()
    cell = tightened(SQUARE, tuple(radius + 1e-4 for radius in space.grown))
    stones, deep = laid(space, start, cell, (9.0, 9.0), (0.6, 0.8), (0.0, 0.0), mirrored=False)
    plan = Plan(column([0.5, 0.5]), 0.1, 0.2, 0.0, 0.5, 0.0, 0.1, 0.06, 1.0)
    done = annealed(space, stones, plan, 200, (5, 7), deep)
    for k in range(deep.first, deep.firm):
        assert (done.x[k], done.y[k], done.size[k]) == (stones.x[k], stones.y[k], stones.size[k])
    moved = [
        k for k in range(deep.firm, int(stones.held[0])) if done.size[k] < 0 and stones.size[k] >= 0
    ]
    assert moved
