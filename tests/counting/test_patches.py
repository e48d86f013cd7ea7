"""Glue patches: connected, small enough, few enough, every stone in one, left as right."""

from __future__ import annotations

import math
import time
from collections import Counter

import pytest
from counting_stones import lattice, mirrored, stone
from hypothesis import given, settings
from hypothesis import strategies as st

from templater.catalogue.sizes import find_size
from templater.counting.neighbours import neighbour_graph, parts_of
from templater.counting.patches import make_patches
from templater.counting.splitting import split
from templater.model.ground import Side

SIZES = {name: find_size(name) for name in ("ss16", "ss12", "ss20")}
SHAPES = {
    "blade": lambda i, j: abs(i - 14) < 14 * math.sin(math.pi * (j + 1) / 62),
    "ring": lambda i, j: 8 < math.hypot(i - 15, j - 17) < 15,
    "horseshoe": lambda i, j: 8 < math.hypot(i - 15, j - 17) < 15 and (j < 17 or i != 15),
    "with snaps": lambda i, j: all(math.hypot(i - 12, j - y) > 4 for y in (12, 30, 48)),
    "comb": lambda i, j: j < 6 or i % 6 < 3,
    "two islands": lambda _, j: j < 20 or j > 30,
}


def by_hand(groups, points):
    """Connected in the plain sense: steps of no more than 2.5 pitches within the group."""
    for group in groups:
        left, row = set(group), [group[0]]
        left.remove(group[0])
        for at in row:
            near = [i for i in left if math.dist(points[at], points[i]) <= 10.0]
            left.difference_update(near)
            row.extend(near)
        if left:
            return False
    return True


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("limit", [9, 34, 90])
def test_patches_of_every_shape(shape, limit):
    points = lattice(SHAPES[shape], 30, 60)
    groups = split(points, limit)
    assert sorted(i for group in groups for i in group) == list(range(len(points)))
    assert max(map(len, groups)) <= limit
    least = math.ceil(len(points) / limit)
    assert least <= len(groups) <= 1.15 * least
    links = neighbour_graph(points)
    assert all(len(parts_of(group, links)) == 1 for group in groups)
    if shape != "two islands":
        assert by_hand(groups, points)


