"""A made pack with a plotter's roll: every true-size sheet is on it, and check finds what is off."""

import pikepdf
import pytest

from templater.model.plan_file import dump_plan, load_plan
from templater.session import check_pack, make

DRAWING = """<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="120mm" viewBox="0 0 200 120">
<g id="piece front"><path d="M10 10H190V110H10Z"/></g>
<g id="zone frond"><path d="M20 20C45 15 65 25 68 42C50 50 40 48 20 45Z"/></g>
</svg>"""
JOB = """drawing = "front.svg"
[stoning.frond]
fill = { style = "staggered", sizes = { ss20 = 1 }, gap = 0.6 }
[templates]
formats = ["svg"]
kinds = ["stencil"]
paper = { size = "letter", margin = 12, roll = { width = 300, margin = 5 } }
"""


@pytest.fixture(scope="module")
def pack(tmp_path_factory):
    folder = tmp_path_factory.mktemp("rolls")
    (folder / "front.svg").write_text(DRAWING)
    (folder / "front.toml").write_text(JOB)
    return make(folder / "front.toml").folder


def codes(pack):
    return {problem.code for problem in check_pack(pack)[1]}


def test_every_printed_file_has_its_roll_and_the_pack_is_sound(pack):
    printed = {path.name for path in (pack / "print").iterdir()}
    reduced = {name for name in printed if name.startswith("cloth-lay")}  # no length on it is true
    tiled = {name for name in printed - reduced if not name.endswith("-roll.pdf")}
    assert printed - tiled - reduced == {name.replace(".pdf", "-roll.pdf") for name in tiled}
    assert len(tiled) == 6
    assert codes(pack) == set()


def test_a_roll_that_is_gone_is_missed(pack):
    path = pack / "print/stencils-roll.pdf"
    data = path.read_bytes()
    path.unlink()
    try:
        assert codes(pack) == {"roll-missing"}
    finally:
        path.write_bytes(data)


@pytest.mark.parametrize("name", ["stencils", "appliques", "front-left-placement"])
def test_a_roll_that_was_scaled_is_found(pack, name):
    path = pack / f"print/{name}-roll.pdf"
    data = path.read_bytes()
    try:
        with pikepdf.open(path, allow_overwriting_input=True) as pdf:
            for page in pdf.pages:
                page.contents_add(b"q 0.999 0 0 0.999 0 0 cm", prepend=True)
                page.contents_add(b"Q")
            pdf.save(path)
        assert "bar-not-drawn" in codes(pack)
    finally:
        path.write_bytes(data)


def test_a_roll_of_another_width_than_the_jobs_is_found(pack):
    path = pack / "plan.json"
    data = path.read_bytes()
    plan = load_plan(data)
    assert plan.rules.roll_mm == 300.0
    try:
        path.write_bytes(dump_plan(plan).replace(b'"roll_mm": 300.0', b'"roll_mm": 310.0'))
        assert codes(pack) == {"page-size-wrong"}
    finally:
        path.write_bytes(data)
