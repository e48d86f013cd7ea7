from __future__ import annotations

import math
from itertools import combinations, pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon
from stoning_grounds import HERE, ground, polygon

from templater.catalogue.sizes import find_size
from templater.geometry.flatten import flatten
from templater.geometry.polygons import circle, polyline, rectangle
from templater.geometry.stone_shapes import placed_stone_path
from templater.job.schema import RowTable
from templater.model.curves import Area, Line, Path
from templater.model.ground import Fold, KeepClear, Make, Row
from templater.stoning import set_row

MICRON = 1e-3


def straight(*points):
    return polyline(list(points), closed=False)


def row_of(path, **kwargs):
    return Row("spine", "front", path, HERE), kwargs


def set_along(path, the_ground=None, **table):
    row = Row("spine", "front", path, HERE)
    the_ground = the_ground or ground(rows=[row])
    setting, problems = set_row(row, the_ground, RowTable(**table), (), 1)
    return setting, problems


def true_outline(stone):
    """The stone's own curves, flattened finely from the inside."""
    size = find_size(stone.size)
    assert size is not None
    path = placed_stone_path(size.shape, size.length_mm, size.width_mm, stone.at, stone.turn_deg)
    return Polygon(flatten(path, 1e-4))


def gaps(stones):
    shapes = [true_outline(s) for s in stones]
    return [a.distance(b) for a, b in combinations(shapes, 2)]


class TestSpacing:
    def test_navettes_on_a_straight_line_touch_both_ends_and_share_the_slack(self):
        setting, _ = set_along(straight((0, 0), (100, 0)), stone="navette 10x5", gap=0.5)
        xs = [s.x_mm for s in setting.stones]
        # n stones of 10 with gaps of at least 0.5 in 100 mm: 10n + 0.5(n-1) <= 100.
        assert len(xs) == 9
        assert xs[0] == pytest.approx(5.0, abs=1e-3)
        assert xs[-1] == pytest.approx(95.0, abs=1e-3)
        steps = [b - a for a, b in pairwise(xs)]
        assert max(steps) - min(steps) < 3e-4
        assert all(s.turn_deg == 0.0 for s in setting.stones)

    def test_across_needs_only_the_width(self):
        setting, _ = set_along(
            straight((0, 0), (100, 0)), stone="navette 10x5", gap=0.5, turn="across"
        )
        assert len(setting.stones) == math.floor((100 + 0.5) / 5.5)
        assert all(s.turn_deg == pytest.approx(90.0) for s in setting.stones)

    def test_slanted_navettes_are_kept_apart_by_their_true_shapes_not_by_circles(self):
        setting, _ = set_along(straight((0, 0), (100, 0)), stone="navette 10x5", gap=0.5, turn=45.0)
        assert min(gaps(setting.stones)) == pytest.approx(0.5, abs=0.06)
        assert len(setting.stones) > 100 / 10.5 + 2

    def test_a_fan_turns_evenly_from_one_turn_to_the_other(self):
        setting, _ = set_along(
            straight((0, 0), (0, 120)), stone="teardrop 8x5", gap=0.4, turn=(-60.0, 60.0)
        )
        turns = [math.remainder(s.turn_deg - 90.0, 360.0) for s in setting.stones]
        assert turns == sorted(turns)
        for stone, turn in zip(setting.stones, turns, strict=True):
            assert turn == pytest.approx(-60 + 120 * stone.y_mm / 120, abs=0.01)
        assert min(gaps(setting.stones)) >= 0.4 - MICRON

    def test_a_list_of_sizes_graduates_along_the_line(self):
        names = ["navette 10x5", "navette 8x4", "navette 6x3"]
        setting, _ = set_along(straight((0, 0), (150, 0)), stone=tuple(names), gap=0.5)
        order = [s.size for s in setting.stones]
        assert order == sorted(order, key=names.index)
        assert set(order) == set(names)
        for stone in setting.stones:
            assert names.index(stone.size) == min(int(stone.x_mm / 50), 2)

    def test_rounds_on_a_closed_line_are_evenly_strung(self):
        setting, _ = set_along(circle((50, 50), 60), stone="ss16", gap=0.3)
        ring = [s.at for s in setting.stones]
        chords = [math.dist(a, b) for a, b in pairwise([*ring, ring[0]])]
        assert max(chords) - min(chords) < 0.002
        assert len(ring) == math.floor(math.pi / math.asin(4.2 / 60))

    def test_navettes_on_a_closed_line_keep_their_gap_where_it_closes(self):
        setting, _ = set_along(circle((50, 50), 60), stone="navette 8x4", gap=0.4)
        found = gaps(setting.stones)
        assert min(found) >= 0.4 - MICRON
        assert len(setting.stones) >= 21

    def test_a_gap_that_opens_fades_the_row_out(self):
        setting, _ = set_along(straight((0, 0), (200, 0)), stone="navette 8x4", gap=(0.4, 8.0))
        xs = [s.x_mm for s in setting.stones]
        between = [b - a - 8.0 for a, b in pairwise(xs)]
        assert between == sorted(between)
        assert between[0] >= 0.4
        for (a, b), found in zip(pairwise(xs), between, strict=True):
            # Even opening, and one and the same share of the slack for each.
            asked = 0.4 + 7.6 * (a + b) / 2 / 200
            assert found - asked == pytest.approx(
                between[0] - 0.4 - 7.6 * (xs[0] + xs[1]) / 400, abs=0.002
            )
        assert xs[-1] == pytest.approx(196.0, abs=0.01)
        assert {s.gap_mm for s in setting.stones} == {0.4}


