"""Machine files as other people's readers, or one written from the published language, see them."""

import math
import os
import re
import subprocess
import sys
import tempfile
from dataclasses import replace
from itertools import pairwise
from pathlib import Path as FilePath

import gcodeparser
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pygerber.drill_layer import DrillLayer
from shapely import LineString, Polygon
from writing_samples import LEAF, line, sheet, small_plan

from templater.geometry.flatten import flatten
from templater.geometry.polygons import circle, rectangle
from templater.geometry.stone_shapes import placed_stone_path
from templater.model.curves import Arc, Area, Line, Path
from templater.model.formats import ENDINGS, sheet_stem
from templater.model.sheets import Circle, Fill, Lettering, Pen, SheetLayer, Stroke
from templater.model.stones import StoneShape
from templater.readback.drill import read_drill
from templater.readback.gcode import read_gcode
from templater.readback.hpgl import read_hpgl
from templater.writing.drill import drill_bytes
from templater.writing.dxf import dxf_bytes
from templater.writing.gcode import gcode_bytes
from templater.writing.hpgl import hpgl_bytes
from templater.writing.whole import whole_files

HALF_UNIT_MM = 0.0125 + 1e-9
"""Half an HP-GL unit of 0.025 mm (HP 7475A manual, PCL 5 manual: see docs/machine-files.md)."""
NAVETTE = placed_stone_path(StoneShape.NAVETTE, 10.3, 5.3, (60.0, 40.0), 30.0)

holes = st.lists(
    st.builds(
        lambda x, y, d: Circle(round(x, 4), round(y, 4), round(d, 4), Pen.HOLE),
        st.floats(5.0, 600.0),
        st.floats(5.0, 600.0),
        st.sampled_from([1.0, 3.4, 4.3, 4.3001, 5.1, 9.77]) | st.floats(0.8, 14.0),
    ),
    min_size=1,
    max_size=60,
)


def stencil(*more, title="Stencil (größe; ss16)"):
    """Holes in tour order, a shaped one, register marks, an outline, words, a bar."""
    return sheet(
        SheetLayer("cut", (Stroke(rectangle(5, 5, 175, 115), Pen.CUT),)),
        SheetLayer(
            "holes",
            (
                Circle(10.0, 12.5, 4.3, Pen.HOLE, "a"),
                Stroke(NAVETTE, Pen.HOLE),
                Circle(100.1234, 33.3333, 3.5, Pen.HOLE, "b"),
                Circle(20.0, 12.5, 4.3, Pen.HOLE, "c"),
            ),
        ),
        SheetLayer(
            "register",
            (Circle(8, 8, 4.0, Pen.REGISTER), Stroke(line((4, 8), (12, 8)), Pen.REGISTER)),
        ),
        SheetLayer("bars", (Stroke(line((15, 10), (165, 10)), Pen.BAR),)),
        SheetLayer("text", (Lettering("never cut", (5, 2), 2.5), Fill(Area(LEAF), "#d0e8d8"))),
        *more,
        title=title,
    )


def of_holes(items):
    return sheet(SheetLayer("holes", tuple(items)), size_mm=(610.0, 610.0))


def as_sorted(circles):
    return sorted((c.x_mm, c.y_mm, c.diameter_mm) for c in circles)


def hpgl(data):
    """By the published language alone: (pen, "circle", x, y, r) and (pen, "line", points) in units."""
    pen, at, seen, run = 0, (0, 0), [], []
    for command in data.decode("ascii").replace("\n", "").split(";"):
        name, numbers = command[:2], [int(n) for n in command[2:].split(",") if n]
        points = list(zip(numbers[::2], numbers[1::2], strict=False))
        if name != "PD" and run:
            seen.append((pen, "line", run))
            run = []
        if name == "SP":
            pen = numbers[0]
        elif name == "PU":
            at = points[-1] if points else at
        elif name == "PD":
            run = [*(run or [at]), *points]
            at = points[-1]
        elif name == "CI":
            seen.append((pen, "circle", *at, numbers[0]))
        else:
            assert name in {"IN", ""}
    return seen


