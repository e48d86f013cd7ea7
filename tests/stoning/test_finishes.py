from __future__ import annotations

import itertools
import math
import subprocess
import sys
from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as st

from templater.geometry.rng import Rng
from templater.stoning.finishes import dealt, longest_run, runs_limited, whole_shares


@pytest.mark.parametrize(
    ("shares", "count", "expected"),
    [
        ({"plain": 60, "ab": 40}, 10, {"plain": 6, "ab": 4}),
        # Hare quotas 3.33 each: the one left over goes to the first named.
        ({"a": 1, "b": 1, "c": 1}, 10, {"a": 4, "b": 3, "c": 3}),
        # Quotas 6.3, 2.5, 1.2: the largest remainder is b's.
        ({"a": 63, "b": 25, "c": 12}, 10, {"a": 6, "b": 3, "c": 1}),
        ({"a": 1, "b": 99}, 0, {"a": 0, "b": 0}),
    ],
)
def test_shares_by_largest_remainder(shares, count, expected):
    assert whole_shares(shares, count) == expected


@given(
    st.dictionaries(st.text("abcdef", min_size=1), st.floats(0.01, 100), min_size=1, max_size=6),
    st.integers(0, 5000),
)
def test_every_share_is_exact_to_one_stone(shares, count):
    dealt_out = Counter(dealt(shares, count, Rng(3, "x")))
    assert sum(dealt_out.values()) == count
    total = math.fsum(shares.values())
    for name, share in shares.items():
        assert abs(dealt_out[name] - count * share / total) < 1.0


def test_the_same_seed_deals_the_same_and_another_does_not():
    shares = {"plain": 60, "ab": 40}
    first = dealt(shares, 300, Rng(1, "front", "frond", "finish"))
    assert first == dealt(shares, 300, Rng(1, "front", "frond", "finish"))
    assert first != dealt(shares, 300, Rng(2, "front", "frond", "finish"))
    assert first != dealt(shares, 300, Rng(1, "front", "blade", "finish"))


def test_dealing_does_not_hang_on_the_hash_seed():
    code = (
        "from templater.stoning.finishes import dealt; from templater.geometry.rng import Rng;"
        "print(dealt({'plain': 1, 'ab': 2}, 60, Rng(1, 'z')))"
    )
    outputs = {
        subprocess.run(
            [sys.executable, "-c", code],
            env={"PYTHONHASHSEED": seed},
            capture_output=True,
            check=True,
        ).stdout
        for seed in ("1", "77")
    }
    assert len(outputs) == 1


def test_neighbours_are_mixed_no_better_and_no_worse_than_chance():
    # On a line, with shares 60 and 40, two neighbours are alike with probability 0.52.
    names = dealt({"plain": 60, "ab": 40}, 4000, Rng(5, "z"))
    alike = sum(a == b for a, b in itertools.pairwise(names)) / 3999
    assert alike == pytest.approx(0.52, abs=0.03)


def test_runs_of_alike_in_contact_are_limited_without_changing_the_counts():
    points = [(4.0 * (i + 0.5 * (j % 2)), 3.4641 * j) for j in range(20) for i in range(20)]
    names = dealt({"a": 1, "b": 1, "c": 1, "d": 1}, len(points), Rng(1, "z"))
    assert longest_run(names, points, 4.1) > 4
    limited = runs_limited(names, points, 4.1, 4, Rng(1, "swap"))
    assert Counter(limited) == Counter(names)
    assert longest_run(limited, points, 4.1) <= 4