class TestCorners:
    def test_a_round_sits_exactly_on_a_corner(self):
        setting, _ = set_along(straight((0, 0), (50, 0), (50, 40)), stone="ss16", gap=0.3)
        assert sum(math.dist(s.at, (50, 0)) < 1e-3 for s in setting.stones) == 1

    def test_at_an_acute_corner_neighbours_of_the_round_are_pushed_out(self):
        tip = math.radians(30)
        end = (50 - 60 * math.cos(tip), 60 * math.sin(tip))
        setting, _ = set_along(straight((0, 0), (50, 0), end), stone="ss16", gap=0.3)
        out = 4.2 / (2 * math.sin(tip / 2))
        by = sorted(math.dist(s.at, (50, 0)) for s in setting.stones)
        assert by[0] < 1e-3
        assert by[1] == pytest.approx(out, abs=0.003)
        assert by[2] == pytest.approx(out, abs=0.003)

    @pytest.mark.parametrize("turn", [35, 60, 90, 120, 150, 170])
    def test_shaped_stones_stand_alike_to_both_sides_of_a_corner(self, turn):
        a = math.radians(turn)
        end = (60 + 60 * math.cos(a), 60 * math.sin(a))
        setting, _ = set_along(straight((0, 0), (60, 0), end), stone="navette 8x4", gap=0.4)
        assert min(gaps(setting.stones)) >= 0.4 - MICRON
        by = sorted(math.dist(s.at, (60, 0)) for s in setting.stones)
        assert by[0] == pytest.approx(by[1], abs=0.01)


class TestKeepingClear:
    def test_no_stone_touches_what_is_kept_clear(self):
        row, _ = row_of(straight((0, 0), (100, 0)))
        keep = KeepClear("clear", "front", Area(circle((50, 3), 10)), 3.0, HERE)
        the_ground = ground(rows=[row], keep_clear=[keep])
        setting, _ = set_along(row.path, the_ground, stone="navette 8x4", gap=0.4)
        shapes = [true_outline(s) for s in setting.stones]
        closest = sorted(
            shape.distance(Polygon(flatten(circle((50, 3), 10), 1e-3))) for shape in shapes
        )
        assert closest[0] >= 3.0 - MICRON
        assert closest[1] < 3.0 + 0.01

    def test_stones_stay_on_their_piece(self):
        row, _ = row_of(straight((-20, 10), (120, 10)))
        the_ground = ground(rows=[row], area=Area(rectangle(0, 0, 100, 50)))
        setting, _ = set_along(row.path, the_ground, stone="navette 8x4", gap=0.4)
        xs = [s.x_mm for s in setting.stones]
        assert min(xs) >= 4.0 - 0.002
        assert max(xs) <= 96.0 + 0.002
        assert len(xs) == 11

    def test_a_later_row_clears_an_earlier_one(self):
        from templater.stoning import row_obstacles

        first, second = straight((0, 0), (100, 0)), straight((50, -40), (50, 40))
        setting, _ = set_along(first, stone="navette 8x4", gap=0.4)
        size = find_size("navette 8x4")
        obstacles = row_obstacles(setting, {"navette 8x4": size})
        row = Row("cross", "front", second, HERE)
        crossing, _ = set_row(
            row, ground(rows=[row]), RowTable(stone="ss16", gap=0.4), obstacles, 1
        )
        shapes = [true_outline(s) for s in setting.stones]
        for stone in crossing.stones:
            assert min(true_outline(stone).distance(shape) for shape in shapes) >= 0.4 - MICRON
        assert len(crossing.stones) >= 16

    def test_a_row_without_room_says_so(self):
        keep = KeepClear("clear", "front", Area(rectangle(-5, -5, 105, 5)), 3.0, HERE)
        row, _ = row_of(straight((0, 0), (100, 0)))
        setting, problems = set_along(row.path, ground(rows=[row], keep_clear=[keep]))
        assert setting.stones == ()
        assert [p.code for p in problems] == ["row-without-stones"]
        assert problems[0].mend

    def test_an_unknown_stone_is_named_with_the_nearest(self):
        _, problems = set_along(straight((0, 0), (100, 0)), stone="navete 10x5")
        assert problems[0].code == "unknown-size"
        assert "navete 10x5" in problems[0].message