# HP-GL


@given(holes)
@settings(deadline=None, max_examples=20)
def test_hpgl_holes_are_where_they_belong_to_half_a_unit(items):
    for found in (
        [(x * 0.025, y * 0.025, r * 0.025) for _, _, x, y, r in hpgl(hpgl_bytes(of_holes(items)))],
        [
            (c.x_mm, c.y_mm, c.diameter_mm / 2)
            for c in read_hpgl(hpgl_bytes(of_holes(items)), "").circles
        ],
    ):
        assert len(found) == len(items)
        for (x, y, r), hole in zip(found, items, strict=True):
            assert abs(x - hole.x_mm) <= HALF_UNIT_MM
            assert abs(y - hole.y_mm) <= HALF_UNIT_MM
            assert abs(r - hole.diameter_mm / 2) <= HALF_UNIT_MM


def test_hpgl_draws_then_cuts_holes_then_outlines_each_with_its_pen():
    seen = hpgl(hpgl_bytes(stencil()))
    assert [pen for pen, *_ in seen] == [3, 3, 1, 1, 1, 1, 2]
    assert [kind for _, kind, *_ in seen] == [
        "circle", "line", "circle", "line", "circle", "circle", "line",
    ]  # fmt: skip
    assert seen[-1][2] == [(200, 200), (7000, 200), (7000, 4600), (200, 4600), (200, 200)]


def test_hpgl_curves_follow_within_the_unit_and_their_flattening():
    (shaped,) = (
        run for pen, kind, *run in hpgl(hpgl_bytes(stencil())) if (pen, kind) == (1, "line")
    )
    drawn = LineString([(x * 0.025, y * 0.025) for x, y in shaped[0]])
    assert drawn.is_closed
    truth = LineString([*flatten(NAVETTE, 0.0005), NAVETTE.start])
    assert drawn.hausdorff_distance(truth) < 0.0125 * math.sqrt(2) + 0.006


def test_a_large_circle_is_no_polygon_of_5_degrees():
    data = hpgl_bytes(of_holes([Circle(300.0, 300.0, 400.0, Pen.HOLE)]))
    ((_, kind, points),) = hpgl(data)
    assert kind == "line"
    off = [abs(math.dist((x * 0.025, y * 0.025), (300, 300)) - 200.0) for x, y in points]
    assert max(off) < 0.0125 * math.sqrt(2)
    middles = [((a + c) / 80, (b + d) / 80) for (a, b), (c, d) in pairwise(points)]
    assert max(abs(math.dist(m, (300, 300)) - 200.0) for m in middles) < 0.025


def test_a_plotter_that_is_off_is_corrected():
    """A line of 200 mm that comes out 199 mm long: 40 × 200 / 199 units to the millimetre."""
    units = 40 * 200 / 199
    one = sheet(SheetLayer("cut", (Stroke(rectangle(5, 5, 205, 25), Pen.CUT),)), size_mm=(300, 50))
    ((_, _, points),) = hpgl(hpgl_bytes(one, units))
    true_unit_mm = 0.025 * 199 / 200
    assert (points[1][0] - points[0][0]) * true_unit_mm == pytest.approx(200.0, abs=0.025)


def test_hpgl_says_nothing_of_force_speed_or_words():
    words = set(re.findall(r"[A-Z]{2}", hpgl_bytes(stencil()).decode("ascii")))
    assert words == {"IN", "SP", "PU", "PD", "CI"}


# Drill tables


