from __future__ import annotations

import itertools
import math
from collections import Counter
from dataclasses import replace

import pytest
from stoning_grounds import HERE, closest_pair, from_ring, ground, polygon, wedge, winds, zone

from templater.geometry.flatten import flatten
from templater.geometry.polygons import circle, polyline, rectangle
from templater.job.schema import Job
from templater.model.curves import Area
from templater.model.ground import EdgeKind, Fold, KeepClear, Make, Row, Side
from templater.stoning import place, set_all

FREE, HIDDEN_FOLD = (EdgeKind.FREE, True), (EdgeKind.FOLD, False)


def job(**stoning):
    return Job.model_validate({"drawing": "x.svg", "seed": 3, "stoning": stoning})


def staggered(**more):
    return {
        "outline": {"size": "ss16", "gap": 0.3},
        "fill": {"style": "staggered", "sizes": {"ss16": 1}, "gap": 0.5},
        **more,
    }


class TestZones:
    def test_outline_and_fill_keep_their_own_gaps(self):
        the_zone = zone(rectangle(0, 0, 80, 50))
        (setting,), problems = set_all(ground(the_zone), job(leaf=staggered()))
        assert problems == ()
        kinds = Counter(s.kind.value for s in setting.stones)
        assert kinds["outline"] > 50
        assert kinds["fill"] > 100
        rows = [s for s in setting.stones if s.kind == "outline"]
        fill = [s for s in setting.stones if s.kind == "fill"]
        for f in fill:
            assert min(math.dist(f.at, o.at) for o in rows) >= 3.9 + 0.4 - 1e-6
            assert from_ring(f.at, flatten(rectangle(0, 0, 80, 50), 1)) >= 1.95 + 0.25 - 1e-6
        assert closest_pair([(*f.at, 1.95) for f in fill]) >= 0.5 - 1e-6

    def test_a_zone_without_stoning_has_no_setting_and_no_problem(self):
        assert set_all(ground(zone(rectangle(0, 0, 80, 50))), job(other=staggered())) == ((), ())

    def test_figures_are_what_was_set(self):
        the_zone = zone(rectangle(0, 0, 80, 50))
        keep = KeepClear("clear", "front", Area(circle((40, 25), 10)), 3.0, HERE)
        (setting,), _ = set_all(ground(the_zone, keep_clear=[keep]), job(leaf=staggered()))
        figures = setting.figures
        assert dict(figures.counts) == {"ss16": len(setting.stones)}
        assert figures.area_mm2 == pytest.approx(4000 - math.pi * 64, rel=1e-3)
        covered = len(setting.stones) * math.pi * 1.95**2
        assert figures.coverage == pytest.approx(covered / figures.area_mm2, rel=1e-6)
        by_hand = closest_pair([(*s.at, 1.95) for s in setting.stones])
        assert figures.smallest_gap_mm == pytest.approx(by_hand, abs=1e-9)
        assert all(math.dist(s.at, (40, 25)) >= 8 + 1.95 - 1e-6 for s in setting.stones)

    def test_an_unknown_size_is_named_with_the_nearest_and_its_zone(self):
        stoning = staggered(outline={"size": "s16"})
        _, problems = set_all(ground(zone(rectangle(0, 0, 80, 50))), job(leaf=stoning))
        assert problems[0].code == "unknown-size"
        assert '"leaf"' in problems[0].message
        assert "ss16" in problems[0].mend

    def test_a_zone_too_narrow_for_its_outline_says_how_wide_it_is(self):
        the_zone = zone(rectangle(0, 0, 80, 4))
        _, problems = set_all(ground(the_zone), job(leaf=staggered()))
        assert problems[0].code == "zone-too-narrow"
        assert "4.0 mm" in problems[0].message
        assert problems[0].mend

    def test_shares_of_colours_and_finishes_are_exact(self):
        stoning = staggered(colour={"sea": 80, "mint": 20}, finish={"plain": 60, "ab": 40})
        (setting,), _ = set_all(ground(zone(rectangle(0, 0, 80, 50))), job(leaf=stoning))
        count = len(setting.stones)
        assert abs(Counter(s.colour for s in setting.stones)["mint"] - 0.2 * count) < 1
        assert abs(Counter(s.finish for s in setting.stones)["ab"] - 0.4 * count) < 1

    def test_zones_flow_around_a_drawn_row(self):
        row = Row("spine", "front", polyline([(10, 25), (70, 25)], closed=False), HERE)
        the_ground = ground(zone(rectangle(0, 0, 80, 50)), rows=[row])
        the_job = Job.model_validate(
            {
                "drawing": "x.svg",
                "stoning": {"leaf": staggered()},
                "rows": {"spine": {"stone": "rectangle 7x5", "gap": 0.5}},
            }
        )
        (leaf, spine), problems = set_all(the_ground, the_job)
        assert problems == ()
        assert len(spine.stones) == 8
        for r in spine.stones:
            box = [
                (r.x_mm + sx * 3.5, r.y_mm + sy * 2.5)
                for sx, sy in ((-1, -1), (1, -1), (1, 1), (-1, 1))
            ]
            for s in leaf.stones:
                assert not winds(s.at, tuple(box))
                assert from_ring(s.at, tuple(box)) >= 1.95 + (0.5 + s.gap_mm) / 2 - 1e-6

    def test_one_zone_set_alone_is_set_as_among_others(self):
        one, other = zone(rectangle(0, 0, 60, 40)), zone(rectangle(100, 0, 160, 40), name="other")
        the_job = job(leaf=staggered(), other=staggered())
        (alone,), _ = set_all(ground(one), the_job)
        (among, _), _ = set_all(ground(one, other), the_job)
        assert alone == among


