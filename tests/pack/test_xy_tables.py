"""A made pack with x/y tables: every round hole of holes.csv, from register mark 1 of its own sheet."""

import csv
import re
from collections import defaultdict

import ezdxf
import pypdfium2
import pytest

from templater.model.problems import Refused
from templater.readback import read_pack
from templater.session import check_pack, make

DRAWING = """<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="120mm" viewBox="0 0 200 120">
<g id="piece front"><path d="M10 10H190V110H10Z"/></g>
<g id="zone frond"><path d="M20 20C45 15 65 25 68 42C50 50 40 48 20 45Z"/></g>
<g id="row spine"><path d="M110 20C120 30 120 40 118 55"/></g>
</svg>"""
JOB = """drawing = "front.svg"
[pieces.front]
make = "single"
[stoning.frond]
method = "tape"
outline = { size = "ss12", gap = 1.6 }
fill = { style = "staggered", sizes = { ss20 = 1 }, gap = 1.6 }
finish = { plain = 60, ab = 40 }
[rows.spine]
stone = "navette 10x5"
[templates]
kinds = ["stencil", "prick", "punch"]
stencil = { apart = ["finish"], clearance = { ss20 = 0.5, other = 0.25 } }
formats = ["dxf", "xy"]
"""


@pytest.fixture(scope="module")
def pack(tmp_path_factory):
    folder = tmp_path_factory.mktemp("xy")
    (folder / "front.svg").write_text(DRAWING)
    (folder / "front.toml").write_text(JOB)
    return make(folder / "front.toml").folder


def rows_of(path):
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.fixture(scope="module")
def tables(pack):
    return {
        str(path.relative_to(pack)).removesuffix("-xy.csv"): {r["point"]: r for r in rows_of(path)}
        for path in sorted(pack.rglob("*-xy.csv"))
    }


def test_each_hole_is_as_far_from_mark_1_as_on_its_sheet(pack, tables):
    """The marks are measured in the DXF that another reader (ezdxf) opens."""
    holes = defaultdict(list)
    for row in rows_of(pack / "holes.csv"):
        holes[row["template"].removesuffix(".dxf")].append(row)
    assert set(holes) >= {name for name in tables if not name.endswith("-reversed")}
    compared = 0
    for name, table in tables.items():
        if name.endswith("-reversed"):
            continue
        rings = ezdxf.readfile(pack / f"{name}.dxf").modelspace().query('CIRCLE[layer=="register"]')
        marks = [(ring.dxf.center.x, ring.dxf.center.y) for ring in rings]
        left, low = (-float(table["corner"][key]) for key in ("x_mm", "y_mm"))
        named = [point for point in table if point.startswith("mark")]
        assert len(named) == len(marks) >= 3
        assert table["mark 1"]["x_mm"] == table["mark 1"]["y_mm"] == "0.0000"
        for point in named:
            at = (left + float(table[point]["x_mm"]), low + float(table[point]["y_mm"]))
            assert min(abs(at[0] - x) + abs(at[1] - y) for x, y in marks) < 1e-6
        for row in holes[name]:
            point = table.get(row["order"])
            if point is None:
                assert "spine" in name, "only shaped holes are left out"
                continue
            assert float(point["x_mm"]) + left == pytest.approx(float(row["x_mm"]), abs=1e-6)
            assert float(point["y_mm"]) + low == pytest.approx(float(row["y_mm"]), abs=1e-6)
            assert point["width_mm"] == row["diameter_mm"]
            assert point["stone_id"] == row["stone_id"]
            compared += 1
    assert compared > 100


def test_a_reversed_prick_sheet_has_its_own_table_mirrored(tables):
    front, behind = tables["punch/frond-single-prick"], tables["punch/frond-single-prick-reversed"]
    assert front.keys() == behind.keys()
    for point, row in front.items():
        if point != "corner":
            assert float(behind[point]["x_mm"]) == pytest.approx(-float(row["x_mm"]), abs=1e-6)
            assert behind[point]["y_mm"] == row["y_mm"]


def test_shaped_holes_have_no_place_in_a_table(tables):
    assert "punch/spine-single-prick" in tables, "its holes are round"
    assert not [name for name in tables if name.startswith("stencils/spine")]


def test_the_printed_pages_say_the_same(pack, tables):
    document = pypdfium2.PdfDocument(pack / "print/xy-tables.pdf")
    said = [page.get_textpage().get_text_range() for page in document]
    (page,) = [text for text in said if "For punch/frond-single-prick ·" in text]
    table = tables["punch/frond-single-prick"]
    numbers = [float(n.replace("−", "-")) for n in re.findall(r"−?\d+\.\d\d", page)]
    for point, row in table.items():
        if point.isdecimal():
            for key in ("x_mm", "y_mm"):
                assert min(abs(float(row[key]) - number) for number in numbers) <= 0.0051


def found(pack):
    try:
        return {problem.code for problem in check_pack(pack)[1]}
    except Refused as refused:
        return {problem.code for problem in refused.problems}


@pytest.mark.parametrize(
    ("change", "code"),
    [
        (lambda text: text.replace("mark 1,0", "mark 1,9"), "sheet-unreadable"),
        (lambda text: re.sub(r"(?m)^7,.*\n", "", text), "hole-not-drawn"),
        (lambda text: re.sub(r"(?m)^7,\d", "7,9", text), "hole-not-drawn"),
        (lambda text: re.sub(r"(?m)^mark 2,\d", "mark 2,9", text), "register-not-drawn"),
    ],
)
def test_check_finds_a_table_that_was_changed(pack, change, code):
    path = pack / "punch/frond-single-prick-xy.csv"
    before = path.read_text()
    path.write_text(change(before))
    try:
        assert path.read_text() != before
        assert code in found(pack)
    finally:
        path.write_text(before)
    assert found(pack) == set()


def test_check_misses_a_table_that_is_gone(pack):
    path = pack / "stencils/frond-single-tape-plain-1-xy.csv"
    before = path.read_bytes()
    path.unlink()
    try:
        assert found(pack) == {"sheet-missing"}
    finally:
        path.write_bytes(before)


def test_finishes_kept_apart_come_back_so_from_the_pack(pack):
    finish = {row["id"]: row["finish"] for row in rows_of(pack / "stones.csv")}
    held = defaultdict(set)
    for row in read_pack(pack).holes:
        if "tape" in row.template:
            held[row.template.rsplit("-", 2)[1]].add(finish[row.stone_id])
    assert held == {"plain": {"plain"}, "ab": {"ab"}}