@given(holes)
@settings(deadline=None, max_examples=20)
def test_drill_tables_hold_every_hole(items):
    """Read by another's reader of drill tables, and by our own from the published words: M48 begins
    the header, METRIC says mm, TnCd a tool's diameter and % ends it (board makers' guides to drill
    files, named in docs/machine-files.md); FMAT,2, G90, G05 and M30 that reader knows as well.
    """
    data = drill_bytes(of_holes(items))
    other = DrillLayer()
    with tempfile.TemporaryDirectory() as folder:
        FilePath(folder, "a.drl").write_bytes(data)
        other.read(FilePath(folder, "a.drl"))
    assert other.units == "METRIC"
    by_another = sorted((*op.point.get(), other.tools[op.tool]) for op in other.operations)
    ours = as_sorted(read_drill(data, "").circles)
    for found in (by_another, ours):
        for a, b in zip(found, as_sorted(items), strict=True):
            assert math.dist(a, b) < 1e-9


def test_drills_are_changed_once_and_travel_is_short():
    spots = [(x, y) for x in range(10, 200, 10) for y in range(10, 200, 10)]
    spots.sort(key=lambda p: (p[0] * 7919 + p[1] * 104729) % 1009)  # far and wide
    items = [Circle(x, y, 4.3 if (x + y) % 20 else 3.5, Pen.HOLE) for x, y in spots]
    lines = drill_bytes(of_holes(items)).decode().splitlines()
    assert [text for text in lines if re.fullmatch(r"T\d+C.*", text)] == ["T1C3.5000", "T2C4.3000"]
    second = lines[lines.index("T2") + 1 : lines.index("T0")]
    ends = [tuple(float(n) for n in re.findall(r"[\d.]+", text)) for text in second]
    assert len(ends) == sum(item.diameter_mm == 4.3 for item in items)
    travel = sum(math.dist(a, b) for a, b in pairwise(ends))
    assert travel < 1.2 * 10 * math.sqrt(2) * len(ends)


def test_what_cannot_be_drilled_is_said():
    text = drill_bytes(stencil()).decode("ascii")
    assert "; 1 shaped holes cannot be drilled" in text
    assert len(re.findall(r"^X", text, re.MULTILINE)) == 3


# ISO 6983


def cuts(data):
    """Runs of cutting moves by gcodeparser's words and the standard's meaning, as dense points."""
    runs, at = [], (0.0, 0.0)
    for word in gcodeparser.parse_gcode_lines(data.decode("ascii").replace("%", "")):
        letter, number = word.command
        if letter != "G" or number > 3:
            assert (letter, number) in {("G", 17), ("G", 21), ("G", 90), ("M", 2)}
            continue
        end = (word.params["X"], word.params["Y"])
        if number == 0:
            runs.append([end])
        elif number == 1:
            runs[-1].append(end)
        else:
            runs[-1] += arc(
                at, end, (word.params["I"], word.params["J"]), anticlockwise=number == 3
            )
        at = end
    return runs


def arc(start, end, offset, *, anticlockwise):
    x, y = start[0] + offset[0], start[1] + offset[1]
    radius = math.hypot(*offset)
    # Controls refuse arcs whose ends lie unlike far from the centre (0.005 mm is common).
    assert math.dist(end, (x, y)) == pytest.approx(radius, abs=0.002)
    first, last = (math.atan2(p[1] - y, p[0] - x) for p in (start, end))
    turn = (last - first) % (2 * math.pi) if anticlockwise else -((first - last) % (2 * math.pi))
    assert abs(turn) <= math.pi + 1e-3  # none asks for a whole circle or more than a half
    return [
        (x + radius * math.cos(first + turn * i / 64), y + radius * math.sin(first + turn * i / 64))
        for i in range(1, 64)
    ] + [end]


@given(holes)
@settings(deadline=None, max_examples=10)
def test_gcode_goes_round_every_hole(items):
    data = gcode_bytes(of_holes(items))
    for run, hole in zip(cuts(data), items, strict=True):
        assert math.dist(run[0], run[-1]) < 1e-9
        off = [math.dist(p, (hole.x_mm, hole.y_mm)) - hole.diameter_mm / 2 for p in run]
        assert max(map(abs, off)) < 0.0002
        assert Polygon(run).area == pytest.approx(math.pi * hole.diameter_mm**2 / 4, rel=0.002)
    ours = as_sorted(read_gcode(data, "").circles)
    for a, b in zip(ours, as_sorted(items), strict=True):
        assert math.dist(a, b) < 0.0003