class TestNeighbours:
    def test_stones_of_two_zones_keep_half_the_sum_of_their_gaps_though_edge_is_nought(self):
        near = (EdgeKind.NEIGHBOUR, True)
        left = zone(rectangle(0, 0, 40, 30), name="left", kinds=[FREE, near, FREE, FREE])
        right = zone(rectangle(40, 0, 80, 30), name="right", kinds=[FREE, FREE, FREE, near])
        stoning = {**staggered(), "edge": 0.0}
        settings, _ = set_all(ground(left, right), job(left=stoning, right=stoning))
        one, other = (list(setting.stones) for setting in settings)
        assert min(math.dist(a.at, b.at) for a in one for b in other) - 3.9 >= 0.3 - 1e-6
        assert min(s.x_mm for s in one) == pytest.approx(1.95, abs=3e-4)

    def test_a_zone_a_hair_away_counts_as_a_neighbour(self):
        left = zone(rectangle(0, 0, 40, 30), name="left")
        right = zone(rectangle(40.05, 10, 80, 50), name="right")
        stoning = {**staggered(), "edge": 0.0}
        settings, _ = set_all(ground(left, right), job(left=stoning, right=stoning))
        one, other = (list(setting.stones) for setting in settings)
        assert min(math.dist(a.at, b.at) for a in one for b in other) - 3.9 >= 0.3 - 1e-6
        # Away from it the row goes on along the edge itself.
        assert max(s.x_mm for s in one if s.y_mm < 5) == pytest.approx(40 - 1.95, abs=3e-4)


