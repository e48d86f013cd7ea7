from __future__ import annotations

import math

import pytest

from templater.geometry.bare import largest_bare_mm, most_stones
from templater.model.stones import Wall

SQUARE = ((0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0))


def walls_of(ring, clearance=0.0):
    return [Wall(*a, *b, clearance) for a, b in zip(ring, [*ring[1:], ring[0]], strict=True)]


def test_an_empty_square_bares_its_inscribed_circle():
    assert largest_bare_mm([SQUARE], []) == pytest.approx(100.0, abs=0.01)


def test_between_four_stones_on_a_square_grid():
    # Centres 10 apart, radius 2: the circle in the middle has radius 10/√2 − 2.
    discs = [(5.0 + 10 * i, 5.0 + 10 * j, 2.0) for i in range(10) for j in range(10)]
    assert largest_bare_mm([SQUARE], discs) == pytest.approx(2 * (10 / math.sqrt(2) - 2), abs=0.003)


def test_between_three_touching_stones():
    # Inner Soddy circle of three equal discs: r·(2/√3 − 1).
    r = 3.0
    discs = [
        (6 * i + 3 * (j % 2) - 6, 3 * math.sqrt(3) * j - 6, r) for i in range(21) for j in range(25)
    ]
    assert largest_bare_mm([SQUARE], discs) == pytest.approx(
        2 * r * (2 / math.sqrt(3) - 1), abs=0.003
    )


def test_one_missing_stone_is_found_among_many():
    discs = [
        (5.0 + 10 * i, 5.0 + 10 * j, 4.5) for i in range(10) for j in range(10) if (i, j) != (7, 3)
    ]
    assert largest_bare_mm([SQUARE], discs) == pytest.approx(2 * 5.5, abs=0.003)


def test_a_hole_is_not_bare_and_shaped_stones_count():
    hole = ((30.0, 30.0), (30.0, 70.0), (70.0, 70.0), (70.0, 30.0))
    # The largest circles sit in the corners: touching two sides and the hole's corner.
    expected = 2 * 30 * math.sqrt(2) / (1 + math.sqrt(2))
    assert largest_bare_mm([SQUARE, hole], []) == pytest.approx(expected, abs=0.01)
    assert largest_bare_mm([SQUARE], [], [hole[::-1]]) == pytest.approx(expected, abs=0.01)


def test_the_bound_is_oler_s_for_a_square():
    # X is the square less the radius all round: A = 96², P = 4·96, χ = 1, D = 4.
    expected = 2 / math.sqrt(3) * 96**2 / 16 + 4 * 96 / 8 + 1
    found = most_stones([SQUARE], walls_of(SQUARE), 2.0, 0.0)
    assert math.floor(expected) <= found <= math.floor(expected * 1.001)


def test_seven_equal_discs_fill_three_radii_and_the_bound_does_not_deny_it():
    # 7 discs in a circle of 3 radii (proven best; Specht's table): the bound must allow 7.
    ring = tuple(
        (6 * math.cos(2 * math.pi * k / 720), 6 * math.sin(2 * math.pi * k / 720))
        for k in range(720)
    )
    assert 7 <= most_stones([ring], walls_of(ring), 2.0, 0.0) <= 9
