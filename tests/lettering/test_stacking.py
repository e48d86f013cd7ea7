"""Places in a column: apart, within limits, and as near as can be to those wanted."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize

from templater.lettering.stacking import stacked

COLUMNS = st.lists(st.tuples(st.floats(0.0, 60.0), st.floats(1.0, 9.0)), min_size=1, max_size=6)


@given(COLUMNS)
@settings(deadline=None, max_examples=40)
def test_with_pitches_and_limits_the_moves_are_the_least(column):
    """Against a general solver of least squares under linear constraints (scipy's SLSQP)."""
    wishes = np.array(sorted(wish for wish, _ in column))
    pitches = np.array([pitch for _, pitch in column[1:]])
    limits = (5.0, 55.0)
    places = stacked(list(wishes), list(pitches), limits)
    assert all(b - a >= p - 1e-9 for (a, b), p in zip(pairwise(places), pitches, strict=True))
    assert limits[0] - 1e-9 <= places[0]
    assert places[-1] <= limits[1] + 1e-9
    start = 5.0 + np.concatenate([[0.0], np.cumsum(pitches)])
    apart = {"type": "ineq", "fun": lambda x: np.diff(x) - pitches}
    bounds = [limits] * len(wishes)
    best = minimize(
        lambda x: ((x - wishes) ** 2).sum(), start, method="SLSQP", bounds=bounds,
        constraints=[apart] if len(pitches) else [], options={"ftol": 1e-12, "maxiter": 400},
    )  # fmt: skip
    ours = ((np.array(places) - wishes) ** 2).sum()
    assert ours <= best.fun + 1e-4 * max(1.0, best.fun)


def test_without_room_a_column_stands_on_its_foot():
    assert stacked([10.0, 10.0, 10.0], 5.0, (0.0, 8.0)) == [0.0, 5.0, 10.0]


def test_nothing_wanted_is_nothing_placed():
    assert stacked([], 5.0) == []


@pytest.mark.parametrize("limits", [None, (0.0, 100.0)])
def test_what_stands_apart_stays(limits):
    assert stacked([10.0, 20.0, 35.0], [8.0, 12.0], limits) == [10.0, 20.0, 35.0]