class TestSides:
    def test_left_mirrors_right_stone_for_stone(self):
        fold = Fold((0.0, -60.0), (0.0, 60.0))
        leaf = polygon([(5, 0), (60, -20), (90, 0), (60, 20)])
        the_ground = ground(zone(leaf), make=Make.PAIR, fold=fold)
        stoning = staggered(finish={"plain": 60, "ab": 40})
        settings, _ = set_all(the_ground, job(leaf=stoning))
        placed = place(settings, the_ground)
        left = {s.id.removesuffix("-left"): s for s in placed if s.side is Side.LEFT}
        right = {s.id.removesuffix("-right"): s for s in placed if s.side is Side.RIGHT}
        assert left.keys() == right.keys()
        for key, stone in left.items():
            twin = right[key]
            assert twin.x_mm == pytest.approx(-stone.x_mm, abs=1e-3)
            assert twin.y_mm == pytest.approx(stone.y_mm, abs=1e-3)
            assert (twin.size, twin.colour, twin.finish, twin.kind) == (
                stone.size,
                stone.colour,
                stone.finish,
                stone.kind,
            )
        assert len({s.id for s in placed}) == len(placed) == 2 * len(settings[0].stones)

    def test_turns_of_shaped_stones_are_mirrored(self):
        fold = Fold((100.0, 0.0), (100.0, 60.0))
        row = Row("spine", "front", polyline([(10, 0), (60, 50)], closed=False), HERE)
        the_ground = ground(make=Make.PAIR, fold=fold, rows=[row])
        the_job = Job.model_validate({"drawing": "x", "rows": {"spine": {"stone": "teardrop 8x5"}}})
        settings, _ = set_all(the_ground, the_job)
        placed = place(settings, the_ground)
        assert {s.turn_deg for s in placed if s.side is Side.LEFT} == {45.0}
        assert {s.turn_deg for s in placed if s.side is Side.RIGHT} == {135.0}

    @pytest.mark.parametrize("tilt_deg", [90.0, 71.3])
    def test_stones_centred_on_a_joined_fold_are_counted_once(self, tilt_deg):
        a = math.radians(tilt_deg)
        c, s = math.cos(a), math.sin(a)
        fold = Fold((0.0, 0.0), (100 * c, 100 * s))
        points = [(10, 0), (70, 0), (60, -30), (30, -35)]
        turned = [(x * c - y * s, x * s + y * c) for x, y in points]
        # The first side lies on the fold; the zone is on its right, so that it runs backwards.
        outline = polygon(turned[::-1])
        kinds = [FREE, FREE, HIDDEN_FOLD, FREE]
        the_ground = ground(zone(outline, kinds=kinds), make=Make.FOLD, fold=fold)
        settings, problems = set_all(the_ground, job(leaf=staggered()))
        assert problems == ()
        placed = place(settings, the_ground)
        sides = Counter(p.side for p in placed)
        assert sides[Side.LEFT] == sides[Side.RIGHT] > 20
        assert sides[Side.CENTRE] + sides[Side.LEFT] == len(settings[0].stones)
        discs = [(p.x_mm, p.y_mm, 1.95) for p in placed]
        assert closest_pair(discs) >= 0.3 - 1e-3
        # No bare stripe: along the fold the discs leave no stretch wider than a stone and two gaps.
        near = sorted(p.x_mm * c + p.y_mm * s for p in placed if abs(p.x_mm * s - p.y_mm * c) < 3.9)
        assert max(b - x for x, b in itertools.pairwise(near)) < 2 * 4.4

    def test_ids_stay_unique_where_a_row_bears_a_zones_name(self):
        row = Row("leaf", "front", polyline([(10, 70), (70, 70)], closed=False), HERE)
        the_ground = ground(zone(rectangle(0, 0, 80, 50)), rows=[row])
        settings, _ = set_all(the_ground, job(leaf=staggered()))
        placed = place(settings, the_ground)
        assert len({p.id for p in placed}) == len(placed)
        assert placed[0].id == "leaf-0001-single"


def test_a_wedge_with_fill_none_has_its_outline_only():
    stoning = {"outline": {"size": "ss16", "gap": 0.3}, "fill": {"style": "none"}}
    (setting,), problems = set_all(ground(zone(wedge(40, 60))), job(leaf=stoning))
    assert problems == ()
    assert {s.kind.value for s in setting.stones} == {"outline"}


def test_a_region_too_small_for_its_stones_is_named_with_its_place():
    whole = zone(rectangle(0, 0, 60, 40))
    speck = zone(rectangle(80, 10, 83, 13))
    both = replace(whole, regions=(*whole.regions, *speck.regions))
    (setting,), problems = set_all(ground(both), job(leaf=staggered()))
    assert setting.stones
    assert [p.code for p in problems] == ["region-without-stones"]
    assert problems[0].at_mm == (81.5, 11.5)


def test_edges_of_outline_and_fill_are_both_said():
    (setting,), _ = set_all(ground(zone(rectangle(0, 0, 80, 50))), job(leaf=staggered()))
    assert (setting.edge_mm, setting.fill_edge_mm, setting.fill_gap_mm) == (0.15, 0.25, 0.5)
    named = job(leaf={**staggered(), "edge": 0.4})
    (setting,), _ = set_all(ground(zone(rectangle(0, 0, 80, 50))), named)
    assert (setting.edge_mm, setting.fill_edge_mm) == (0.4, 0.4)


