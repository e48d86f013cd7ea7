"""Stretch cloth: where stones come to stand, by closed forms."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from stoning_grounds import ground, zone

from templater.geometry.polygons import rectangle
from templater.job import load_job
from templater.job.schema import Job
from templater.model.stones import Figures, Setting, Stone, StoneKind
from templater.stoning import set_all
from templater.stoning.stretching import OPEN_LIMIT, stretch_of, stretched

D = 3.9


def stone(x, y, kind=StoneKind.FILL, gap=0.2):
    return Stone(x, y, 0.0, "ss16", D, D, "crystal", "plain", kind, gap)


def setting(stones):
    return Setting("leaf", "front", tuple(stones), Figures(1.0, 0.0, (), 0.2, None))


def job(across, along):
    return Job.model_validate(
        {"drawing": "x.svg", "pieces": {"front": {"stretch": {"across": across, "along": along}}}}
    )


def plain_ground(grain=None):
    made = ground(zone(rectangle(0, 0, 80, 50)))
    return replace(made, pieces=(replace(made.pieces[0], grain=grain),))


@pytest.mark.parametrize("turn_deg", [0.0, 30.0, 90.0, 215.0])
def test_cloth_grows_along_its_grain_and_across_it(turn_deg):
    a = math.radians(turn_deg)
    u, v = (math.cos(a), math.sin(a)), (-math.sin(a), math.cos(a))
    piece = plain_ground(grain=((3.0, 4.0), (3.0 + 7.0 * u[0], 4.0 + 7.0 * u[1]))).pieces[0]
    move = stretch_of(piece, across=0.2, along=0.5)
    assert move.apply(u) == pytest.approx((1.5 * u[0], 1.5 * u[1]))
    assert move.apply(v) == pytest.approx((1.2 * v[0], 1.2 * v[1]))
    assert move.determinant == pytest.approx(1.5 * 1.2)


def test_without_a_grain_along_is_upright():
    move = stretch_of(plain_ground().pieces[0], across=0.2, along=0.5)
    assert move.apply((1.0, 1.0)) == pytest.approx((1.2, 1.5))


def test_an_upright_row_opens_by_its_pitch_times_the_stretch_along():
    pitch = D + 0.2
    row = [stone(10.0, 5.0 + k * pitch, StoneKind.OUTLINE) for k in range(8)]
    (made,), (problem,) = stretched([setting(row)], plain_ground(), job(0.9, 0.25))
    found = made.figures.stretched_row
    assert found is not None
    assert found.rest_mm == pytest.approx(0.2, abs=1e-4)
    assert found.mean_mm == found.largest_mm == pytest.approx(pitch * 1.25 - D, abs=1e-4)
    assert made.figures.stretched_fill is None
    assert made.stones == setting(row).stones
    assert problem.code == "stretch-opens-little"
    assert "0.20 mm" in problem.message
    assert f"{pitch * 1.25 - D:.2f} mm" in problem.message


def test_a_tight_fill_opens_by_the_larger_stretch_at_most():
    pitch = D + 0.2
    rows = [
        stone(10.0 + (k + 0.5 * (j % 2)) * pitch, 5.0 + j * pitch * math.sqrt(0.75))
        for j in range(6)
        for k in range(6)
    ]
    (made,), _ = stretched([setting(rows)], plain_ground(), job(0.3, 0.1))
    found = made.figures.stretched_fill
    flat = pitch * 1.3 - D
    slant = pitch * math.hypot(0.5 * 1.3, math.sqrt(0.75) * 1.1) - D
    # 5 pairs along each of 6 rows; 11 slanting ones between each two.
    assert found.largest_mm == pytest.approx(flat, abs=1e-4)
    assert found.mean_mm == pytest.approx((30 * flat + 55 * slant) / 85, abs=1e-4)
    assert found.rest_mm == pytest.approx(0.2, abs=1e-4)


@pytest.mark.parametrize(("past_mm", "code"), [(-0.01, "little"), (0.01, "far")])
def test_a_warning_where_cloth_shows_between_stones(past_mm, code):
    pitch = D + 0.2
    across = (D + OPEN_LIMIT * D + past_mm) / pitch - 1.0
    pair = [stone(10.0, 5.0), stone(10.0 + pitch, 5.0)]
    _, (problem,) = stretched([setting(pair)], plain_ground(), job(across, 0.0))
    assert problem.code == f"stretch-opens-{code}"
    assert problem.at_mm == ((10.0 + pitch / 2.0, 5.0) if code == "far" else None)


def test_an_open_setting_has_no_neighbours_to_open():
    spread = [stone(10.0, 5.0), stone(10.0 + 2.0 * D, 5.0)]
    (made,), (problem,) = stretched([setting(spread)], plain_ground(), job(0.5, 0.5))
    assert made.figures.stretched_row is None
    assert made.figures.stretched_fill is None
    assert "no two" in problem.message


def test_cloth_that_does_not_stretch_is_left_alone():
    assert stretched([setting([stone(0, 0), stone(9, 0)])], plain_ground(), job(0.0, 0.0)) == (
        (setting([stone(0, 0), stone(9, 0)]),),
        (),
    )


def test_a_whole_zone_keeps_its_gaps_at_rest_and_tells_how_far_they_open():
    asked = Job.model_validate(
        {
            "drawing": "x.svg",
            "pieces": {"front": {"stretch": {"across": 0.3, "along": 0.3}}},
            "stoning": {
                "leaf": {
                    "outline": {"size": "ss16", "gap": 0.2},
                    "fill": {"style": "staggered", "sizes": {"ss16": 1}, "gap": 0.2},
                }
            },
        }
    )
    the_ground = ground(zone(rectangle(0, 0, 80, 50)))
    set_, _ = set_all(the_ground, asked)
    (made,), _ = stretched(set_, the_ground, asked)
    figures = made.figures
    assert figures.smallest_gap_mm >= 0.2 - 1e-6
    # Alike both ways: every gap g between stones of 3.9 mm becomes 1.3·(3.9 + g) − 3.9.
    for found in (figures.stretched_row, figures.stretched_fill):
        assert found.mean_mm == pytest.approx(1.3 * (D + found.rest_mm) - D, abs=2e-4)
        assert found.largest_mm >= found.mean_mm >= 1.3 * (D + 0.2) - D - 1e-4


def test_a_job_may_ask_for_stretch():
    read, problems = load_job('drawing = "a.svg"\n[pieces.front]\nstretch = { across = 0.2 }', "a")
    assert problems == ()
    assert read.piece_table("Front").stretch.across == 0.2
