"""Every rule about parts laid on cloth: each way of breaking it is found."""

from dataclasses import replace

import pytest
import sound_pack as sp

from templater.checks import check
from templater.model.curves import Transform
from templater.model.ground import Side
from templater.model.plan import ClothLine, ClothSpot

PLAN, FACTS = sp.build()


def line(spots, length=80.0, doubled=0.0, width=200.0):
    return ClothLine(
        "cotton", False, 4, 1.0, width, length, 50.0, laid=True, folded=doubled > 0.0, spots=spots,
        doubled_mm=doubled,
    )  # fmt: skip


def spots():
    """As on the sheet of parts, which is sound."""
    return tuple(ClothSpot(placed.part, placed.transform) for placed in PLAN.placed)


def codes(one):
    plan = replace(PLAN, counts=replace(PLAN.counts, cloths=(one,)))
    return {problem.code for problem in check(plan, FACTS)}


def changed(index, **changes):
    return tuple(spot._replace(**changes) if n == index else spot for n, spot in enumerate(spots()))


def moved(index, after):
    return changed(index, move=spots()[index].move.then(after))


def test_a_lay_as_it_should_be():
    assert codes(line(spots())) == set()


def test_an_estimate_has_no_lay_to_check():
    assert codes(replace(line(()), laid=False)) == set()


@pytest.mark.parametrize(
    ("found", "one"),
    [
        ("part-not-placed", line(spots()[1:])),
        ("part-not-placed", line((*spots()[:1], *spots()))),
        ("part-off-its-cloth", line(spots(), width=150.0)),
        ("part-off-its-cloth", line(spots(), length=30.0)),
        ("parts-overlap", line(moved(0, Transform(e=20.0)))),
        ("cloth-grain-off", line(moved(3, Transform(0.0, 1.0, -1.0, 0.0, 250.0, 0.0)), 300.0, width=300.0)),
        ("cloth-part-face-down", line(moved(3, Transform(a=-1.0, e=330.0)), width=400.0)),
        ("cloth-part-unknown", line(changed(0, part="nobody"))),
        ("cloth-part-unknown", line(moved(0, Transform(a=1.1)))),
    ],
)  # fmt: skip
def test_what_is_wrong_with_a_lay_is_found(found, one):
    assert found in codes(one)


def test_what_is_cut_double_brings_its_twin():
    left = tuple(
        spot._replace(doubled=True)
        for spot, part in zip(spots(), PLAN.parts, strict=True)
        if part.side is Side.LEFT
    )
    wide = line(left, doubled=80.0, width=400.0)
    assert codes(wide) == set()
    assert codes(replace(wide, width_mm=200.0)) == {"part-off-its-cloth"}, (
        "doubled it is half as wide"
    )
    assert "part-not-placed" in codes(line(tuple(s._replace(doubled=False) for s in left)))
    above = tuple(spot._replace(doubled=False) for spot in spots())
    assert "part-off-its-cloth" in codes(line(above, 160.0, doubled=80.0)), (
        "below the line it is double"
    )


def test_a_half_turn_keeps_the_grain():
    turned = moved(3, Transform(-1.0, 0.0, 0.0, -1.0, 330.0, 80.0))
    assert codes(line(turned, width=400.0)) == set()