def test_the_largest_bare_circle_lies_between_the_stones_not_on_what_is_kept_clear():
    keep = KeepClear("clear", "front", Area(circle((40, 25), 20)), 3.0, HERE)
    the_ground = ground(zone(rectangle(0, 0, 80, 50)), keep_clear=[keep])
    (setting,), _ = set_all(the_ground, job(leaf=staggered()))
    bare = setting.figures.largest_bare_mm
    assert bare is not None
    assert bare < 13.0
    # No circle so large, tried on a fine grid, fits anywhere else.
    for i in range(160):
        for j in range(100):
            at = (0.25 + i / 2, 0.25 + j / 2)
            room = min(
                at[0],
                80 - at[0],
                at[1],
                50 - at[1],
                math.dist(at, (40, 25)) - 13.0,
                min(math.dist(at, s.at) for s in setting.stones) - 1.95,
            )
            assert 2 * room <= bare + 0.01


def test_a_run_limit_keeps_alike_stones_apart_and_the_shares_as_they_were():
    shares = {"plain": 1, "ab": 1, "opal": 1, "jet": 1}
    free = job(leaf=staggered(finish=shares))
    limited = job(leaf={**staggered(finish=shares), "run": 3})
    the_ground = ground(zone(rectangle(0, 0, 80, 50)))
    (before,), _ = set_all(the_ground, free)
    (after,), problems = set_all(the_ground, limited)
    assert problems == ()
    assert Counter(s.finish for s in before.stones) == Counter(s.finish for s in after.stones)

    def longest(stones):
        runs, seen = [], set()
        for k in range(len(stones)):
            stack, size = [k], 0
            while stack:
                at = stack.pop()
                if at in seen:
                    continue
                seen.add(at)
                size += 1
                stack += [
                    j
                    for j, other in enumerate(stones)
                    if j not in seen
                    and other.finish == stones[at].finish
                    and math.dist(other.at, stones[at].at) <= 3.9 + 0.5 + 0.1
                ]
            runs.append(size)
        return max(runs)

    assert longest(before.stones) > 3
    assert longest(after.stones) <= 3


def test_a_run_limit_that_the_shares_forbid_is_said():
    the_job = job(leaf={**staggered(finish={"plain": 95, "ab": 5}), "run": 2})
    _, problems = set_all(ground(zone(rectangle(0, 0, 80, 50))), the_job)
    assert [p.code for p in problems] == ["run-too-long"]


def test_colours_shade_along_a_fade_and_keep_their_shares():
    shares = {"sea green": 50, "mint": 30, "crystal": 20}
    fading = {"style": "faded", "sizes": {"ss16": 1}, "gap": 0.3, "direction": 0.0, "shade": True}
    stoning = {"colour": shares, "outline": False, "fill": {**fading, "start": 0.4, "end": 0.3}}
    the_zone = zone(rectangle(0, 0, 200, 60))
    (setting,), _ = set_all(ground(the_zone), job(leaf=stoning))
    stones = setting.stones
    counts = Counter(s.colour for s in stones)
    assert all(abs(counts[name] - len(stones) * share / 100) <= 1 for name, share in shares.items())
    mean = {name: sum(s.x_mm for s in stones if s.colour == name) / counts[name] for name in shares}
    assert mean["sea green"] < 70 < mean["mint"] < 150 < mean["crystal"]
    assert {s.colour for s in stones if s.x_mm < 20} == {"sea green"}
    assert len({s.colour for s in stones if 80 < s.x_mm < 110}) >= 2
    (plain,), _ = set_all(
        ground(the_zone),
        job(leaf={**stoning, "fill": {**fading, "shade": False, "start": 0.4, "end": 0.3}}),
    )
    assert [s.at for s in plain.stones] == [s.at for s in stones]


@pytest.mark.parametrize("make", [Make.FOLD, Make.PAIR])
def test_rows_run_along_a_fold_that_the_zone_does_not_reach(make):
    a = math.radians(80.0)
    fold = Fold((200.0, 0.0), (200.0 + 100.0 * math.cos(a), 100.0 * math.sin(a)))
    fill = {"style": "staggered", "sizes": {"ss16": 1}, "gap": 0.3, "angle": "fold"}
    fill["rim"] = "regular"
    the_zone = zone(rectangle(0, 0, 80, 50))
    (setting,), problems = set_all(
        ground(the_zone, make=make, fold=fold), job(leaf={"outline": False, "fill": fill})
    )
    assert problems == ()
    nearest = [
        math.degrees(math.atan2(t.y_mm - s.y_mm, t.x_mm - s.x_mm)) % 180.0
        for s, t in itertools.combinations(setting.stones, 2)
        if math.dist(s.at, t.at) < 4.3
    ]
    assert len(setting.stones) > 150
    assert {round(turn) % 60 for turn in nearest} == {20}
