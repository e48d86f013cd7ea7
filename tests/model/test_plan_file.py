"""plan.json gives back the very plan it was made from, or says why it cannot."""

from __future__ import annotations

import json
from enum import StrEnum
from functools import cache
from types import UnionType
from typing import Union, get_args, get_origin, get_type_hints

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from templater.model.curves import Arc, Cubic, Line, Path
from templater.model.ground import Ground, KeepClear
from templater.model.plan import PLAN_VERSION, Counts, Plan, Rules
from templater.model.plan_file import dump_plan, load_plan
from templater.model.problems import Refused, Source
from templater.model.sheets import Sheet, SheetLayer

NUMBERS = st.floats(allow_nan=False, allow_infinity=False)
LEAVES = {
    float: NUMBERS,
    int: st.integers(),
    str: st.text(max_size=4),
    bool: st.booleans(),
    type(None): st.none(),
}


@cache
def some(kind: object) -> st.SearchStrategy:
    """Values of a type of the model; tuples of any length stay short, so that a plan stays small."""
    if kind in LEAVES:
        return LEAVES[kind]
    origin, inner = get_origin(kind), get_args(kind)
    if origin in (Union, UnionType):
        return st.one_of([some(each) for each in inner])
    if origin is tuple and inner[-1] is Ellipsis:
        return st.lists(some(inner[0]), max_size=2).map(tuple)
    if origin is tuple:
        return st.tuples(*map(some, inner))
    if issubclass(kind, StrEnum):
        return st.sampled_from(kind)
    fields = get_type_hints(kind)
    if kind is Sheet:
        fields["layers"] = tuple[()]
    if kind is Plan:
        fields["version"] = PlanVersion
    return st.builds(kind, **{name: some(field) for name, field in fields.items()})


class PlanVersion(int):
    """Stands for the one version that is read back."""


LEAVES[PlanVersion] = st.just(PLAN_VERSION)
LEAVES[tuple[()]] = st.just(())


@settings(
    deadline=None,
    max_examples=60,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)
@given(some(Plan))
def test_a_plan_comes_back_equal_and_dumps_to_the_same_bytes(plan: Plan) -> None:
    data = dump_plan(plan)
    again = load_plan(data)
    assert again == plan
    assert dump_plan(again) == data


def plan_with(path: Path) -> Plan:
    rules = Rules(0.02, 1.0, 0.3, 0.2, 0.0, ("svg",), "mm")
    sheet = Sheet("a/b", "été", (1.0, 2.0), "stencil", (), (), 1, 1, (SheetLayer("cut", ()),))
    ground = Ground(
        (1.0, 2.0), (), (), (), (), (KeepClear("clear", "p", path, 3.0, Source("f")),), (), ()
    )
    return Plan(
        PLAN_VERSION, "h", "n", 1, rules, (), ground, (), (), (), (), (), (sheet,),
        Counts((), (), 0.0, 0.0, None, "EUR"), (),
    )  # fmt: skip


def test_each_kind_of_segment_comes_back_as_itself() -> None:
    path = Path(
        (
            Line((0.0, 0.0), (1.0, 0.0)),
            Arc((1.0, 0.0), (2.0, 0.0), 1.0),
            Cubic((2.0, 0.0), (2.0, 1.0), (1.0, 1.0), (0.0, 0.1)),
        ),
        closed=False,
    )
    again = load_plan(dump_plan(plan_with(path)))
    shape = again.ground.keep_clear[0].shape
    assert shape == path
    assert [type(segment) for segment in shape.segments] == [Line, Arc, Cubic]


def test_the_drawing_of_a_sheet_is_left_out_and_letters_stay_readable() -> None:
    data = dump_plan(plan_with(Path((Line((0.0, 0.0), (0.1, 1e-7)),), closed=False)))
    assert load_plan(data).sheets[0].layers == ()
    assert "été".encode() in data
    assert b"0.1,1e-07" in data
    assert data.endswith(b"}\n")
    json.loads(data)


def test_another_version_is_refused_with_what_to_do() -> None:
    data = dump_plan(plan_with(Path((Line((0.0, 0.0), (1.0, 1.0)),), closed=False)))
    with pytest.raises(Refused) as caught:
        load_plan(data.replace(b'"version": 1', b'"version": 99'))
    problem = caught.value.problems[0]
    assert problem.code == "plan-version"
    assert "99" in problem.message
    assert "make the pack again" in problem.mend


@pytest.mark.parametrize(
    "data", [b"", b"{", b"[]", b'{"version": true}', b'{"version": 1}', b"\xff\xfe", b"[" * 100_000]
)
def test_what_is_no_plan_is_refused(data: bytes) -> None:
    with pytest.raises(Refused) as caught:
        load_plan(data, "pack/plan.json")
    assert caught.value.problems[0].code == "plan-unreadable"
    assert "pack/plan.json" in caught.value.problems[0].message


def test_a_number_that_is_not_finite_is_never_written() -> None:
    with pytest.raises(ValueError, match=r"[Oo]ut of range|JSON"):
        dump_plan(plan_with(Path((Line((0.0, 0.0), (float("nan"), 1.0)),), closed=False)))
