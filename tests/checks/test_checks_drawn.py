"""Every rule about what is drawn in the files: each way of breaking it is found."""

from __future__ import annotations

from dataclasses import replace

import pytest
import sound_pack as sp

from templater.checks import check
from templater.model.facts import CircleFact, PathFact, TextFact

PLAN, FACTS = sp.build()


def codes(plan=PLAN, facts=None) -> set[str]:
    """What is found; without facts, the files were written from this very plan."""
    found = check(plan, sp.write(plan) if facts is None else facts)
    assert all(p.message and p.mend for p in found)
    return {p.code for p in found}


def sheet_where(ending, part="leaf-left-stencil-1") -> int:
    return next(i for i, s in enumerate(FACTS.sheets) if part in s.file and s.file.endswith(ending))


def with_sheet(index, **changes):
    return replace(FACTS, sheets=sp.swap(FACTS.sheets, index, **changes))


@pytest.mark.parametrize("ending", [".svg", ".dxf", ".pdf"])
def test_a_pass_that_was_not_written(ending) -> None:
    gone = "stencils/leaf-left-stencil-1" + ending
    files = tuple(f for f in FACTS.files if f != gone)
    sheets = tuple(s for s in FACTS.sheets if s.file != gone)
    assert codes(facts=replace(FACTS, files=files, sheets=sheets)) == {"sheet-missing"}


def test_formats_nobody_asked_for_need_not_be_there() -> None:
    plan = replace(PLAN, rules=replace(PLAN.rules, formats=("svg",)))
    files = tuple(f for f in FACTS.files if not f.endswith((".dxf", ".pdf")))
    sheets = tuple(s for s in FACTS.sheets if s.file.endswith(".svg"))
    assert codes(plan, replace(FACTS, files=files, sheets=sheets)) == set()


def test_a_sheet_without_any_file() -> None:
    files = tuple(f for f in FACTS.files if "appliques" not in f)
    sheets = tuple(s for s in FACTS.sheets if "appliques" not in s.file)
    assert codes(facts=replace(FACTS, files=files, sheets=sheets)) == {"sheet-missing"}


@pytest.mark.parametrize("ending", [".svg", ".dxf", ".pdf"])
@pytest.mark.parametrize(
    ("change", "found"),
    [
        ({"x": 0.009}, False),
        ({"x": 0.02}, True),
        ({"d": 0.009}, False),
        ({"d": 0.02}, True),
        ({"gone": True}, True),
    ],
)
def test_a_hole_not_drawn_as_listed(ending, change, found) -> None:
    at = sheet_where(ending)
    circles = list(FACTS.sheets[at].circles)
    hole = next(i for i, c in enumerate(circles) if c.layer == "holes")
    c = circles[hole]
    circles[hole] = c._replace(
        x_mm=c.x_mm + change.get("x", 0.0), diameter_mm=c.diameter_mm + change.get("d", 0.0)
    )
    if change.get("gone"):
        del circles[hole]
    assert ("hole-not-drawn" in codes(facts=with_sheet(at, circles=tuple(circles)))) is found


def test_a_hole_drawn_twice_or_besides() -> None:
    at = sheet_where(".dxf")
    circles = FACTS.sheets[at].circles
    hole = next(c for c in circles if c.layer == "holes")
    assert codes(facts=with_sheet(at, circles=(*circles, hole))) == {"hole-never-listed"}
    other = CircleFact(1.0, 1.0, 4.0, "register")
    assert codes(facts=with_sheet(at, circles=(*circles, other))) == set()


def test_a_shaped_hole_not_drawn_as_listed() -> None:
    at = sheet_where(".svg", "spine-left-stencil")
    paths = FACTS.sheets[at].paths
    assert codes(facts=with_sheet(at, paths=paths[1:])) == {"hole-not-drawn"}
    stretched = tuple((x * 1.01, y) for x, y in paths[0].points)
    wrong = (PathFact(stretched, closed=True, layer="holes"), *paths[1:])
    assert "hole-not-drawn" in codes(facts=with_sheet(at, paths=wrong))
    whole = tuple((x, y) for x, y in paths[0].points[::-1])
    assert (
        codes(facts=with_sheet(at, paths=(PathFact(whole, closed=True, layer=""), *paths[1:])))
        == set()
    )


def tiles(missing=()):
    """The pass's PDF as two printed pages that overlap, in place of one whole page."""
    each = PLAN.passes[0]
    sheet = next(s for s in PLAN.sheets if s.name == each.template)
    name = "print/" + each.template.split("/")[1]
    pages = []
    for page, (low, high) in enumerate(((0.0, 30.0), (25.0, 99.0)), start=1):
        holes = [h for h in each.holes if low <= h.x_mm <= high and h.order not in missing]
        shown = replace(sheet, name=name, register=())
        move = (8.0 - low, 8.0)
        pages.append(sp.drawn(shown, holes, ".pdf", page=page, move=move, size=(210.0, 297.0)))
    sheets = tuple(s for s in FACTS.sheets if s.file != each.template + ".pdf")
    files = tuple(f for f in FACTS.files if f != each.template + ".pdf")
    return replace(FACTS, sheets=(*sheets, *pages), files=(*files, name + ".pdf"))