class TestFold:
    FOLD = Fold((0.0, 0.0), (0.0, 200.0))

    def at_fold(self, path, **table):
        row = Row("spine", "front", path, HERE)
        return set_along(path, ground(make=Make.FOLD, fold=self.FOLD, rows=[row]), **table)

    def test_a_row_on_the_fold_is_centred_on_it(self):
        setting, _ = self.at_fold(straight((0, 20), (0, 120)), stone="teardrop 8x5", gap=0.4)
        assert all(s.x_mm == 0.0 for s in setting.stones)
        assert len(setting.stones) == math.floor((100 + 0.4) / 8.4)

    @pytest.mark.parametrize("turn", ["along", "across", 30.0])
    def test_a_row_that_starts_at_the_fold_clears_its_mirror_image(self, turn):
        setting, _ = self.at_fold(
            straight((0, 20), (80, 60)), stone="navette 10x5", gap=0.4, turn=turn
        )
        first = setting.stones[0]
        nearest = min(x for x, _ in true_outline(first).exterior.coords)
        assert nearest == pytest.approx(0.2, abs=0.003)
        assert nearest >= 0.2 - MICRON


@settings(deadline=None, max_examples=18)
@given(
    st.lists(st.tuples(st.floats(0, 90), st.floats(0, 90)), min_size=2, max_size=5, unique=True),
    st.sampled_from(
        ["navette 8x4", "teardrop 8x5", "oval 6x4", "rectangle 5x3", "triangle 6x6", "ss20"]
    ),
    st.sampled_from(["along", "across", 33.0, (0.0, 180.0)]),
    st.floats(0, 1.5),
    st.booleans(),
)
def test_true_shapes_never_come_nearer_than_the_gap(points, stone, turn, gap, closed):
    points = [p for k, p in enumerate(points) if k == 0 or math.dist(p, points[k - 1]) > 1.0]
    if len(points) < 2 or (closed and len(points) < 3) or math.dist(points[0], points[-1]) < 1.0:
        return
    path = polygon(points) if closed else straight(*points)
    setting, _ = set_along(path, stone=stone, turn=turn, gap=gap)
    assert all(g >= gap - MICRON for g in gaps(setting.stones))
    if max(math.dist(s.start, s.end) for s in path.segments) > 20:
        assert setting.stones


def test_a_line_of_one_straight_bit_reversed_takes_as_many_stones():
    there, _ = set_along(straight((0, 0), (97, 20)), stone="navette 8x4", gap=0.4)
    back, _ = set_along(Path((Line((97, 20), (0, 0)),), closed=False), stone="navette 8x4", gap=0.4)
    assert len(there.stones) == len(back.stones)


@pytest.mark.parametrize(
    ("stone", "turn", "refused"),
    [
        ("teardrop 8x5", "across", True),
        ("navette 8x4", "across", False),
        ("navette 8x4", 30.0, True),
        ("triangle 6x6", "along", False),
        ("ss16", 30.0, False),
    ],
)
def test_on_the_fold_only_stones_that_mirror_themselves_are_set(stone, turn, refused):
    setting, problems = TestFold().at_fold(straight((0, 20), (0, 120)), stone=stone, turn=turn)
    assert [p.code for p in problems] == (["row-on-fold-turned"] if refused else [])
    assert bool(setting.stones) is not refused
