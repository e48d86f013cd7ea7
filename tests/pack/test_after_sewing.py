"""Stones beside unsewn seams: left out, or set and listed to be set after sewing."""

import csv
from dataclasses import replace

import pytest

from templater.checks import check
from templater.readback import load_plan, read_pack
from templater.session import make

JOB = """
drawing = "leaf.svg"
[pieces.front]
make = "pair"
[stoning.leaf]
edge = 0.0
outline = false
fill = { style = "square", sizes = { ss16 = 1 }, gap = 0.3, angle = 0 }
[rows.vein]
stone = "navette 6x3"
[clear]
seam = 8.0
"""
LEAF = """<svg xmlns="http://www.w3.org/2000/svg" width="120mm" height="90mm" viewBox="0 0 120 90">
<g data-name="piece front"><rect x="5" y="5" width="100" height="70"/></g>
<g data-name="zone leaf"><rect x="20" y="15" width="60" height="50"/></g>
<g data-name="row vein"><path d="M 30 40 L 55 40" fill="none"/></g>
<g data-name="seam yoke"><path d="M 10 21 L 100 21" fill="none"/></g>
</svg>"""
SEAM_Y = 90.0 - 21.0


def made(folder, more):
    (folder / "leaf.svg").write_text(LEAF, "utf-8")
    (folder / "leaf.toml").write_text(JOB + more, "utf-8")
    make(folder / "leaf.toml")
    return folder / "leaf-pack"


@pytest.fixture(scope="module")
def later(tmp_path_factory):
    return made(tmp_path_factory.mktemp("later"), "after_sewing = true\n")


def rows(pack, name):
    with (pack / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def from_seam(row):
    return abs(float(row["y_mm"]) - SEAM_Y) - float(row["width_mm"]) / 2.0


def test_without_asking_no_stone_lies_there_and_nothing_is_listed(tmp_path):
    pack = made(tmp_path, "")
    assert not (pack / "after-sewing.csv").exists()
    fill = [row for row in rows(pack, "stones.csv") if row["zone"] == "leaf"]
    assert len(fill) > 100
    assert min(from_seam(row) for row in fill) >= 8.0 - 1e-3


def test_where_asked_they_are_set_up_to_the_seam_and_listed(later):
    fill = [row for row in rows(later, "stones.csv") if row["zone"] == "leaf"]
    beside = [row for row in fill if from_seam(row) < 8.0]
    assert len(beside) > 50
    assert -1e-3 <= min(from_seam(row) for row in beside) < 1.0
    assert rows(later, "after-sewing.csv") == beside
    assert {row["side"] for row in beside} == {"left", "right"}
    flagged = [stone.id for stone in load_plan(later).stones if stone.after_sewing]
    assert flagged == [row["id"] for row in beside]


def codes(plan, facts):
    return {problem.code for problem in check(plan, facts)}


def test_the_checks_find_what_is_wrongly_told(later):
    plan, facts = load_plan(later), read_pack(later)
    first, far = facts.after_sewing[0], next(s for s in plan.stones if not s.after_sewing)
    assert "after-sewing-not-planned" in codes(
        plan, replace(facts, after_sewing=facts.after_sewing[1:])
    )
    assert "after-sewing-differs" in codes(
        plan, replace(facts, after_sewing=(first._replace(size="ss12"), *facts.after_sewing[1:]))
    )
    twice = replace(facts, after_sewing=(first, *facts.after_sewing))
    assert "after-sewing-twice" in codes(plan, twice)
    unknown = replace(facts, after_sewing=(*facts.after_sewing, first._replace(id="nobody")))
    assert "after-sewing-unknown" in codes(plan, unknown)
    for name, flag in ((first.id, False), (far.id, True)):
        stones = tuple(s._replace(after_sewing=flag) if s.id == name else s for s in plan.stones)
        listed = tuple(
            row for row in facts.stones if {s.id: s for s in stones}[row.id].after_sewing
        )
        found = codes(replace(plan, stones=stones), replace(facts, after_sewing=listed))
        assert found == {"after-sewing-wrong"}


def test_stones_there_are_refused_unless_the_job_asks(later):
    plan, facts = load_plan(later), read_pack(later)
    kept = tuple(replace(k, reach_mm=8.0, later_mm=0.0) for k in plan.ground.keep_clear)
    strict = replace(plan, ground=replace(plan.ground, keep_clear=kept))
    assert "stone-not-clear" in codes(strict, facts)
