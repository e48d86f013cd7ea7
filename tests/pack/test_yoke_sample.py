"""The sample with a dart, from its drawing to the written files, by the command."""

import csv
import json
import math
import re
import shutil
from pathlib import Path

import pytest

SAMPLES = Path(__file__).resolve().parents[2] / "samples"
TIP, LEFT, RIGHT = (120.0, 90.0), (111.0, 194.5), (129.0, 194.5)
"""The dart in the drawing's frame, y up: the page is 220 mm high."""
DART_DEG = 2.0 * math.degrees(math.atan(9.0 / 104.5))


@pytest.fixture(scope="module")
def told(templater, tmp_path_factory):
    folder = tmp_path_factory.mktemp("yoke")
    for name in ("kelp-yoke.svg", "kelp-yoke.toml"):
        shutil.copy(SAMPLES / name, folder / name)
    made = templater("make", "kelp-yoke.toml", cwd=folder)
    assert made.returncode == 0, made.stderr
    return made, folder / "kelp-yoke-pack"


@pytest.fixture(scope="module")
def pack(told):
    return told[1]


@pytest.fixture(scope="module")
def plan(pack):
    return json.loads((pack / "plan.json").read_text("utf-8"))


def rows(pack, name):
    with (pack / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def parts_of(plan, zone):
    return [
        part
        for part in plan["parts"]
        if part["zone"] == zone and part["kind"] == "applique" and part["side"] == "left"
    ]


def test_the_pack_is_sound_and_nothing_is_wrong_with_the_drawing(told, templater):
    made, pack = told
    assert "warning" not in made.stderr
    assert templater("check", pack.name, cwd=pack.parent).returncode == 0


def test_the_ribbon_is_one_part_with_the_dart_closed(plan, pack):
    (ribbon,) = parts_of(plan, "ribbon")
    moves = [half["to_part"] for half in ribbon["halves"]]
    turns = [math.degrees(math.atan2(move["b"], move["a"])) for move in moves]
    assert sorted(abs(turn) for turn in turns) == pytest.approx([0.0, DART_DEG], abs=1e-9)
    sheet = next((pack / "appliques").glob("*sea-green*.svg")).read_text("utf-8")
    assert "dart hip closed: lay over the sewn dart" in sheet


def test_the_float_is_two_parts_with_marks_of_one_number_at_one_distance(plan):
    parts = parts_of(plan, "float")
    assert len(parts) == 2
    marks = [{m["number"]: m["at"] for m in part["marks"] if m["dart"]} for part in parts]
    assert len(marks[0]) >= 2
    assert marks[0].keys() == marks[1].keys()
    for number, at in marks[0].items():
        assert math.dist(at, TIP) == pytest.approx(math.dist(marks[1][number], TIP), abs=2e-4)


def test_wake_and_foam_bear_one_mark_across_the_dart_and_it_is_on_their_sheets(plan, pack):
    (wake,), (foam,) = parts_of(plan, "wake"), parts_of(plan, "foam")
    numbers = [{m["number"] for m in part["marks"] if m["dart"]} for part in (wake, foam)]
    assert numbers[0]
    assert numbers[0] == numbers[1]
    for fabric in ("mint-mesh", "pale-green-mesh"):
        sheet = next((pack / "appliques").glob(f"*{fabric}.svg")).read_text("utf-8")
        shown = set(re.findall(r"<text[^>]*>(\d+)</text>", sheet))
        assert {str(number) for number in numbers[0]} <= shown


def test_the_legs_are_walked_in_the_table(pack):
    (legs,) = [row for row in rows(pack, "walked.csv") if row["kind"] == "dart legs"]
    values = [float(row) for row in legs.values() if re.fullmatch(r"\d+\.\d+", row)]
    assert math.dist(TIP, LEFT) in [pytest.approx(value, abs=1e-3) for value in values]


def test_no_stone_lies_in_the_dart_and_closed_none_touch(pack):
    stones = [row for row in rows(pack, "stones.csv") if row["side"] == "left"]
    assert len(stones) > 250
    at = [(float(s["x_mm"]), float(s["y_mm"]), float(s["width_mm"]) / 2) for s in stones]
    above = [each for each in at if each[1] > TIP[1]]
    slope = 9.0 / 104.5
    assert all(abs(x - TIP[0]) >= slope * (y - TIP[1]) + r for x, y, r in above)
    c, s = math.cos(math.radians(DART_DEG)), math.sin(math.radians(DART_DEG))
    left = [each for each in above if each[0] < TIP[0]]
    right = [
        (
            TIP[0] + c * (x - TIP[0]) - s * (y - TIP[1]),
            TIP[1] + s * (x - TIP[0]) + c * (y - TIP[1]),
            r,
        )
        for x, y, r in above
        if x > TIP[0]
    ]
    gap = min(math.dist(a[:2], b[:2]) - a[2] - b[2] for a in left for b in right)
    assert gap >= 0.4 - 0.001
    assert math.dist((TIP[0] + c * 9 - s * 104.5, TIP[1] + s * 9 + c * 104.5), LEFT) < 1e-9


def test_pins_beyond_the_dart_are_measured_along_the_waist_without_its_mouth(plan):
    (foam,) = parts_of(plan, "foam")
    tip = foam["placing"][0]
    assert tip["at"] == [200.0, 148.0]
    waist = next(m for m in tip["measures"] if m["edge"] == "waist")
    # Along the flat edge, nearly straight, from x = 20 to the foot, less 18 mm and a little.
    flat = waist["foot"][0] - 20.0
    assert flat - 19.0 < waist["along_mm"] < flat - 17.0
