from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from stoning_grounds import (
    HERE,
    closest_pair,
    from_line,
    from_ring,
    ground,
    polygon,
    ring_hole,
    star,
    wedge,
    winds,
    zone,
)

from templater.catalogue.sizes import find_size
from templater.geometry.flatten import flatten
from templater.geometry.moves import moved_path, reversed_path
from templater.geometry.polygons import circle, rectangle
from templater.model.curves import Arc, Area, Line, Path, Transform
from templater.model.ground import EdgeKind, Fold, KeepClear, Low, Make
from templater.stoning.fields import make_field
from templater.stoning.outline import outline_seats

SS16 = find_size("ss16")
SS12 = find_size("ss12")
SS6 = find_size("ss6")
assert SS16
assert SS12
assert SS6
R = SS16.width_mm / 2.0
MICRON = 1e-3


def seats_of(the_zone, the_ground, *, gap=0.3, edge=0.15, rows=1, smaller=(), size=SS16):
    field = make_field(the_zone, the_ground, gap_mm=gap, edge_mm=edge)
    return outline_seats(field, size, gap, rows=rows, smaller=smaller)


def set_in(outline, holes=(), **kwargs):
    the_zone = zone(outline, holes)
    return seats_of(the_zone, ground(the_zone), **kwargs)


def discs(seats):
    return [(s.x, s.y, s.size.width_mm / 2.0) for s in seats]


def near(seats, at, within=0.002):
    return [s for s in seats if math.dist(s.at, at) <= within]


def in_order(seats, of=lambda s: math.atan2(s.y, s.x)):
    return sorted(seats, key=of)


class TestCorners:
    def test_a_square_has_a_stone_exactly_in_each_corner(self):
        seats = set_in(rectangle(0, 0, 60, 40), edge=0.2)
        inset = R + 0.2
        for corner in [
            (inset, inset),
            (60 - inset, inset),
            (inset, 40 - inset),
            (60 - inset, 40 - inset),
        ]:
            assert len(near(seats, corner)) == 1

    @pytest.mark.parametrize("angle", [12, 25, 40, 59, 75, 110, 149])
    def test_a_tip_holds_its_stone_as_far_in_as_it_fits(self, angle):
        # Closed form: a disc of radius r + e touches both sides of an angle θ at (r + e)/sin(θ/2).
        edge = 0.15
        seats = set_in(wedge(angle, 60), edge=edge)
        out = (R + edge) / math.sin(math.radians(angle / 2.0))
        assert (
            len(near(seats, (out, 0.0), within=0.0003 / math.sin(math.radians(angle / 2.0)))) == 1
        )

    @pytest.mark.parametrize("angle", [12, 25, 40, 50])
    def test_neighbours_of_an_acute_corner_stone_are_pushed_out(self, angle):
        # (D + g)/(2·sin(θ/2)): where the two sides' lines of centres are a pitch apart.
        gap = 0.3
        half = math.radians(angle / 2.0)
        seats = set_in(wedge(angle, 100), gap=gap)
        tip = ((R + 0.15) / math.sin(half), 0.0)
        out = (2 * R + gap) / (2.0 * math.sin(half))
        for sign in (1, -1):
            expected = (tip[0] + out * math.cos(half), sign * out * math.sin(half))
            assert len(near(seats, expected, within=0.003)) == 1

    def test_a_corner_that_sticks_into_the_zone_has_its_stone_on_the_bisector(self):
        notch = polygon([(0, 0), (60, 0), (60, 40), (30, 15), (0, 40)])
        seats = set_in(notch, edge=0.2)
        assert len(near(seats, (30, 15 - R - 0.2))) == 1

    def test_two_stones_stand_astride_an_inner_corner_where_one_would_open_the_row(self):
        # A star's legs: 9.55 pitches from a tip's neighbour to a stone in the inner corner.
        turns = [(70.0 if k % 2 == 0 else 32.0, math.pi / 2 + k * math.pi / 5) for k in range(10)]
        seats = set_in(star(5, 70.0, 32.0), edge=0.0, gap=0.2)
        pitch = 2 * R + 0.2
        assert len(seats) == 105
        for far, turn in turns[1::2]:
            corner = (far * math.cos(turn), far * math.sin(turn))
            pair = near(seats, corner, within=R + 0.6)
            assert len(pair) == 2
            assert math.dist(*(seat.at for seat in pair)) == pytest.approx(pitch, abs=0.001)
            assert abs(math.dist(pair[0].at, corner) - math.dist(pair[1].at, corner)) < 0.001
        # Only the five stones in the tips have no neighbour about a pitch away.
        lone = [
            seat
            for seat in seats
            if min(math.dist(seat.at, o.at) for o in seats if o is not seat) > 1.01 * pitch
        ]
        assert len(lone) == 5

    def test_turns_of_less_than_30_degrees_are_no_corners(self):
        bent = polygon([(0, 0), (50, 0), (50 + 50 * math.cos(0.5), 50 * math.sin(0.5)), (20, 60)])
        turned = set_in(bent)
        assert not near(turned, (50 - (R + 0.15) * math.tan(0.25), R + 0.15), within=0.01)

    def test_a_rounded_tip_has_a_stone_in_its_middle(self):
        tip = polygon([(0, 0), (60, -9), (60, 9)])
        rounded = Area(tip)
        from templater.geometry.polygons import from_polygon, to_polygon

        outline = from_polygon(
            to_polygon(rounded, 0.01).buffer(-2.6).buffer(2.6, quad_segs=60)
        ).outline
        seats = set_in(outline, edge=0.0)
        assert min(abs(s.y) for s in seats if s.x < 22) < 0.05


