"""Each rule of closed darts broken once: the check that stands for it must find it."""

from dataclasses import replace

import pytest

from templater.checks import check_stones
from templater.checks.darts import closed_parts_are_whole, stones_keep_apart_over_darts
from templater.checks.made import lay_back
from templater.checks.marks import match_marks_meet
from templater.job import load_job
from templater.model.curves import shift
from templater.model.facts import PackFacts, StoneRow
from templater.model.parts import MarkKind
from templater.pipeline import make_plan
from templater.session import Session

SVG = b"""<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="200mm" viewBox="0 0 200 200">
<g id="piece front"><path d="M0 0H200V200H0Z"/></g>
<g id="dart bust"><path d="M90 200L100 100L110 200"/></g>
<g id="zone band"><path d="M60 140C80 132 120 132 140 140V170C120 164 80 164 60 170Z"/></g>
<g id="zone hem"><path d="M60 170C80 164 120 164 140 170V195H60Z"/></g>
</svg>"""
JOB = """drawing = "dart.svg"
[pieces.front]
make = "single"
[zones.band]
web = false
[zones.hem]
web = false
[stoning.band]
fill = { style = "staggered" }
"""


@pytest.fixture(scope="module")
def plan():
    job, problems = load_job(JOB, "dart.toml")
    assert job is not None, problems
    return make_plan(Session(), SVG, "dart.svg", job, "hash")


def codes(rule, plan):
    rows = tuple(
        StoneRow(
            s.zone, s.side, s.x_mm, s.y_mm, s.turn_deg, s.size, s.length_mm, s.width_mm, s.colour,
            s.finish, s.piece, s.kind, s.id,
        )
        for s in plan.stones
    )  # fmt: skip
    facts = PackFacts(stones=rows, holes=(), shopping=(), sheets=(), files=())
    return {problem.code for problem in rule(lay_back(plan, facts))}


def with_band(plan, **changes):
    band = band_of(plan)
    parts = tuple(replace(part, **changes) if part is band else part for part in plan.parts)
    return replace(plan, parts=parts)


def band_of(plan):
    (band,) = [part for part in plan.parts if part.halves and part.zone == "band"]
    return band


def with_stone_at(plan, x, y):
    first, *rest = plan.stones
    return replace(plan, stones=(first._replace(x_mm=x, y_mm=y), *rest))


def test_a_sound_plan_breaks_no_rule(plan):
    for rule in (closed_parts_are_whole, stones_keep_apart_over_darts, match_marks_meet):
        assert codes(rule, plan) == set()
    assert check_stones(plan) == ()


def test_a_half_that_is_not_turned_onto_its_leg_is_found(plan):
    first, second = band_of(plan).halves
    moved = replace(second, to_part=second.to_part.then(shift(0.5, 0.0)))
    assert codes(closed_parts_are_whole, with_band(plan, halves=(first, moved))) & {
        "dart-not-closed",
        "dart-halves-differ",
    }


def test_a_first_half_that_was_moved_is_found(plan):
    first, second = band_of(plan).halves
    moved = replace(first, to_part=shift(0.5, 0.0))
    assert "dart-not-closed" in codes(
        closed_parts_are_whole, with_band(plan, halves=(moved, second))
    )


def test_a_finished_line_that_is_not_both_halves_is_found(plan):
    from templater.geometry.polygons import rectangle
    from templater.model.curves import Area

    wrong = with_band(plan, finished=Area(rectangle(60, 30, 140, 60)))
    assert "dart-halves-differ" in codes(closed_parts_are_whole, wrong)


def test_halves_that_are_not_there_are_found(plan):
    first, second = band_of(plan).halves
    lost = with_band(plan, halves=(first, replace(second, region=7)))
    assert "dart-halves-unknown" in codes(closed_parts_are_whole, lost)


def test_a_stone_in_the_wedge_is_found(plan):
    # The wedge runs from its tip at (100, 100) down to x 90 to 110 at the lower edge.
    assert "stone-in-dart" in codes(stones_keep_apart_over_darts, with_stone_at(plan, 100.0, 48.0))


def test_stones_that_meet_when_the_dart_is_closed_are_found(plan):
    left = min(
        (s for s in plan.stones if s.x_mm < 97), key=lambda s: (100 - s.x_mm) - (100 - s.y_mm) / 10
    )
    # Mirrored about the dart's middle line, a little nearer to it: on the other leg, too near.
    near = with_stone_at(plan, round(200 - left.x_mm - 0.15, 4), left.y_mm)
    assert "stones-too-near-over-dart" in codes(stones_keep_apart_over_darts, near)


def test_a_mark_that_did_not_turn_with_its_half_is_found(plan):
    marks = band_of(plan).marks
    moved = [mark for mark in marks if mark.kind is MarkKind.MATCH and mark.drawn_at is not None]
    assert moved
    wrong = replace(moved[0], at=(moved[0].at[0] + 0.5, moved[0].at[1]))
    changed = with_band(plan, marks=tuple(wrong if mark is moved[0] else mark for mark in marks))
    assert "match-mark-moved" in codes(match_marks_meet, changed)