@pytest.mark.parametrize(
    "path",
    [
        LEAF,
        NAVETTE,
        rectangle(1, 2, 30, 40),
        circle((50.0, 50.0), 20.0),
        Path((Arc((10, 0), (0, 10), -0.6), Line((0, 10), (-5, 10))), closed=False),
        Path((Arc((0, 0), (100, 0), 0.000004), Line((100, 0), (0, 0))), closed=True),
        Path((Arc((0, 0), (100, 0), 0.0001), Line((100, 0), (0, 0))), closed=True),
    ],
)
def test_gcode_follows_outlines(path):
    one = sheet(SheetLayer("cut", (Stroke(path, Pen.CUT),)))
    (run,) = cuts(gcode_bytes(one))
    points = flatten(path, 0.0005)
    truth = LineString([*points, points[0]] if path.closed else points)
    assert LineString(run).hausdorff_distance(truth) < 0.0075
    found = read_gcode(gcode_bytes(one), "")
    assert len(found.paths) + len(found.circles) == 1


@pytest.mark.parametrize("unit", ["G21", "G71"])
def test_gcode_says_mm_in_the_controls_own_word(unit):
    """G71 by ISO 6983 and DIN 66025, G21 by RS274/NGC; to some controls G21 means mirroring (the
    manuals that say so are named in docs/machine-files.md).
    """
    rules = replace(small_plan().rules, formats=("gcode",), gcode_unit=unit)
    ((_, write),) = whole_files(stencil(), rules)
    text = write().decode("ascii")
    blocks = [line for line in text.splitlines() if not line.startswith(("(", "%"))]
    assert blocks[:3] == ["G17", unit, "G90"]
    assert {"G20", "G21", "G70", "G71"} & set(blocks) == {unit}
    assert f"{unit} says millimetres" in text
    assert read_gcode(write(), "") == read_gcode(gcode_bytes(stencil()), "")


def test_gcode_is_motion_only_and_waits_for_the_maker():
    text = gcode_bytes(stencil()).decode("ascii")
    blocks = [text for text in text.splitlines() if not text.startswith(("(", "%"))]
    assert {word[0] for text in blocks for word in text.split()} <= set("GXYIJM")
    assert blocks[:3] == ["G17", "G21", "G90"]
    assert blocks[-1] == "M02"
    numbers = [word for text in blocks for word in text.split() if word[0] in "XYIJ"]
    assert all(re.fullmatch(r"[XYIJ]-?\d+\.\d{4}", word) for word in numbers)
    assert text.count("(TOOL ON)") == text.count("(TOOL OFF)") == text.count("G0 ") == 5
    assert text.index("(HOLES)") < text.index("(OUTLINES)")
    for said in ("PVC", "unattended", "no power", "Set a feed"):
        assert said in text


def test_comments_hold_nothing_that_ends_or_begins_one():
    for line_ in gcode_bytes(stencil()).decode("ascii").splitlines():
        assert line_.count("(") == line_.count(")") <= 1
        assert ";" not in line_
        assert len(line_) <= 72
    assert "(Stencil [grosse, ss16])" in gcode_bytes(stencil()).decode("ascii")


# All of them


def test_names_with_any_letters_leave_ascii():
    odd = replace(stencil(title="漢字 – ‘Größe’ é ÷ ×\n%\x00"), name="stencils/é")
    for write in (hpgl_bytes, drill_bytes, gcode_bytes):
        write(odd).decode("ascii")
    lines_ = gcode_bytes(odd).decode("ascii").splitlines()
    assert [text for text in lines_ if text.startswith("%")] == ["%", "%"]