class TestPitch:
    def test_pitch_is_even_and_at_most_one_part_in_n_above_the_least(self):
        gap = 0.25
        seats = set_in(rectangle(0, 0, 300, 120), gap=gap)
        bottom = sorted(s.x for s in seats if s.y < 10 and abs(s.y - (R + 0.15)) < 0.01)
        steps = [b - a for a, b in pairwise(bottom)]
        least = 2 * R + gap
        assert max(steps) - min(steps) < 0.0004
        assert least <= min(steps)
        assert max(steps) <= least * (1 + 1 / len(steps)) + 0.0004
        # One more would not fit.
        assert (bottom[-1] - bottom[0]) < (len(steps) + 1) * (least + 2e-4)

    def test_a_circle_is_evenly_strung_by_chord(self):
        seats = set_in(circle((0, 0), 120), gap=0.2, edge=0.1)
        ring = in_order(seats)
        chords = [math.dist(a.at, b.at) for a, b in pairwise([*ring, ring[0]])]
        assert max(chords) - min(chords) < 0.0005
        # As many as fit: chord = 2·ρ·sin(π/n) at least the pitch.
        rho = 60 - R - 0.1
        most = math.floor(math.pi / math.asin((2 * R + 0.2) / (2 * rho)))
        assert len(seats) == most

    def test_every_stone_touches_its_margin(self):
        outline = star(5, 70, 32)
        ring = flatten(outline, 0.01)
        seats = set_in(outline, edge=0.2)
        assert all(abs(from_ring(s.at, ring) - R - 0.2) < 5e-4 for s in seats)

    def test_rows_lie_one_pitch_inside_each_other(self):
        ring = flatten(rectangle(0, 0, 80, 60), 0.01)
        seats = set_in(rectangle(0, 0, 80, 60), rows=3, gap=0.3, edge=0.15)
        depths = sorted({round(from_ring(s.at, ring), 2) for s in seats})
        assert depths == pytest.approx([2.1, 6.3, 10.5], abs=0.011)
        assert closest_pair(discs(seats)) >= 0.3 - 1e-6

    def test_inner_rows_are_whole_also_along_curves(self):
        circle_zone = circle((0, 0), 120)
        seats = set_in(circle_zone, rows=3, gap=0.3, edge=0.15)
        for row in range(3):
            depth = R + 0.15 + row * (2 * R + 0.3)
            ring = [s for s in seats if abs(60 - math.hypot(s.x, s.y) - depth) < 0.05]
            most = math.floor(math.pi / math.asin((2 * R + 0.3) / (2 * (60 - depth))))
            assert len(ring) in (most - 1, most)


