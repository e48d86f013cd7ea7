"""The ground that packing stands on: grids, walls, snapping, numbers drawn, compiled code kept."""

import math
import os
import subprocess
import sys

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from templater.geometry.kernels.compiled import wide_counters
from templater.geometry.kernels.room import (
    drawn,
    is_open,
    put,
    snapped,
    stands_free,
    stone_room,
    take_out,
    wall_room,
)
from templater.geometry.kernels.space import Kind, lay_out, roomier
from templater.geometry.kernels.sweep import slack
from templater.geometry.rng import Rng, rng_state
from templater.model.stones import Wall

OUTLINE = (
    (0.0, 0.0),
    (40.0, 0.0),
    (40.0, 30.0),
    (22.0, 30.0),
    (20.0, 9.0),
    (18.0, 30.0),
    (0.0, 30.0),
)
WALLS = tuple(Wall(*a, *b, 0.1) for a, b in zip(OUTLINE, (*OUTLINE[1:], OUTLINE[0]), strict=True))
RADIUS = 1.95


def space_of_outline():
    return lay_out((OUTLINE,), WALLS, (), (), None, [Kind(RADIUS, 1.5)], 0.2)


@settings(deadline=None, max_examples=300)
@given(st.floats(-3.0, 43.0), st.floats(-3.0, 33.0))
def test_a_stone_stands_where_shapely_says(x, y):
    space, stones = space_of_outline()
    zone = shapely.Polygon(OUTLINE)
    point = shapely.Point(x, y)
    depth = zone.exterior.distance(point) * (1.0 if zone.contains(point) else -1.0)
    wanted = depth >= RADIUS + 0.1
    if abs(depth - RADIUS - 0.1) > 1e-6:
        assert bool(stands_free(space, stones, x, y, 0, False, -1)) is wanted
    if wanted:
        assert is_open(space, x, y, 0)
    if abs(depth - RADIUS - 0.1) < 0.9 and depth > 0.0:
        assert wall_room(space, x, y, 0, False) == pytest.approx(depth - RADIUS - 0.1, abs=1e-9)


def test_stones_keep_each_other_off_and_can_be_taken_out():
    space, stones = space_of_outline()
    stones = roomier(stones, 40)
    one = put(space, stones, 8.0, 8.0, 0, 0)
    put(space, stones, 14.0, 8.0, 0, 0)
    assert stone_room(space, stones, 11.0, 8.0, space.grown[0], -1) == pytest.approx(3.0 - 4.1)
    assert not stands_free(space, stones, 8.0, 12.0999, 0, False, -1)
    assert stands_free(space, stones, 8.0, 12.1, 0, False, -1)
    take_out(space, stones, one)
    assert stands_free(space, stones, 8.0, 8.0, 0, False, -1)


@settings(deadline=None, max_examples=100)
@given(st.floats(3.0, 37.0), st.floats(3.0, 27.0), st.floats(-0.5, 0.5), st.floats(-0.5, 0.5))
def test_room_changes_no_more_than_the_place(x, y, dx, dy):
    """What the sweep for leftover room rests on."""
    space, stones = space_of_outline()
    stones = roomier(stones, 40)
    put(space, stones, 8.0, 8.0, 0, 0)
    before, after = (
        min(slack(space, stones, *at, 0, False), 0.9) for at in ((x, y), (x + dx, y + dy))
    )
    if min(before, after) > -RADIUS:
        assert abs(before - after) <= math.hypot(dx, dy) + 1e-9


@given(st.floats(-2000.0, 2000.0))
def test_snapping_gives_the_number_that_four_decimals_stand_for(value):
    found = snapped(value)
    assert found == round(found, 4)
    assert abs(found - value) <= 0.5e-4 + 1e-9


def test_kernels_draw_the_same_numbers_as_the_plain_stream():
    rng, state = Rng(7, "front", "star"), wide_counters(2)
    state[0], state[1] = rng_state(7, "front", "star")
    assert [rng.uniform() for _ in range(1000)] == [drawn(state) for _ in range(1000)]


def test_numbers_drawn_are_even_and_unlike():
    """Means of 20,000 within four standard errors; neighbours uncorrelated likewise."""
    rng = Rng(1, "even")
    values = np.array([rng.uniform() for _ in range(20_000)])
    assert 0.0 < values.min() < 0.001
    assert 0.999 < values.max() < 1.0
    assert abs(values.mean() - 0.5) < 4.0 / math.sqrt(12.0 * 20_000)
    assert abs(np.corrcoef(values[:-1], values[1:])[0, 1]) < 4.0 / math.sqrt(20_000)
    # The words count, not how they are joined.
    assert rng_state("ab", "c") != rng_state("a", "bc")
    assert Rng(1).child("grow", 2).uniform() == Rng(1, "grow", 2).uniform()
    assert sorted(Rng(3).shuffled(range(9))) == list(range(9))


def test_state_is_the_same_in_every_process():
    # From this program itself: a change of it would reshuffle every setting ever made.
    assert rng_state(1, "front", "frond", "fill") == (STATE_FIRST, STATE_SECOND)


STATE_FIRST, STATE_SECOND = 181407362, 899987561

PROGRAM = """
import sys
from templater.geometry.kernels import room
from templater.geometry.kernels.compiled import COMPILED
assert COMPILED
room.snapped(1.23456)
print(sum(room.snapped.stats.cache_hits.values()), sum(room.snapped.stats.cache_misses.values()))
"""


def test_a_second_process_does_not_compile_again(tmp_path):
    pytest.importorskip("numba")
    env = {**os.environ, "NUMBA_CACHE_DIR": str(tmp_path), "TEMPLATER_PLAIN": "0"}
    found = [
        subprocess.run(
            [sys.executable, "-c", PROGRAM], capture_output=True, text=True, check=True, env=env
        ).stdout.split()
        for _ in range(2)
    ]
    assert found == [["0", "1"], ["1", "0"]]


def test_a_package_that_cannot_be_written_keeps_its_code_with_the_user(tmp_path, monkeypatch):
    from templater.geometry.kernels import compiled

    locked = tmp_path / "locked"
    monkeypatch.setattr(compiled, "__file__", str(locked / "compiled.py"))
    monkeypatch.setattr(os, "access", lambda path, _mode: locked not in (path, *path.parents))
    monkeypatch.delenv("NUMBA_CACHE_DIR", raising=False)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    assert compiled._keeps()
    assert os.environ["NUMBA_CACHE_DIR"] == str(tmp_path / "cache" / "templater" / "kernels")
    monkeypatch.delenv("NUMBA_CACHE_DIR")
    monkeypatch.setenv("XDG_CACHE_HOME", str(locked))
    assert not compiled._keeps()