def test_numbers_no_file_can_hold_are_refused():
    for write in (hpgl_bytes, drill_bytes, gcode_bytes):
        with pytest.raises(ValueError, match="nan"):
            write(of_holes([Circle(math.nan, 0, 4.3, Pen.HOLE)]))


def names_of(one, *formats):
    rules = replace(small_plan().rules, formats=formats)
    return [name.removeprefix(one.name) for name, _ in whole_files(one, rules)]


def test_a_sheet_without_work_has_no_machine_file():
    words = sheet(SheetLayer("text", (Lettering("hem", (1, 1), 3.5),)))
    assert names_of(words, "svg", "hpgl", "drill", "gcode") == [".svg"]
    shaped = sheet(SheetLayer("holes", (Stroke(NAVETTE, Pen.HOLE),)))
    assert names_of(shaped, "hpgl", "drill", "gcode") == [".hpgl", ".gcode"]
    assert names_of(shaped, "xy") == []
    marked = replace(stencil(), register=((8.0, 8.0),))
    assert names_of(marked, *ENDINGS) == list(ENDINGS.values())
    assert names_of(stencil(), "xy") == [], "there is no mark to count from"


def test_the_jobs_units_reach_the_plotters_file():
    rules = replace(small_plan().rules, formats=("hpgl",), hpgl_units_per_mm=80.0)
    ((_, write),) = whole_files(stencil(), rules)
    assert write() == hpgl_bytes(stencil(), 80.0) != hpgl_bytes(stencil())


@pytest.mark.parametrize("ending", ENDINGS.values())
def test_stems(ending):
    assert sheet_stem(f"stencils/frond-1{ending}") == "stencils/frond-1"
    assert sheet_stem("stencils/frond-1") == "stencils/frond-1"


@pytest.mark.parametrize("path", [LEAF, NAVETTE, circle((50.0, 50.0), 20.0)])
def test_dxf_r12_as_ezdxf_reads_it(path):
    import io

    import ezdxf

    one = sheet(SheetLayer("holes", (Circle(10.1234, 12.5, 4.3, Pen.HOLE), Stroke(path, Pen.HOLE))))
    document = ezdxf.read(io.StringIO(dxf_bytes(one, "R12").decode("ascii")))
    assert document.dxfversion == "AC1009"
    hole, outline = document.modelspace()
    assert (hole.dxf.center.x, hole.dxf.center.y, hole.dxf.radius) == pytest.approx(
        (10.1234, 12.5, 2.15), abs=1e-9
    )
    points = [(v.x, v.y) for e in outline.virtual_entities() for v in _ends(e)]
    truth = LineString([*flatten(path, 0.0005), path.start])
    assert LineString(points).hausdorff_distance(truth) < 0.006


def _ends(entity):
    if entity.dxftype() == "ARC":
        return entity.flattening(0.0005)
    return (entity.dxf.start, entity.dxf.end)


SCRIPT = """
import hashlib, sys
from dataclasses import replace
sys.path.insert(0, sys.argv[1])
from writing_samples import large_sheet, small_plan
from templater.model.formats import ENDINGS
from templater.writing.whole import whole_files
plan = small_plan()
rules = replace(plan.rules, formats=tuple(ENDINGS))
for one in (*plan.sheets, replace(large_sheet(), name="appliques/large")):
    for name, write in whole_files(replace(one, register=((8.0, 8.0),)), rules):
        print(name, hashlib.sha256(write()).hexdigest())
"""


def test_other_processes_with_other_hash_seeds_write_the_same_bytes():
    said = [
        subprocess.run(
            [sys.executable, "-c", SCRIPT, str(FilePath(__file__).parent)],
            env={**os.environ, "PYTHONHASHSEED": seed},
            check=True,
            capture_output=True,
            text=True,
        ).stdout
        for seed in ("1", "4711")
    ]
    assert said[0] == said[1]
    assert all(f"stencils/frond-left-ss16-1{ending} " in said[0] for ending in ENDINGS.values())