class TestWhereRowsEnd:
    def test_edges_that_do_not_show_have_no_row(self):
        outline = rectangle(0, 0, 60, 40)
        free, hidden = (EdgeKind.FREE, True), (EdgeKind.SEAM, False)
        the_zone = zone(outline, kinds=[free, hidden, free, free])
        seats = seats_of(the_zone, ground(the_zone))
        right = [s for s in seats if s.x > 60 - R - 0.2]
        assert sorted(round(s.y, 2) for s in right) == [2.1, 37.9]
        assert all(min(abs(s.x - 2.1), abs(s.y - 2.1), abs(s.y - 37.9)) < 0.01 for s in seats)

    def test_a_row_broken_by_a_clear_area_ends_touching_its_margin_on_both_sides(self):
        keep = KeepClear("clear", "front", Area(circle((30, 0), 8)), 3.0, HERE)
        the_zone = zone(rectangle(0, 0, 60, 40))
        seats = seats_of(the_zone, ground(the_zone, keep_clear=[keep]))
        rims = sorted(math.dist(s.at, (30, 0)) - R - 4.0 for s in seats)
        assert rims[0] >= 3.0
        assert rims[1] < 3.002

    def test_low_areas_take_only_stones_that_are_low_enough(self):
        low = Low("front", Area(rectangle(20, -5, 40, 10)), 1.2, HERE)
        the_zone = zone(rectangle(0, 0, 60, 40))
        the_ground = ground(the_zone, lows=[low])
        assert SS16.height_mm > 1.2 > SS6.height_mm
        tall = seats_of(the_zone, the_ground)
        assert not [s for s in tall if 20 - R < s.x < 40 + R and s.y < 10]
        short = seats_of(the_zone, the_ground, size=SS6)
        assert [s for s in short if 25 < s.x < 35 and s.y < 10]

    def test_a_neck_too_narrow_for_a_stone_ends_cleanly_on_either_side(self):
        dumbbell = polygon(
            [
                (0, 0),
                (40, 0),
                (40, 13),
                (60, 13),
                (60, 0),
                (100, 0),
                (100, 30),
                (60, 30),
                (60, 16),
                (40, 16),
                (40, 30),
                (0, 30),
            ]
        )
        seats = set_in(dumbbell)
        assert not [s for s in seats if 40 < s.x < 60]
        assert [s for s in seats if s.x < 40]
        assert [s for s in seats if s.x > 60]

    def test_smaller_sizes_step_into_a_sharp_point(self):
        seats = set_in(wedge(14, 90), smaller=[SS12, SS6])
        half = math.radians(7)
        small = [s for s in seats if s.size is SS6]
        assert len(small) == 1
        assert math.dist(small[0].at, ((SS6.width_mm / 2 + 0.15) / math.sin(half), 0)) < 0.003
        assert closest_pair(discs(seats)) >= 0.3 - 1e-6

    def test_a_zone_too_narrow_for_the_size_has_no_row(self):
        assert set_in(rectangle(0, 0, 60, 4.0)) == []

    def test_two_rows_in_a_narrow_strip_interlock_alike_to_both_ends(self):
        # 8 mm: too narrow for two stones abreast, wide enough for one row in the other's dips.
        seats = set_in(rectangle(0, 0, 100, 8), gap=0.2, edge=0.1)
        low = sorted(s.x for s in seats if s.y < 4)
        high = sorted(s.x for s in seats if s.y > 4)
        assert len(high) == len(low) - 1
        for (a, b), between in zip(pairwise(low), high, strict=True):
            assert between == pytest.approx((a + b) / 2, abs=0.002)

    def test_a_narrow_band_with_round_ends_has_one_file_along_its_middle(self):
        band = Path(
            (
                Line((0, 0), (60, 0)),
                Arc((60, 0), (60, 7), 1.0),
                Line((60, 7), (0, 7)),
                Arc((0, 7), (0, 0), 1.0),
            ),
            closed=True,
        )
        seats = set_in(band, gap=0.2, edge=0.1)
        assert all(s.y == pytest.approx(3.5, abs=0.03) for s in seats)
        xs = sorted(s.x for s in seats)
        assert xs[0] + xs[-1] == pytest.approx(60, abs=0.01)
        assert len(xs) == 16

    @pytest.mark.parametrize("width", [4.3, 5.0, 6.5, 7.7])
    def test_a_strip_for_one_stone_across_has_one_file_along_its_middle(self, width):
        seats = set_in(rectangle(0, 0, 60, width), gap=0.3, edge=0.15)
        assert all(s.y == pytest.approx(width / 2, abs=0.001) for s in seats)
        assert len(seats) == 14

    def test_a_blunt_tip_keeps_its_symmetry(self):
        tip = polygon([(0, -3), (60, -25), (60, 25), (0, 3)])
        seats = set_in(tip)
        mirrored = sorted((round(s.x, 2), round(-s.y, 2)) for s in seats)
        for (x, y), (mx, my) in zip(
            sorted((round(s.x, 2), round(s.y, 2)) for s in seats), mirrored, strict=True
        ):
            assert x == pytest.approx(mx, abs=0.011)
            assert y == pytest.approx(my, abs=0.011)
        assert near(seats, (R + 0.15, 0.0))

    def test_a_zone_just_wide_enough_has_one_file(self):
        seats = set_in(rectangle(0, 0, 60, 2 * R + 0.31))
        assert len(seats) == math.floor((60 - 2 * R - 0.3) / (2 * R + 0.3 + 2e-4)) + 1


