"""Crowds that are pushed and annealed."""

import numpy as np
import pytest

from templater.geometry.kernels.annealing import Plan, anneal, mixing_of, relieve, worst_strain
from templater.geometry.kernels.compiled import column
from templater.geometry.kernels.crowd import (
    list_near,
    push_apart,
    shake,
    strain_between,
    strain_of,
)
from templater.geometry.kernels.packing import annealed, assortativity, new_crowd, stone_area
from templater.geometry.kernels.room import put, snapped
from templater.geometry.kernels.space import Kind, lay_out, roomier
from templater.geometry.kernels.tightening import Cell, tightened
from templater.geometry.kernels.weave import laid
from templater.model.stones import Obstacle, Wall

SIDE = 60.0
CORNERS = ((0.0, 0.0), (SIDE, 0.0), (SIDE, SIDE), (0.0, SIDE))
WALLS = tuple(Wall(*a, *b, 0.1) for a, b in zip(CORNERS, (*CORNERS[1:], CORNERS[0]), strict=True))
RADII = (2.35, 1.95, 1.55)
FIXED = Obstacle(((30.0, 30.0),), 1.95, 0.2)
HOT = Plan(column([0.25, 0.5, 0.25]), 0.4, 0.5, 0.02, 0.65, 0.5, 1.0, 0.0, 0.12)


def empty():
    kinds = [Kind(radius, radius) for radius in RADII]
    return lay_out((CORNERS,), WALLS, (), (FIXED,), None, kinds, 0.2)


FEW_LARGE = Cell(
    (0, 1, 1, 1, 1, 2),
    ((0, 0), (0.5, 0), (0, 0.4), (0.5, 0.4), (0.2, 0.7), (0.7, 0.7)),
    1.0,
    0.3,
    1.2,
)


def woven():
    """A zone filled with a cell that repeats: one large and one small stone to four of middle size."""
    space, start = empty()
    cell = tightened(FEW_LARGE, tuple(radius + 1e-4 for radius in space.grown))
    stones, _ = laid(space, start, cell, (30.0, 10.0), (1.0, 0.0), (0.0, 0.0), mirrored=False)
    return space, stones


def pairs_of(crowd):
    held = int(crowd.held[1])
    x, y, grown = (np.asarray(values)[:held] for values in (crowd.x, crowd.y, crowd.grown))
    far = np.hypot(x[:, None] - x, y[:, None] - y)
    return np.maximum(grown[:, None] + grown - far, 0.0) * ~np.eye(held, dtype=bool)


def test_strain_is_the_sum_of_squared_lacks():
    space, stones = woven()
    crowd = new_crowd(space, stones, (5, 7))
    list_near(space, crowd)
    shake(crowd, 0.6)
    lacks = pairs_of(crowd)
    for k in range(int(crowd.held[0]), int(crowd.held[1])):
        mine = float(crowd.grown[k])
        assert strain_of(crowd, k, mine) == pytest.approx(float((lacks[k] ** 2).sum()), abs=1e-12)
        other = float(space.grown[(int(crowd.size[k]) + 1) % 3])
        more = strain_of(crowd, k, other) - strain_of(crowd, k, mine)
        assert strain_between(crowd, k, mine, other) == pytest.approx(more, abs=1e-12)


def test_pushing_keeps_what_is_fixed_and_ends_overlaps_that_have_room():
    space, start = empty()
    stones = roomier(start, 8)
    put(space, stones, 31.0, 30.0, 0, 0)
    put(space, stones, 1.0, 20.0, 1, 0)
    crowd = new_crowd(space, stones, (5, 7))
    for _ in range(60):
        list_near(space, crowd)
        push_apart(space, crowd, 1e-3)
    x, y = np.asarray(crowd.x)[:3], np.asarray(crowd.y)[:3]
    assert (float(x[0]), float(y[0])) == FIXED.corners[0]
    assert pairs_of(crowd).max() == 0.0
    assert x[1:].min() >= 0.1 + RADII[1]


def test_mixing_is_the_same_for_a_crowd_and_for_stones():
    space, stones = woven()
    crowd = new_crowd(space, stones, (5, 7))
    list_near(space, crowd)
    assert mixing_of(space, crowd) == pytest.approx(assortativity(space, stones), abs=1e-9)


def test_the_most_strained_give_way_and_only_they():
    space, start = empty()
    stones = roomier(start, 8)
    for x, size in ((10.0, 0), (13.0, 0), (16.5, 2), (50.0, 1)):
        put(space, stones, x, 10.0, size, 0)
    crowd = new_crowd(space, stones, (5, 7))
    list_near(space, crowd)
    before = {round(float(crowd.x[k]), 1): int(crowd.size[k]) for k in range(1, 5)}
    worst = worst_strain(crowd)
    assert worst > 0.0
    relieve(space, crowd, 0.5 * worst)
    after = {round(float(crowd.x[k]), 1): int(crowd.size[k]) for k in range(1, int(crowd.held[1]))}
    assert {x: size for x, size in after.items() if before[x] != size} == {13.0: 1}


def test_annealing_brings_the_shares_asked_for_and_leaves_the_stones_given():
    space, stones = woven()
    held, first = int(stones.held[0]), float(stones.x[1])
    done = annealed(space, stones, HOT, 600, (11, 13))
    assert (int(stones.held[0]), float(stones.x[1])) == (held, first)
    sizes = np.asarray(done.size)[: int(done.held[0])]
    counts = np.bincount(sizes[sizes >= 0], minlength=3)
    assert np.abs(counts / counts.sum() - [0.25, 0.5, 0.25]).max() <= 0.06
    again = annealed(space, stones, HOT, 600, (11, 13))
    assert stone_area(space, again) == stone_area(space, done)
    assert stone_area(space, annealed(space, stones, HOT, 600, (12, 13))) != stone_area(space, done)


def test_a_zone_that_takes_no_stone_stays_empty():
    corners = ((0.0, 0.0), (2.0, 0.0), (2.0, 2.0), (0.0, 2.0))
    walls = tuple(
        Wall(*p, *q, 0.1) for p, q in zip(corners, (*corners[1:], corners[0]), strict=True)
    )
    space, start = lay_out((corners,), walls, (), (), None, [Kind(r, r) for r in RADII], 0.2)
    crowd = new_crowd(space, start, (5, 7))
    anneal(space, crowd, HOT, 100)
    assert int(crowd.held[1]) == 0
    assert np.isfinite(np.asarray(crowd.bonus)).all()
    assert int(annealed(space, start, HOT, 100, (5, 7)).held[0]) == 0


def test_what_is_laid_lies_on_the_grid_of_snapping():
    _, stones = woven()
    for k in range(int(stones.held[1]), int(stones.held[0])):
        assert (float(stones.x[k]), float(stones.y[k])) == (
            snapped(float(stones.x[k])),
            snapped(float(stones.y[k])),
        )
