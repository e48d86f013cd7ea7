"""`make` tells once that sheets can be spared, and only where many can."""

from dataclasses import replace

import pytest

from templater.cli.sparing import sheets_to_spare
from templater.model.plan_file import load_plan


@pytest.fixture(scope="module")
def plan(demo_pack):
    return load_plan((demo_pack / "plan.json").read_bytes())


def set_by(plan, *methods, kinds=("stencil", "prick", "punch")):
    """The plan with its passes set by these methods in turn."""
    passes = tuple(
        replace(one, method=methods[number % len(methods)])
        for number, one in enumerate(plan.passes)
    )
    return replace(plan, passes=passes, rules=replace(plan.rules, kinds=kinds))


def with_sheets(plan, kind, count):
    """The plan with so many sheets of a kind."""
    others = tuple(sheet for sheet in plan.sheets if sheet.kind != kind)
    one = next(sheet for sheet in plan.sheets if sheet.kind == kind)
    return replace(plan, sheets=(*others, *([one] * count)))


def test_a_hand_setter_hears_how_many_stencils_could_be_left_out(plan):
    many = with_sheets(set_by(plan, "hand"), "stencil", 190)
    assert sheets_to_spare(many) == (
        'all stones are set by hand: kinds = ["prick", "punch"] under [templates] '
        "would leave out 191 stencil sheets"  # the test strip is one of them
    )


def test_who_sets_none_by_hand_hears_of_prick_sheets(plan):
    many = with_sheets(set_by(plan, "film", "tape"), "prick", 24)
    assert sheets_to_spare(many) == (
        'no stone is set by hand: kinds = ["stencil", "punch"] under [templates] '
        "would leave out 24 prick sheets"
    )


def test_nothing_is_told_where_both_are_needed_few_are_saved_or_nothing_would_be_left(plan):
    assert sheets_to_spare(with_sheets(set_by(plan, "hand", "film"), "stencil", 200)) is None
    assert sheets_to_spare(with_sheets(set_by(plan, "tape"), "prick", 10)) is None
    alone = set_by(plan, "hand", kinds=("stencil",))
    assert sheets_to_spare(with_sheets(alone, "stencil", 200)) is None
    assert sheets_to_spare(replace(plan, passes=())) is None