class TestFold:
    FOLD = Fold((0.0, -50.0), (0.0, 150.0))

    def folded(self, points, kinds, **kwargs):
        the_zone = zone(polygon(points), kinds=kinds)
        the_ground = ground(the_zone, make=Make.FOLD, fold=self.FOLD)
        return seats_of(the_zone, the_ground, **kwargs)

    def test_rows_pass_the_fold_at_an_even_pitch(self):
        free, fold = (EdgeKind.FREE, True), (EdgeKind.FOLD, False)
        seats = self.folded([(0, 0), (47, 0), (47, 30), (0, 30)], [free, free, free, fold])
        bottom = sorted({s.x for s in seats if s.y < 5})
        whole = sorted({*bottom, *(-x for x in bottom)})
        steps = [b - a for a, b in pairwise(whole)]
        assert min(steps) >= 2 * R + 0.3 - 1e-6
        assert max(steps) - min(steps) < 0.001
        assert not [s for s in seats if 0.001 < s.x < R]

    @pytest.mark.parametrize("rise", [70.0, 25.0, 15.0])
    def test_a_tip_on_the_fold_has_its_stone_centred(self, rise):
        free, fold = (EdgeKind.FREE, True), (EdgeKind.FOLD, False)
        seats = self.folded([(0, 0), (40, rise), (0, rise)], [free, free, fold])
        half = math.atan2(40, rise)
        out = (R + 0.15) / math.sin(half)
        centred = [s for s in seats if s.on_fold]
        assert min(abs(s.y - out) for s in centred) < 0.001
        assert all(s.x == 0.0 for s in centred)

    def test_stones_off_the_fold_clear_their_mirror_image(self):
        free, fold = (EdgeKind.FREE, True), (EdgeKind.FOLD, False)
        seats = self.folded([(0, 0), (40, 50), (30, 90), (0, 99)], [free, free, free, fold])
        both = [(s.x, s.y, R) for s in seats]
        both += [(-s.x, s.y, R) for s in seats if s.x > 1e-6]
        assert closest_pair(both) >= 0.3 - 1e-6


def random_outline(radii, turns):
    count = len(radii)
    return polygon(
        [
            (
                r * math.cos(2 * math.pi * (k + t) / count),
                r * math.sin(2 * math.pi * (k + t) / count),
            )
            for k, (r, t) in enumerate(zip(radii, turns, strict=True))
        ]
    )


@st.composite
def outlines(draw):
    count = draw(st.integers(3, 11))
    radii = draw(st.lists(st.floats(4, 45), min_size=count, max_size=count))
    turns = draw(st.lists(st.floats(0, 0.8), min_size=count, max_size=count))
    return random_outline(radii, turns)


