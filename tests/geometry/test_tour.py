import math
import os
import subprocess
import sys
from itertools import permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from templater.geometry.rng import Rng
from templater.geometry.tour import tour, tour_length

POINTS = st.lists(
    st.tuples(st.integers(0, 40), st.integers(0, 40)).map(lambda p: (p[0] / 2, p[1] / 2)),
    max_size=40,
)


def _random(count, *words):
    rng = Rng(*words)
    return [(rng.uniform() * 100.0, rng.uniform() * 100.0) for _ in range(count)]


@settings(deadline=None, max_examples=60)
@given(POINTS, st.booleans())
def test_every_hole_is_visited_once_also_where_holes_coincide(points, at_home):
    order = tour(points, (0.0, 0.0) if at_home else None)
    assert sorted(order) == list(range(len(points)))


@pytest.mark.parametrize("home", [None, (0.0, 0.0)])
@pytest.mark.parametrize("seed", range(6))
def test_small_tours_are_the_shortest_there_are(seed, home):
    points = _random(8, "small", seed)
    order = tour(points, home, 20)
    shortest = min(tour_length(points, way, home) for way in permutations(range(8)))
    assert tour_length(points, order, home) == pytest.approx(shortest, rel=1e-9)


def test_an_open_tour_begins_by_home_and_does_not_pay_for_the_way_back():
    # Holes along a line away from home: the shortest open way is straight out.
    points = [(float(x), 0.0) for x in (30, 10, 50, 20, 40, 60, 70, 80, 90, 100)]
    order = tour(points, (0.0, 0.0))
    assert [points[i][0] for i in order] == [10, 20, 30, 40, 50, 60, 70, 80, 90, 100]


def test_more_effort_never_makes_a_tour_longer():
    points = _random(300, "effort")
    lengths = [tour_length(points, tour(points, None, kicks)) for kicks in (0, 1, 6)]
    assert lengths == sorted(lengths, reverse=True)


def test_a_lattice_is_cut_in_rows():
    # On a square grid of even size the shortest closed tour takes one pitch a hole.
    points = [(i * 5.0, j * 5.0) for j in range(20) for i in range(20)]
    assert tour_length(points, tour(points)) <= 400 * 5.0 * 1.005


PROGRAM = """
from templater.geometry.kernels.compiled import COMPILED
from templater.geometry.rng import Rng
from templater.geometry.tour import tour
rng = Rng("plain")
points = [(round(rng.uniform() * 90, 4), round(rng.uniform() * 90, 4)) for _ in range(150)]
print(COMPILED, tour(points, (0.0, 0.0)), tour(points))
"""


def test_compiled_and_plain_runs_give_the_same_tour():
    said = {}
    for plain in ("0", "1"):
        told = subprocess.run(
            [sys.executable, "-c", PROGRAM],
            capture_output=True,
            text=True,
            check=True,
            env={**os.environ, "TEMPLATER_PLAIN": plain, "PYTHONHASHSEED": plain},
        ).stdout
        compiled, _, tours = told.partition(" ")
        said[compiled] = tours
    if len(said) < 2:
        pytest.skip("numba is not installed: there is only the plain run")
    assert said["True"] == said["False"]


def test_lengths_are_of_the_way_as_it_is_driven():
    points = [(3.0, 4.0), (3.0, 0.0)]
    assert tour_length(points, [0, 1], (0.0, 0.0)) == pytest.approx(9.0)
    assert tour_length(points, [0, 1]) == pytest.approx(8.0)
    assert tour_length([], []) == 0.0
    assert math.isclose(tour_length([(0.0, 0.0)], [0], (3.0, 4.0)), 5.0)