@settings(deadline=None, max_examples=60)
@given(
    st.integers(2, 24),
    st.integers(2, 30),
    st.integers(1, 40),
    st.sets(st.tuples(st.integers(0, 5), st.integers(0, 5)), max_size=6),
)
def test_any_zone_of_blocks(across, up, limit, away):
    points = lattice(lambda i, j: (i // 5, j // 5) not in away, across, up)
    groups = split(points, limit)
    assert sorted(i for group in groups for i in group) == list(range(len(points)))
    links = neighbour_graph(points)
    assert all(len(group) <= limit and len(parts_of(group, links)) == 1 for group in groups)
    assert len(groups) <= max(1.15 * math.ceil(len(points) / limit), 0)


@settings(deadline=None, max_examples=40)
@given(st.sets(st.tuples(st.integers(0, 99), st.integers(0, 99)), max_size=60), st.integers(1, 9))
def test_scattered_points_are_never_lost_nor_patches_too_large(places, limit):
    points = [(float(x), float(y)) for x, y in sorted(places)]
    groups = split(points, limit)
    assert sorted(i for group in groups for i in group) == list(range(len(points)))
    links = neighbour_graph(points)
    assert all(len(group) <= limit and len(parts_of(group, links)) == 1 for group in groups)


def test_patches_are_compact():
    """A patch's farthest two stones, against the diameter of a disc of the same area: a square has
    1.25, a strip of one to three 1.6; a patch of the strip of 30 by 60 is allowed 2.2, mean 1.7.
    """
    points = lattice(lambda *_: True, 30, 60)
    stretch = []
    for group in split(points, 40):
        own = [points[i] for i in group]
        reach = max(math.dist(a, b) for a in own for b in own) + 4.0
        stretch.append(reach / math.sqrt(4.0 / math.pi * len(own) * 4.0 * 4.0 * 0.866))
    assert sum(stretch) / len(stretch) <= 1.7
    assert max(stretch) <= 2.2


def test_twenty_thousand_stones_take_a_moment():
    points = lattice(lambda *_: True, 100, 200)
    began = time.process_time()
    groups = split(points, 40)
    took = time.process_time() - began
    assert len(groups) <= 1.15 * 500
    assert took < 6.0, f"{took:.1f} s"


def patches_of(stones, limit):
    return make_patches(stones, SIZES, {"frond": limit}, lambda _: 0.2)


def test_left_mirrors_right_and_numbers_run_down():
    points = lattice(SHAPES["blade"], 30, 60)
    left = [stone((x + 5, y), n) for n, (x, y) in enumerate(points, 1)]
    patches = patches_of([*left, *mirrored(left)], 34)
    mine = [p for p in patches if p.side is Side.LEFT]
    other = [p for p in patches if p.side is Side.RIGHT]
    assert [[s.replace("left", "right") for s in p.stones] for p in mine] == [
        list(p.stones) for p in other
    ]
    assert [p.number for p in mine] == list(range(1, len(mine) + 1))
    assert [p.tray for p in mine] == [p.tray for p in other]
    band = max(p.middle[1] for p in mine) - 60
    assert all(p.middle[1] > band - 60 for p in mine[:3]), "the first lie at the top"
    assert mine[-1].middle[1] < mine[0].middle[1]
    assert len({p.name for p in patches}) == len(patches)


def test_a_zone_across_the_fold():
    half = [stone((4.0 * i, 4.0 * j), 100 * j + i) for j in range(20) for i in range(1, 9)]
    middle = [stone((0.0, 4.0 * j), 100 * j, side=Side.CENTRE) for j in range(20)]
    whole = [*half, *middle, *mirrored(half)]
    patches = patches_of(whole, 30)
    held = Counter(s for p in patches for s in p.stones)
    assert held == Counter(s.id for s in whole)
    assert max(len(p.stones) for p in patches) <= 30
    assert len(patches) <= 1.15 * math.ceil(len(whole) / 30) + 1
    one = patches_of(whole, len(whole))
    assert [(p.side, len(p.stones)) for p in one] == [(Side.CENTRE, len(whole))]


def test_stones_that_wait_for_the_seam_have_patches_of_their_own_at_the_end():
    early = [stone((4.0 * i, 0.0), i) for i in range(20)]
    late = [stone((4.0 * i, 4.0), 50 + i)._replace(after_sewing=True) for i in range(20)]
    patches = patches_of([*late[:10], *early, *late[10:]], 15)
    assert [(p.number, p.after_sewing) for p in patches] == [
        (1, False), (2, False), (3, True), (4, True),
    ]  # fmt: skip
    waiting = {s.id for s in late}
    assert all((name in waiting) is p.after_sewing for p in patches for name in p.stones)
    assert len({p.name for p in patches}) == 4


def test_the_tray_says_what_to_lay_out():
    stones = [
        stone((0, 0), 1),
        stone((4, 0), 2, size="ss20", mm=4.7),
        stone((8, 0), 3, finish="ab"),
        stone((12, 0), 4),
    ]
    (patch,) = patches_of(stones, 9)
    assert [tuple(line) for line in patch.tray] == [
        ("ss20", "sea green", "plain", 1),
        ("ss16", "sea green", "ab", 1),
        ("ss16", "sea green", "plain", 2),
    ]
    assert patch.minutes == 0.8


@pytest.mark.parametrize("points", [[], [(0.0, 0.0)], [(0.0, 0.0), (9.0, 9.0)]])
def test_hardly_any(points):
    assert sorted(i for g in split(points, 3) for i in g) == list(range(len(points)))


def test_a_limit_below_one_is_refused():
    with pytest.raises(ValueError, match="at least one"):
        split([(0.0, 0.0)], 0)