def test_holes_on_tiles_are_found_wherever_the_tiles_begin() -> None:
    assert codes(facts=tiles()) == set()
    found = check(PLAN, tiles(missing={7}))
    assert [p.code for p in found] == ["hole-not-drawn"]
    assert "hole 7" in found[0].message


def test_a_register_mark_not_drawn() -> None:
    at = sheet_where(".svg")
    circles = tuple(c for c in FACTS.sheets[at].circles if c.layer != "register")
    assert codes(facts=with_sheet(at, circles=circles)) == {"register-not-drawn"}


# --- true size


@pytest.mark.parametrize("ending", [".svg", ".dxf", ".pdf"])
def test_a_file_drawn_too_large(ending) -> None:
    at = sheet_where(ending, "appliques")
    sheet = FACTS.sheets[at]
    scaled = tuple(
        p._replace(points=tuple((x * 1.001, y * 1.001) for x, y in p.points)) for p in sheet.paths
    )
    found = codes(facts=with_sheet(at, paths=scaled))
    assert found == {"bar-not-drawn", "cut-line-not-drawn"}


def test_a_bar_that_lies_about_its_length() -> None:
    wrong = sp.bar()._replace(length_mm=40.1)
    assert codes(replace(PLAN, sheets=sp.swap(PLAN.sheets, 0, bars=(wrong,)))) == {"bar-wrong"}


def test_a_bar_missing_from_the_tiles() -> None:
    facts = tiles()
    sheets = tuple(replace(s, paths=()) if s.file.startswith("print/") else s for s in facts.sheets)
    assert codes(facts=replace(facts, sheets=sheets)) == {"bar-not-drawn"}


def test_a_page_of_another_size_and_a_pdf_that_may_be_scaled() -> None:
    at = sheet_where(".pdf")
    w, h = FACTS.sheets[at].size_mm
    assert codes(facts=with_sheet(at, size_mm=(w + 0.1, h))) == {"page-size-wrong"}
    assert codes(facts=with_sheet(at, scaling_off=False)) == {"print-scaling-on"}


def together(*, lost=()):
    """All stencils in one PDF of tiles, each page saying which sheet it is a part of."""
    pages = []
    for each in PLAN.passes[:2]:
        sheet = next(s for s in PLAN.sheets if s.name == each.template)
        for low, high in ((0.0, 30.0), (25.0, 99.0)):
            holes = [
                h
                for h in each.holes
                if low <= h.x_mm <= high and (each.template, h.order) not in lost
            ]
            page = sp.drawn(
                replace(sheet, name="print/stencils", register=()), holes, ".pdf",
                page=len(pages) + 1, move=(8.0 - low, 8.0), size=(210.0, 297.0),
            )  # fmt: skip
            said = f"{sheet.title[:20]}…, sheet {sheet.number} of {sheet.of}"
            pages.append(replace(page, texts=(TextFact(said, (9.0, 9.0), 3.0, "", False),)))
    return replace(
        FACTS, sheets=(*FACTS.sheets, *pages), files=(*FACTS.files, "print/stencils.pdf")
    )


def numbered():
    """Two passes whose sheets are told apart by their numbers."""
    sheets = tuple(
        replace(s, number=n, of=len(PLAN.sheets)) for n, s in enumerate(PLAN.sheets, start=1)
    )
    return replace(PLAN, sheets=sheets)


def test_tiles_of_many_sheets_in_one_file_are_told_apart_by_their_titles(monkeypatch) -> None:
    plan = numbered()
    monkeypatch.setitem(globals(), "PLAN", plan)
    assert codes(plan, together()) == set()
    lost = {(plan.passes[1].template, 3)}
    found = check(plan, together(lost=lost))
    assert [p.code for p in found] == ["hole-not-drawn"]
    assert "hole 3" in found[0].message
    assert plan.passes[1].template in found[0].message


def test_tiles_made_larger_for_a_printer_that_prints_too_small() -> None:
    plan = replace(PLAN, rules=replace(PLAN.rules, calibrate=(1.005, 1.0)))
    assert codes(plan, tiles()) == {"bar-not-drawn"}
    facts = tiles()
    larger = tuple(
        replace(
            s,
            paths=tuple(
                p._replace(points=tuple((x * 1.005, y) for x, y in p.points)) for p in s.paths
            ),
        )
        if s.file.startswith("print/")
        else s
        for s in facts.sheets
    )
    assert codes(plan, replace(facts, sheets=larger)) == set()


def test_many_findings_of_one_kind_do_not_hide_another() -> None:
    at = sheet_where(".svg")
    circles = FACTS.sheets[at].circles
    moved = tuple(
        c._replace(x_mm=c.x_mm + 0.05) if c.layer == "holes" and n % 2 else c
        for n, c in enumerate(circles)
    )
    assert codes(facts=with_sheet(at, circles=moved)) == {"hole-not-drawn", "hole-never-listed"}