class TestAlways:
    @settings(deadline=None, max_examples=60)
    @given(outlines(), st.floats(0, 0.6), st.floats(0, 0.5), st.integers(1, 2))
    def test_no_overlap_and_none_outside(self, outline, gap, edge, rows):
        ring = flatten(outline, 0.01)
        seats = set_in(outline, gap=gap, edge=edge, rows=rows, smaller=[SS12, SS6])
        assert closest_pair(discs(seats)) >= gap - MICRON / 10
        for seat in seats:
            assert winds(seat.at, ring)
            assert from_ring(seat.at, ring) >= seat.size.width_mm / 2 + edge - MICRON / 10
            assert seat.x == round(seat.x, 4)

    @settings(deadline=None, max_examples=30)
    @given(outlines(), st.floats(0, 360), st.booleans(), st.integers(0, 5))
    def test_turned_mirrored_or_begun_elsewhere_the_count_stays(
        self, outline, angle, mirrored, start
    ):
        a = math.radians(angle)
        m = -1.0 if mirrored else 1.0
        move = Transform(m * math.cos(a), m * math.sin(a), -math.sin(a), math.cos(a), 210.0, 170.0)
        moved = moved_path(outline, move)
        if mirrored:
            moved = reversed_path(moved)
        k = start % len(moved.segments)
        moved = Path((*moved.segments[k:], *moved.segments[:k]), closed=True)
        before, after = set_in(outline), set_in(moved)
        assert abs(len(before) - len(after)) <= max(2, 0.02 * len(before))

    @settings(deadline=None, max_examples=40)
    @given(
        st.lists(st.floats(6, 45), min_size=3, max_size=8),
        st.floats(0, 0.6),
        st.sampled_from([90.0, 63.4]),
    )
    def test_across_a_fold_both_halves_together_neither_overlap_nor_lie_outside(
        self, radii, gap, tilt
    ):
        c, s = math.cos(math.radians(tilt)), math.sin(math.radians(tilt))
        steps = [math.pi * (k / (len(radii) - 1) - 0.5) for k in range(len(radii))]
        half = [(r * math.cos(a), r * math.sin(a)) for r, a in zip(radii, steps, strict=True)]
        half[0], half[-1] = (0.0, -radii[0]), (0.0, radii[-1])
        turned = [(x * s + y * c, y * s - x * c) for x, y in half]
        fold = Fold((-100 * c, -100 * s), (100 * c, 100 * s))
        free = (EdgeKind.FREE, True)
        kinds = [*([free] * (len(radii) - 1)), (EdgeKind.FOLD, False)]
        the_zone = zone(polygon(turned), kinds=kinds)
        seats = seats_of(
            the_zone, ground(the_zone, make=Make.FOLD, fold=fold), gap=gap, edge=gap / 2
        )
        mirrored = [fold.mirror.apply(seat.at) for seat in seats if not seat.on_fold]
        both = [*discs(seats), *((*at, R) for at in mirrored)]
        assert closest_pair(both) >= gap - MICRON / 2
        ring = (*turned, *(fold.mirror.apply(p) for p in reversed(turned[1:-1])))
        for x, y, r in both:
            assert winds((x, y), ring)
            assert from_ring((x, y), ring) >= r + gap / 2 - MICRON / 5
        for seat in seats:
            if seat.on_fold:
                assert abs(seat.x * s - seat.y * c) < 1e-4

    @settings(deadline=None, max_examples=20)
    @given(st.floats(3, 30), st.floats(-8, 8), st.floats(8, 60))
    def test_holes_have_rows_of_their_own(self, hole, off, width):
        outline = rectangle(-45, -width, 45, width)
        if hole / 2 + abs(off) >= width - 0.5:
            hole = max(1.0, 2 * (width - 0.5 - abs(off)))
        seats = set_in(outline, [ring_hole((off, 0), hole)])
        assert closest_pair(discs(seats)) >= 0.3 - 1e-6
        assert all(math.dist(s.at, (off, 0)) >= hole / 2 + R + 0.15 - 1e-6 for s in seats)
        if width - hole / 2 - abs(off) > 2 * (2 * R + 0.3) + 0.2:
            touching = [s for s in seats if math.dist(s.at, (off, 0)) < hole / 2 + R + 0.16]
            ideal = math.pi / math.asin((2 * R + 0.3) / (hole + 2 * R + 0.3))
            assert len(touching) in (math.floor(ideal), math.floor(ideal - 1e-3))


@pytest.mark.parametrize("lean_deg", [62.0, 70.0, 81.0, 89.0])
def test_between_corners_of_less_than_a_right_angle_the_pitch_is_even(lean_deg):
    """No stone stands apart because another side's second stone comes near its own second one."""
    rise = 60.0
    slant = rise / math.tan(math.radians(lean_deg))
    corners = [(0.0, 0.0), (80.0, 0.0), (80.0 + slant, rise), (slant, rise)]
    seats = [s.at for s in set_in(polygon(corners))]
    pitch = SS16.width_mm + 0.3
    for a, b in zip(corners, [*corners[1:], corners[0]], strict=True):
        side = sorted(
            (at for at in seats if from_line(at, a, b) <= pitch / 2.0 + 0.01),
            key=lambda at: (at[0] - a[0]) * (b[0] - a[0]) + (at[1] - a[1]) * (b[1] - a[1]),
        )
        steps = [math.dist(p, q) for p, q in pairwise(side)]
        assert min(steps) >= pitch - 1e-6
        assert max(steps) - min(steps) <= 1e-3
        assert max(steps) <= pitch * (1.0 + 1.0 / len(steps))
