"""The whole pack in a folder."""

import hashlib
import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pypdfium2
import pytest
from writing_samples import sheet, small_plan

from templater.model.plan_file import load_plan
from templater.model.sheets import Lettering, SheetLayer
from templater.writing import lettering_problems, write_pack
from templater.writing.pack import sheet_groups

PAPER = {"paper_mm": (210.0, 297.0), "margin_mm": 8.0, "overlap_mm": 10.0}


@pytest.fixture(scope="module")
def pack(tmp_path_factory):
    folder = tmp_path_factory.mktemp("pack")
    return folder, write_pack(small_plan(), folder, **PAPER)


def test_every_file_of_the_design_is_written_and_named(pack):
    folder, names = pack
    assert names == (
        "appliques/frond-left.dxf",
        "appliques/frond-left.pdf",
        "appliques/frond-left.svg",
        "book.html",
        "book.pdf",
        "holes.csv",
        "plan.json",
        "preview.png",
        "preview.svg",
        "print/appliques.pdf",
        "print/front-placement.pdf",
        "print/stencils.pdf",
        "setting.svg",
        "shopping.csv",
        "stencils/frond-left-ss16-1.dxf",
        "stencils/frond-left-ss16-1.pdf",
        "stencils/frond-left-ss16-1.svg",
        "stones.csv",
    )
    found = sorted(p.relative_to(folder).as_posix() for p in folder.rglob("*") if p.is_file())
    assert tuple(found) == names


def test_the_plan_reads_back(pack):
    folder, _ = pack
    plan = load_plan((folder / "plan.json").read_bytes())
    assert plan.stones == small_plan().stones


@pytest.mark.parametrize(
    ("formats", "endings"),
    [
        (("svg",), [".svg"]),
        (("dxf", "dxf-r12"), ["-r12.dxf", ".dxf"]),
        (("hpgl", "drill", "gcode"), [".drl", ".gcode", ".hpgl"]),
        (("pdf", "pdf", "svg"), [".pdf", ".svg"]),
    ],
)
def test_sheets_come_in_the_formats_of_the_job(tmp_path, formats, endings):
    names = write_pack(small_plan(formats=formats), tmp_path, **PAPER)
    stem = "stencils/frond-left-ss16-1"
    assert [name.removeprefix(stem) for name in names if name.startswith(stem)] == endings


def test_a_format_nobody_writes_is_refused(tmp_path):
    with pytest.raises(ValueError, match="'wax'"):
        write_pack(small_plan(formats=("wax",)), tmp_path, **PAPER)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("name", ["../out", "/out", "a/../../out", "C:out", "a\\b"])
def test_no_file_lands_outside_the_folder(tmp_path, name):
    plan = replace(small_plan(), sheets=(sheet(name=name),))
    with pytest.raises(ValueError, match="is no name"):
        write_pack(plan, tmp_path, **PAPER)
    assert list(tmp_path.iterdir()) == []


def test_no_two_files_share_a_name_where_case_does_not_count(tmp_path):
    plan = replace(small_plan(), sheets=(sheet(name="a/Frond"), sheet(name="a/frond")))
    with pytest.raises(ValueError, match="two files"):
        write_pack(plan, tmp_path, **PAPER)


def test_the_watch_is_told_every_file_and_may_stop_the_run(tmp_path):
    told = []
    names = write_pack(small_plan(), tmp_path, **PAPER, watch=lambda *a: told.append(a))
    assert sorted(name for name, _, _ in told[:-1]) == list(names)
    assert [done for _, done, _ in told] == list(range(len(names) + 1))
    assert {of for _, _, of in told} == {len(names)}

    def stop(*_):
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        write_pack(small_plan(), tmp_path, **PAPER, watch=stop)


def test_sheets_are_printed_by_folder_and_those_for_people_each_by_itself():
    names = ("stencils/a", "punch/b", "stencils/c", "appliques/d")
    sheets = (
        *(sheet(name=n) for n in names),
        sheet(name="punch/e", kind="placement"),
        sheet(name="print/front-left", kind="placement"),
        sheet(name="print/swatches", kind="swatch"),
    )
    groups = {g: [s.name for s in members] for g, members in sheet_groups(sheets).items()}
    assert groups == {
        "stencils": ["stencils/a", "stencils/c"],
        "punch": ["punch/b"],
        "appliques": ["appliques/d"],
        "e": ["punch/e"],
        "front-left": ["print/front-left"],
        "swatches": ["print/swatches"],
    }


def test_every_pdf_opens_with_pages(pack):
    folder, names = pack
    for name in names:
        if name.endswith(".pdf"):
            assert len(pypdfium2.PdfDocument(folder / name)) >= 1


@pytest.mark.usefixtures("no_fonts")
def test_letters_no_font_has_are_told_once_with_where_they_stand_and_what_helps():
    text = Lettering("漢字 a", (1, 1), 3.5)
    sheets = tuple(sheet(SheetLayer("x", (text,)), name=f"stencils/{n}") for n in "abcde")
    plan = replace(small_plan(), name="漢 kelp", sheets=(*sheets, sheet(name="stencils/f")))
    (problem,) = lettering_problems(plan)
    assert problem.code == "letter-missing"
    assert "has 漢 字 (in sheet stencils/a, sheet stencils/b" in problem.message
    assert "and 3 more" in problem.message
    assert "[templates]" in problem.mend


def test_words_that_run_from_right_to_left_are_no_problem():
    text = Lettering("שלום ورقة a", (1, 1), 3.5)
    plan = replace(small_plan(), sheets=(sheet(SheetLayer("x", (text,))),))
    assert lettering_problems(plan) == ()


SCRIPT = """
import sys
from pathlib import Path
sys.path.insert(0, sys.argv[1])
from writing_samples import small_plan
from templater.writing import write_pack
write_pack(small_plan(), Path(sys.argv[2]), paper_mm=(210.0, 297.0), margin_mm=8.0, overlap_mm=10.0)
"""


def digests(folder):
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def test_other_processes_with_other_hash_seeds_write_the_same_bytes(pack, tmp_path):
    folder, _ = pack
    wanted = digests(folder)
    for seed in ("1", "4711"):
        other = tmp_path / seed
        other.mkdir()
        subprocess.run(
            [sys.executable, "-c", SCRIPT, str(Path(__file__).parent), str(other)],
            env={**os.environ, "PYTHONHASHSEED": seed},
            check=True,
        )
        assert digests(other) == wanted


def test_no_file_knows_where_it_was_made(pack):
    folder, names = pack
    for name in names:
        assert str(folder).encode() not in (folder / name).read_bytes()
