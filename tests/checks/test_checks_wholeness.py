"""A plan that does not hang together is told so, and nothing else is asked of it."""

from __future__ import annotations

from dataclasses import replace

import pytest
import sound_pack as sp

from templater.checks import check
from templater.model.curves import Path, Transform
from templater.model.ground import Surface

PLAN, FACTS = sp.build()
FLAT = Transform(0.0, 0.0, 0.0, 1.0, 0.0, 0.0)


def ground(**changes):
    return replace(PLAN, ground=replace(PLAN.ground, **changes))


def with_flat_side():
    surface = PLAN.ground.surfaces[0]
    return ground(surfaces=(replace(surface, sides=sp.swap(surface.sides, 1, transform=FLAT)),))


@pytest.mark.parametrize(
    ("plan", "code"),
    [
        (ground(pieces=()), "plan-piece-unknown"),
        (ground(surfaces=()), "plan-piece-unknown"),
        (ground(surfaces=(*PLAN.ground.surfaces, Surface("x", (), False))), "plan-piece-unknown"),
        (replace(PLAN, settings=sp.swap(PLAN.settings, 0, piece="back")), "plan-piece-unknown"),
        (replace(PLAN, parts=sp.swap(PLAN.parts, 0, piece="back")), "plan-piece-unknown"),
        (replace(PLAN, passes=sp.swap(PLAN.passes, 0, piece="back")), "plan-piece-unknown"),
        (ground(zones=PLAN.ground.zones * 2), "plan-name-twice"),
        (replace(PLAN, sizes=PLAN.sizes * 2), "plan-name-twice"),
        (replace(PLAN, settings=PLAN.settings * 2), "plan-name-twice"),
        (replace(PLAN, parts=PLAN.parts * 2), "plan-name-twice"),
        (replace(PLAN, passes=PLAN.passes * 2), "plan-name-twice"),
        (replace(PLAN, sheets=PLAN.sheets * 2), "plan-name-twice"),
        (with_flat_side(), "plan-stretched"),
        (replace(PLAN, parts=sp.swap(PLAN.parts, 0, to_side=FLAT)), "plan-stretched"),
        (replace(PLAN, passes=sp.swap(PLAN.passes, 0, to_sheet=FLAT)), "plan-stretched"),
        (replace(PLAN, placed=sp.swap(PLAN.placed, 0, transform=FLAT)), "plan-stretched"),
        (
            replace(PLAN, parts=sp.swap(PLAN.parts, 0, cut=sp.Area(Path((), closed=True)))),
            "plan-shape-empty",
        ),
    ],
)
def test_a_plan_that_does_not_hang_together(plan, code) -> None:
    assert {p.code for p in check(plan, FACTS)} == {code}


def test_an_empty_plan_has_nothing_wrong_with_it() -> None:
    plan, facts = sp.build((), sp.ground(zones=(), rows=(), keep_clear=(), lows=()))
    assert check(replace(plan, sheets=(), parts=(), placed=()), facts) == ()
