"""The commands as a user runs them."""

import json
import re
import tomllib
from pathlib import Path

import pytest

import templater as package
from templater.cli.main import templater as group

DEMO = Path(package.__file__).parent / "demo" / "kelp-front.svg"


def test_the_demo_says_in_under_40_lines_what_it_made_and_where(demo):
    _, told, pack = demo
    lines = told.stdout.splitlines()
    assert len(lines) < 40
    text = told.stdout
    assert str(pack.name) in text
    for word in (
        "frond",
        "blade",
        "pod",
        "coverage",
        "stones by size",
        "ss16",
        "stencils/",
        "print/",
    ):
        assert word in text


def test_survey_tells_the_drawing_in_millimetres(templater):
    told = templater("survey", DEMO)
    assert told.returncode == 0
    assert "300.0 × 760.0 mm" in told.stdout
    for word in ("piece front", "zone frond", "row spine", "frond"):
        assert word in told.stdout


def test_survey_json_keeps_its_contract(templater):
    told = templater("survey", DEMO, "--json")
    table = json.loads(told.stdout)
    assert set(table) == {"unit", "size_mm", "layers", "pieces", "zones", "problems"}
    assert table["size_mm"] == [300.0, 760.0]
    assert {"name": "piece front", "role": "piece", "shapes": 1} in table["layers"]
    (piece,) = table["pieces"]
    assert set(piece) == {"name", "area_mm2", "bbox_mm"}
    zones = {zone["name"]: zone for zone in table["zones"]}
    assert set(zones) == {"frond", "blade", "pod"}
    assert set(zones["frond"]) == {"name", "piece", "regions", "area_mm2", "bbox_mm"}
    # The frond's tip is drawn at (110, 165) from the top of a page 760 high.
    assert zones["frond"]["bbox_mm"][3] == pytest.approx(760 - 165)


def test_survey_prints_its_json_also_when_it_exits_1(tmp_path, templater):
    path = tmp_path / "open.svg"
    path.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm" viewBox="0 0 9 9">'
        '<g data-name="zone a"><path d="M1 1L8 1L8 8"/></g></svg>',
        "utf-8",
    )
    told = templater("survey", path, "--json")
    assert told.returncode == 1
    (problem,) = [p for p in json.loads(told.stdout)["problems"] if p["severity"] == "error"]
    assert set(problem) == {"code", "severity", "layer", "element", "at_mm", "message", "mend"}
    assert problem["layer"] == "zone a"
    assert problem["at_mm"] is not None


def test_start_writes_a_job_that_can_be_made(tmp_path, templater):
    drawing = tmp_path / "kelp-front.svg"
    drawing.write_bytes(DEMO.read_bytes())
    told = templater("start", drawing)
    assert told.returncode == 0, told.stderr
    job = tmp_path / "kelp-front.toml"
    table = tomllib.loads(job.read_text("utf-8"))
    assert table["drawing"] == "kelp-front.svg"
    assert table["pieces"]["front"]["make"] == "fold"
    assert set(table["stoning"]) == {"frond", "blade", "pod"}
    again = templater("start", drawing)
    assert again.returncode == 1
    assert "already" in again.stderr
    made = templater("make", job)
    assert made.returncode == 0, made.stderr
    assert (tmp_path / "kelp-front-pack" / "stones.csv").exists()


def test_help_keeps_the_three_commands_on_lines_of_their_own(templater):
    lines = templater("--help").stdout.splitlines()
    shown = [line.split()[1] for line in lines if line.startswith("    templater ")]
    assert shown == ["survey", "start", "make"]


def test_start_tells_the_next_command_so_that_it_can_be_typed(tmp_path, templater):
    drawing = tmp_path / "front of a bolero.svg"
    drawing.write_bytes(DEMO.read_bytes())
    said = templater("start", drawing).stdout
    assert said.endswith(f'templater make "{drawing.with_suffix(".toml")}"\n')


def test_check_passes_on_what_was_made_and_fails_on_what_was_changed(
    demo, demo_pack, tmp_path, templater
):
    import shutil

    pack = tmp_path / "pack"
    shutil.copytree(demo_pack, pack)
    told = templater("check", pack)
    assert told.returncode == 0
    made = re.findall(r"^(\w+)/ +(\d+ sheets?),", demo[1].stdout, re.MULTILINE)
    assert {"appliques", "stencils", "punch"} <= {name for name, _ in made}
    assert all(f"{sheets} in {name}/" in told.stdout for name, sheets in made)
    stones = pack / "stones.csv"
    lines = stones.read_text("utf-8").splitlines(keepends=True)
    stones.write_text("".join(lines[:-1]), "utf-8")
    told = templater("check", pack)
    assert told.returncode == 1
    assert "mend" in told.stderr


def test_check_of_something_else_is_refused(tmp_path, templater):
    told = templater("check", tmp_path)
    assert told.returncode == 1
    assert "there is no pack in" in told.stderr
    assert "Traceback" not in told.stderr


def test_sizes_lists_every_size_with_its_source(templater):
    told = templater("sizes")
    assert told.returncode == 0
    row = next(line for line in told.stdout.splitlines() if line.startswith("ss16 "))
    assert row.split()[:4] == ["ss16", "3.80", "3.90", "4.00"]
    assert row.split()[-1] == "B"


def test_the_readme_and_the_guide_name_every_command():
    texts = [
        (Path(package.__file__).parents[1] / name).read_text("utf-8")
        for name in ("README.md", "docs/guide.md")
    ]
    for command in group.commands:
        for text in texts:
            assert f"templater {command}" in text, command
