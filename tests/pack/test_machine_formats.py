"""A made pack in every format: each machine file holds the holes of holes.csv, by other readers."""

import csv
import math
import re
from collections import defaultdict

import ezdxf
import gcodeparser
import pytest
from pygerber.drill_layer import DrillLayer

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
method = "{method}"
outline = {{ size = "ss12", gap = {gap} }}
fill = {{ style = "staggered", sizes = {{ ss20 = 1 }}, gap = {gap} }}
[rows.spine]
stone = "navette 10x5"
[templates]
formats = ["svg", "dxf-r12", "hpgl", "drill", "gcode"]
hpgl_units_per_mm = 40.2
"""
HPGL_MM = 1 / 40.2


@pytest.fixture(scope="module", params=[("hand", 0.3), ("tape", 1.6)], ids=["hand", "tape"])
def pack(request, tmp_path_factory):
    method, gap = request.param
    folder = tmp_path_factory.mktemp(method)
    (folder / "front.svg").write_text(DRAWING)
    (folder / "front.toml").write_text(JOB.format(method=method, gap=gap))
    return make(folder / "front.toml").folder


@pytest.fixture(scope="module")
def holes(pack):
    """By sheet: (x, y, diameter) of round holes, and how many are shaped."""
    with (pack / "holes.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    found = defaultdict(list)
    for row in rows:
        if "spine" not in row["template"]:
            spot = tuple(float(row[key]) for key in ("x_mm", "y_mm", "diameter_mm"))
            found[row["template"].removesuffix(".svg")].append(spot)
    assert sum(map(len, found.values())) > 80
    return found


def agree(found, wanted, within):
    """The same holes, each coordinate and the radius to within so much."""
    assert len(found) == len(wanted)
    left = sorted(wanted)
    for x, y, d in sorted(found):
        best = min(left, key=lambda spot: math.dist(spot[:2], (x, y)))
        assert abs(best[0] - x) <= within
        assert abs(best[1] - y) <= within
        assert abs(best[2] - d) / 2 <= within
        left.remove(best)


def test_drill_tables(pack, holes):
    for name, wanted in holes.items():
        drill = DrillLayer()
        drill.read(pack / f"{name}.drl")
        agree([(*op.point.get(), drill.tools[op.tool]) for op in drill.operations], wanted, 1e-9)


def test_plotter_files(pack, holes):
    """CI stands at the place of the PU before it; pen 1 cuts holes. Half a unit is 0.0124 mm."""
    for name, wanted in holes.items():
        text = (pack / f"{name}.hpgl").read_text("ascii").replace("\n", "")
        cut = text.split("SP1;")[1].split("SP2;")[0]
        found = [
            (int(x) * HPGL_MM, int(y) * HPGL_MM, 2 * int(r) * HPGL_MM)
            for x, y, r in re.findall(r"PU(\d+),(\d+);CI(\d+);", cut)
        ]
        agree(found, wanted, HPGL_MM / 2 + 1e-9)


def test_control_files(pack, holes):
    """A round hole is two half circles: its middle halfway, its width across."""
    for name, wanted in holes.items():
        text = (pack / f"{name}.gcode").read_text("ascii").split("(OUTLINES)")[0]
        at, halves = None, []
        for word in gcodeparser.parse_gcode_lines(text.replace("%", "")):
            if word.command == ("G", 3):
                end = (word.params["X"], word.params["Y"])
                middle = (at[0] + word.params["I"], at[1] + word.params["J"])
                halves.append((*middle, math.dist(at, end)))
            at = (word.params.get("X"), word.params.get("Y"))
        agree(halves[::2], wanted, 0.0002)
        agree(halves[1::2], wanted, 0.0002)


def test_r12_files(pack, holes):
    for name, wanted in holes.items():
        document = ezdxf.readfile(pack / f"{name}-r12.dxf")
        circles = document.modelspace().query('CIRCLE[layer=="holes"]')
        agree([(c.dxf.center.x, c.dxf.center.y, 2 * c.dxf.radius) for c in circles], wanted, 1e-9)


def test_shaped_holes_have_no_drill_table_and_parts_have_the_other_two(pack):
    assert not list(pack.glob("stencils/*spine*.drl"))
    assert list(pack.glob("punch/*spine*prick.drl"))  # whose holes are round
    assert list(pack.glob("stencils/*spine*.gcode"))
    assert list(pack.glob("stencils/*spine*.hpgl"))
    parts = {path.suffix for path in pack.glob("appliques/*")}
    assert parts == {".svg", ".dxf", ".hpgl", ".gcode"}


def test_the_pack_is_sound_until_a_hole_is_lost(pack):
    assert [p for p in check_pack(pack)[1] if p.severity.name == "ERROR"] == []
    path = next(iter(sorted(pack.glob("stencils/frond*.drl"))))
    whole = path.read_text("ascii")
    path.write_text(re.sub(r"\nX[^\n]*", "", whole, count=1), "ascii")
    codes = {problem.code for problem in check_pack(pack)[1]}
    path.write_text(whole, "ascii")
    assert codes == {"hole-not-drawn"}
