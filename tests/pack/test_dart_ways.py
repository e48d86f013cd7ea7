"""Darts in every way a zone may meet them, made as the command makes them: the pack's own checks hold."""

import pytest

from templater.checks import check_stones
from templater.checks.darts import closed_parts_are_whole
from templater.checks.made import lay_back
from templater.checks.marks import match_marks_meet, register_marks_tell_turned_sheets
from templater.job import load_job
from templater.model.facts import PackFacts
from templater.model.ground import Side
from templater.model.parts import MarkKind, PartKind
from templater.pipeline import make_plan
from templater.session import Session

HEAD = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="300mm" viewBox="0 0 300 300">'
    '<g id="piece front"><path d="M10 10H290V290H10Z"/></g>'
)
DART = "M140 290L150 190L160 290"
"""Its tip 190 mm down the page, its mouth on the lower edge."""
DIAMOND = "M150 100L158 150L150 200L142 150Z"
FOLD = '<g id="fold"><path d="M290 0V300" fill="none" stroke="black"/></g>'
BAND = "M60 220H240V270H60Z"

WAYS = {
    # what is drawn: (darts, zones, make, parts on one side, darts closed, marks across darts)
    "two legs": ((DART,), (BAND,), "pair", 1, 1, 0),
    "a triangle": ((DART + "Z",), (BAND,), "pair", 1, 1, 0),
    "legs of unequal length": (("M140 290L150 190L160.3 293",), (BAND,), "pair", 1, 1, 0),
    "the tip within the zone": ((DART,), ("M60 150H240V270H60Z",), "pair", 2, 0, 2),
    "the tip at its edge": ((DART,), ("M60 190H240V270H60Z",), "pair", 1, 1, 0),
    "the zone beyond the tip": ((DART,), ("M60 100H240V180H60Z",), "pair", 1, 0, 0),
    "on the fold": ((DART,), ("M60 220H290V270H60Z",), "fold", 1, 1, 0),
    "two darts": (("M90 290L100 190L110 290", "M190 290L200 190L210 290"), (BAND,), "pair", 1, 2, 0),
    "two zones that share an edge across it": (
        (DART,),
        ("M60 210H240V240H60Z", "M60 240H240V270H60Z"),
        "pair", 2, 2, 0,
    ),
    "two zones that meet across it": (
        (DART,),
        ("M60 220H150V270H60Z", "M150 220H240V270H150Z"),
        "single", 2, 0, 1,
    ),
    "a border that ends at a leg": (
        (DART,),
        ("M60 220H240V245H150V270H60Z", "M150 245H240V270H150Z"),
        "single", 2, 1, 1,
    ),
    "a tip at both ends": ((DIAMOND,), ("M60 130H240V170H60Z",), "single", 2, 0, 2),
    "all round two tips": ((DIAMOND,), ("M60 80H240V220H60Z",), "single", 2, 0, 4),
    "beside one of two tips": ((DIAMOND,), ("M60 110H240V140H60Z",), "single", 1, 1, 0),
}  # fmt: skip


def planned(darts, zones, make):
    layers = [f'<g id="dart d{k}"><path d="{d}"/></g>' for k, d in enumerate(darts)]
    layers += [f'<g id="zone z{k}"><path d="{d}"/></g>' for k, d in enumerate(zones)]
    layers += [FOLD] if make == "fold" else []
    text = f'drawing = "d.svg"\n[pieces.front]\nmake = "{make}"\n[templates]\nformats = ["svg"]\n'
    text += "".join(
        f"[zones.z{k}]\nallowance = {5 * k}\nweb = {str(k == 0).lower()}\n"
        f'[stoning.z{k}]\noutline = {{ size = "ss16", gap = 0.3 }}\n'
        'fill = { style = "staggered", sizes = { ss20 = 1 }, gap = 2.0 }\n'
        for k in range(len(zones))
    )
    job, problems = load_job(text, "d.toml")
    assert job is not None, problems
    return make_plan(Session(), (HEAD + "".join(layers) + "</svg>").encode(), "d.svg", job, "hash")


@pytest.mark.parametrize("way", WAYS)
def test_the_checks_hold_and_parts_and_marks_are_those_to_expect(way):
    darts, zones, make, count, closed, across = WAYS[way]
    plan = planned(darts, zones, make)
    assert check_stones(plan) == ()
    made = lay_back(plan, PackFacts(stones=(), holes=(), shopping=(), sheets=(), files=()))
    for rule in (closed_parts_are_whole, match_marks_meet, register_marks_tell_turned_sheets):
        assert rule(made) == ()
    parts = [
        part
        for part in plan.parts
        if part.kind is PartKind.APPLIQUE and part.side in {Side.LEFT, Side.CENTRE, Side.SINGLE}
    ]
    assert len(parts) == count
    assert sum(max(len(part.halves) - 1, 0) for part in parts) == closed
    marks = [m for part in parts for m in part.marks if m.kind is MarkKind.MATCH and m.dart]
    assert len(marks) == 2 * across
    assert len({mark.number for mark in marks}) == across
    told = {problem.code for problem in plan.problems}
    assert ("edges-differ-in-length" in told) is (way == "legs of unequal length")
    assert "dart-halves-miss" not in told
