"""The rules for machine files: each hole in each of them, and no words or bars asked of them."""

from __future__ import annotations

from dataclasses import replace

import pytest
import sound_pack as sp

from templater.checks import check
from templater.model.facts import CircleFact
from templater.model.formats import ENDINGS

PLAN, PLAIN = sp.build()
UNIT = 0.025
MACHINES = ("dxf-r12", "hpgl", "drill", "gcode", "xy")


def with_machines(units=40.0):
    """The sound pack asked for, and written in, every format: a plotter's in whole units."""
    rules = replace(PLAN.rules, formats=tuple(ENDINGS), hpgl_units_per_mm=units)
    sheets = list(PLAIN.sheets)
    for sheet in PLAIN.sheets:
        if not sheet.file.endswith(".svg"):
            continue
        name = sheet.file.removesuffix(".svg")
        sheets.append(replace(sheet, file=f"{name}-r12.dxf"))
        paths = tuple(p for p in sheet.paths if p.layer != "bars")
        bare = replace(sheet, paths=paths, texts=(), bare=True, size_mm=(0.0, 0.0))
        holes = tuple(c._replace(layer="cut") for c in sheet.circles if c.layer == "holes")
        sheets.append(replace(bare, file=f"{name}.gcode", circles=holes))
        if holes:
            drill = tuple(c._replace(layer="drill") for c in holes)
            sheets.append(replace(bare, file=f"{name}.drl", circles=drill, paths=()))
            table = tuple(c for c in sheet.circles if c.layer in {"holes", "register"})
            sheets.append(replace(bare, file=f"{name}-xy.csv", circles=table, paths=()))
        sheets.append(
            replace(
                bare,
                file=f"{name}.hpgl",
                circles=tuple(_in_units(c, units / 40.0) for c in sheet.circles),
                paths=tuple(
                    p._replace(
                        points=tuple(
                            (_units(x * units / 40), _units(y * units / 40)) for x, y in p.points
                        )
                    )
                    for p in paths
                ),
                step_mm=UNIT,
            )
        )
    names = {*PLAIN.files, *(sheet.file for sheet in sheets)}
    facts = replace(PLAIN, sheets=tuple(sheets), files=tuple(sorted(names)))
    return replace(PLAN, rules=rules), facts


def _units(mm):
    return round(mm / UNIT) * UNIT


def _in_units(circle, scale):
    x, y, d, layer = circle
    wide = 2.0 * _units(d * scale / 2.0)
    return CircleFact(
        _units(x * scale), _units(y * scale), wide, {"holes": "pen 1"}.get(layer, "pen 3")
    )


def codes(plan, facts):
    return {problem.code for problem in check(plan, facts)}


def changed(facts, ending, change):
    """The facts with the first stencil of round holes changed in one format."""
    at = next(
        i
        for i, s in enumerate(facts.sheets)
        if s.file.endswith(ending) and "leaf-left-stencil-1" in s.file
    )
    return replace(facts, sheets=sp.swap(facts.sheets, at, **change(facts.sheets[at])))


def moved_hole(by):
    def change(sheet):
        hole = next(
            i for i, c in enumerate(sheet.circles) if c.layer in {"holes", "cut", "drill", "pen 1"}
        )
        circles = list(sheet.circles)
        circles[hole] = circles[hole]._replace(x_mm=circles[hole].x_mm + by)
        return {"circles": tuple(circles)}

    return change


@pytest.mark.parametrize("units", [40.0, 40.2, 100.0])
def test_a_pack_in_every_format_is_sound(units) -> None:
    assert codes(*with_machines(units)) == set()


def test_a_plotters_file_in_other_units_than_the_jobs_is_found() -> None:
    plan, _ = with_machines(40.0)
    _, facts = with_machines(40.2)
    assert "hole-not-drawn" in codes(plan, facts)


@pytest.mark.parametrize("name", MACHINES)
def test_a_hole_elsewhere_is_found_in_each(name) -> None:
    plan, facts = with_machines()
    assert "hole-not-drawn" in codes(plan, changed(facts, ENDINGS[name], moved_hole(0.06)))


@pytest.mark.parametrize("name", MACHINES)
def test_a_hole_too_many_is_found_in_each(name) -> None:
    plan, facts = with_machines()

    def doubled(sheet):
        layers = {"holes", "cut", "drill", "pen 1"}
        hole = next(c for c in sheet.circles if c.layer in layers)
        return {"circles": (*sheet.circles, hole)}

    assert codes(plan, changed(facts, ENDINGS[name], doubled)) == {"hole-never-listed"}


@pytest.mark.parametrize("name", MACHINES)
@pytest.mark.parametrize("what", ["stencils/leaf-left-stencil-1", "appliques/front-1"])
def test_a_file_asked_for_and_missing_is_found(name, what) -> None:
    plan, facts = with_machines()
    gone = what + ENDINGS[name]
    files = tuple(f for f in facts.files if f != gone)
    sheets = tuple(s for s in facts.sheets if s.file != gone)
    nothing_to_drill = name in {"drill", "xy"} and what.startswith("appliques")
    wanted = set() if nothing_to_drill else {"sheet-missing"}
    assert codes(plan, replace(facts, files=files, sheets=sheets)) == wanted


def test_a_plotter_draws_register_marks_and_a_control_does_not() -> None:
    plan, facts = with_machines()

    def bare(sheet):
        return {"circles": tuple(c for c in sheet.circles if c.layer != "pen 3")}

    assert codes(plan, changed(facts, ".hpgl", bare)) == {"register-not-drawn"}


@pytest.mark.parametrize("ending", [".hpgl", ".gcode"])
def test_a_cut_line_elsewhere_is_found(ending) -> None:
    plan, facts = with_machines()
    at = next(i for i, s in enumerate(facts.sheets) if s.file == f"appliques/front-1{ending}")
    paths = tuple(
        p._replace(points=tuple((x + 0.1, y) for x, y in p.points)) for p in facts.sheets[at].paths
    )
    broken = replace(facts, sheets=sp.swap(facts.sheets, at, paths=paths))
    assert codes(plan, broken) == {"cut-line-not-drawn"}
