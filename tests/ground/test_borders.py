"""Borders that two zones share: rows of their own along the common line."""

import math

import pytest
from drawings import box, codes, disc, ground_of
from hypothesis import given, settings
from hypothesis import strategies as st

from templater.geometry.flatten import flatten
from templater.geometry.measure import path_length
from templater.geometry.polygons import polyline
from templater.job import load_job
from templater.job.borders import with_borders
from templater.model.curves import Area

BOTH = '[stoning.frond]\noutline = { border = "shared" }\n[stoning.tip]\noutline = { border = "shared" }\n'
D, GAP = 3.9, 0.3
SIDE_BY_SIDE = {"zone frond": [box(0, 0, 60, 80)], "zone tip": [box(60, 0, 110, 80)]}


def borders(ground):
    return {
        (zone.name, edge.name): edge.border
        for zone in ground.zones
        for region in zone.regions
        for ring in region.rings
        for edge in ring
        if edge.name
    }


def test_the_line_between_becomes_a_row_that_both_zones_know():
    ground, problems = ground_of(SIDE_BY_SIDE, BOTH)
    assert not problems
    (row,) = ground.rows
    assert (row.name, row.between) == ("border-frond-tip", ("frond", "tip"))
    assert borders(ground) == {("frond", "tip"): row.name, ("tip", "frond"): row.name}
    ends = sorted((row.path.start, row.path.end))
    # Stones lie within a row's ends: half a gap from the outlines, in line with both outline rows.
    for (x, y), wanted in zip(ends, (GAP / 2.0, 80.0 - GAP / 2.0), strict=True):
        assert (x, y) == (pytest.approx(60.0, abs=1e-6), pytest.approx(wanted, abs=0.01))


@pytest.mark.parametrize("only", ["frond", "tip"])
def test_a_border_that_one_alone_asks_for_is_none_and_said(only):
    job = "".join(
        f'[stoning.{name}]\noutline = {{ border = "{"shared" if name == only else "own"}" }}\n'
        for name in ("frond", "tip")
    )
    ground, problems = ground_of(SIDE_BY_SIDE, job)
    assert codes(problems) == ["border-not-shared"]
    assert not ground.rows
    assert not any(borders(ground).values())


def test_zones_that_do_not_meet_or_have_no_stones_share_nothing():
    apart = {"zone frond": [box(0, 0, 60, 80)], "zone tip": [box(70, 0, 110, 80)]}
    assert not ground_of(apart, BOTH)[0].rows
    ground, problems = ground_of(SIDE_BY_SIDE, BOTH.partition("[stoning.tip]")[0])
    assert not ground.rows
    assert codes(problems) == ["border-not-shared"]


def test_a_border_round_an_island_is_a_closed_row():
    ground, _ = ground_of(
        {"zone frond": [box(0, 0, 90, 90)], "zone tip": [disc(45, 45, 24)]},
        f'overlap = "top"\n{BOTH}',
    )
    (row,) = ground.rows
    assert row.path.closed
    assert path_length(row.path) == pytest.approx(24.0 * math.pi, abs=0.01)


@given(st.integers(5, 40), st.floats(9.0, 25.0), st.floats(0.0, 6.3), st.floats(0.0, 0.1))
@settings(deadline=None, max_examples=25, derandomize=True)
def test_a_border_round_any_island_is_one_closed_row(count, radius, turn, rough):
    def at(k):
        far = radius * (1.0 + rough * (k % 3))
        angle = turn + 2.0 * math.pi * k / count
        return 50.0 + far * math.cos(angle), 50.0 + far * math.sin(angle)

    island = Area(polyline([at(k) for k in range(count)], closed=True))
    ground, _ = ground_of(
        {"zone frond": [box(0, 0, 100, 100)], "zone tip": [island]}, f'overlap = "top"\n{BOTH}'
    )
    (row,) = ground.rows
    assert row.path.closed


def test_each_stretch_of_a_border_is_a_row_with_a_name_of_its_own():
    comb = Area(
        polyline(
            [(0, 0), (60, 0), (60, 20), (50, 20), (50, 60), (60, 60), (60, 80), (0, 80)],
            closed=True,
        )
    )
    ground, _ = ground_of({"zone frond": [comb], "zone tip": [box(60, 0, 110, 80)]}, BOTH)
    assert [row.name for row in ground.rows] == ["border-frond-tip", "border-frond-tip-2"]


def test_a_border_gives_way_to_a_drawn_row_of_its_name():
    layers = {
        **SIDE_BY_SIDE,
        "row border frond tip": [polyline([(10, 10), (40, 10)], closed=False)],
    }
    ground, _ = ground_of(layers, BOTH)
    assert [row.name for row in ground.rows] == ["border-frond-tip", "border-frond-tip-2"]
    assert [row.between for row in ground.rows] == [(), ("frond", "tip")]


def test_where_no_stone_fits_between_the_zones_each_keeps_its_own_row():
    low = {"zone frond": [box(0, 0, 60, 3)], "zone tip": [box(60, 0, 110, 3)]}
    ground, _ = ground_of(low, BOTH)
    assert not ground.rows
    assert not any(borders(ground).values())


def test_at_a_slanted_end_the_last_stone_still_clears_the_outline():
    slanted = Area(polyline([(0, 0), (60, 0), (95, 80), (0, 80)], closed=True))
    beside = Area(polyline([(60, 0), (120, 0), (120, 80), (95, 80)], closed=True))
    ground, _ = ground_of({"zone frond": [slanted], "zone tip": [beside]}, BOTH)
    (row,) = ground.rows
    for end, inwards in ((row.path.start, 1.0), (row.path.end, -1.0)):
        other = row.path.end if inwards > 0 else row.path.start
        share = D / 2.0 / math.dist(end, other)
        y = end[1] + share * (other[1] - end[1])
        assert min(y, 80.0 - y) == pytest.approx((D + GAP) / 2.0, abs=0.01)


def test_where_three_borders_meet_they_reach_the_place():
    zones = {
        "zone frond": [box(0, 0, 60, 80)],
        "zone tip": [box(60, 0, 110, 40)],
        "zone berry": [box(60, 40, 110, 80)],
    }
    job = BOTH + '[stoning.berry]\noutline = { border = "shared" }\n'
    ground, _ = ground_of(zones, job)
    names = [row.name for row in ground.rows]
    assert names == ["border-frond-tip", "border-frond-berry", "border-tip-berry"]
    for row in ground.rows:
        away = min(math.dist(at, (60.0, 40.0)) for at in (row.path.start, row.path.end))
        assert away == pytest.approx(D / 2.0, abs=0.01)
        assert any(abs(x - 60.0) < 1e-6 or abs(y - 40.0) < 1e-6 for x, y in flatten(row.path, 0.1))


def test_a_border_is_set_as_the_upper_zones_row_unless_the_job_says_more():
    text = (
        'drawing = "a.svg"\n[stoning.frond]\ncolour = "mint"\noutline = { border = "shared" }\n'
        '[stoning.tip]\ncolour = "navy"\nmethod = "film"\n'
        'outline = { border = "shared", size = "ss12", gap = 0.4 }\n'
        '[rows."Border frond_tip"]\nfinish = "ab"\n'
    )
    job, problems = load_job(text, "a.toml")
    assert job is not None, problems
    ground, _ = ground_of(SIDE_BY_SIDE, text.partition("\n")[2])
    table = with_borders(job, ground.rows).row_table("border-frond-tip")
    assert (table.stone, table.gap, table.method) == ("ss12", 0.4, "film")
    assert (table.colour, table.finish) == ({"navy": 1.0}, {"ab": 1.0})
