"""Outlines of glue patches against what they are by definition, point by point."""

from dataclasses import replace

import numpy as np
import pytest
from shapely import Polygon, contains_xy
from writing_samples import grid_of_patches, small_plan

from templater.model.ground import Make
from templater.writing.book_shapes import patch_outlines

BEYOND_MM = 4.0
NEAR_MM = 0.25  # outlines are simplified by 0.15 mm; the figures that stand for discs miss 0.05


def scattered(plan, seed):
    """The plan with every stone up to 1.5 mm off its place, and one in five left out."""
    rng = np.random.default_rng(seed)
    stones, kept = [], set()
    for stone in plan.stones:
        dx, dy = rng.uniform(-1.5, 1.5, 2)
        if rng.random() < 0.8:
            stones.append(stone._replace(x_mm=stone.x_mm + dx, y_mm=stone.y_mm + dy))
            kept.add(stone.id)
    patches = tuple(
        replace(patch, stones=tuple(name for name in patch.stones if name in kept))
        for patch in plan.counts.patches
    )
    return replace(plan, stones=tuple(stones), counts=replace(plan.counts, patches=patches))


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_every_place_belongs_to_the_patch_of_the_stone_it_is_nearest_to(seed):
    plan = scattered(grid_of_patches(small_plan(Make.PAIR), 12, gap_mm=4.5), seed)
    patch_of = {name: p.name for p in plan.counts.patches for name in p.stones}
    shapes = {}
    for name, rings in patch_outlines(plan).items():
        made = Polygon()
        for ring in rings:
            made = made ^ Polygon(ring)
        shapes[name] = made
    at = np.array([(s.x_mm, s.y_mm) for s in plan.stones])
    reach = np.array([s.length_mm / 2 + BEYOND_MM for s in plan.stones])
    places = np.random.default_rng(seed + 10).uniform(
        at.min(axis=0) - 20, at.max(axis=0) + 20, (4000, 2)
    )
    inside = outside = 0
    for x, y in places:
        away = np.hypot(*(at - (x, y)).T)
        first = int(away.argmin())
        own = patch_of[plan.stones[first].id]
        others = [away[i] for i, s in enumerate(plan.stones) if patch_of[s.id] != own]
        holding = [name for name, shape in shapes.items() if contains_xy(shape, x, y)]
        if away[first] > reach[first] + NEAR_MM:
            outside += 1
            assert holding == []
        elif away[first] < reach[first] - NEAR_MM and min(others) > away[first] + 4 * NEAR_MM:
            inside += 1
            assert holding == [own]
    assert inside > 1000
    assert outside > 500
