"""Jobs at the edges: nothing to stone, nothing that fits, holes, rows in zones."""

import csv

import pytest

PAGE = '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100">{}</svg>'


def group(name: str, inside: str) -> str:
    return f'<g data-name="{name}">{inside}</g>'


SQUARE = group("zone a", '<path d="M20 20H80V80H20Z"/>')
CASES = {
    "no stoning": (SQUARE, "", 0, "sets no stones"),
    "too narrow for a stone": (
        group("zone a", '<path d="M10 10H12V90H10Z"/>'),
        "[stoning.a]\n",
        0,
        "not one stone fits",
    ),
    "a hole": (
        group("zone a", '<path fill-rule="evenodd" d="M10 10H90V90H10Z M30 30H60V60H30Z"/>'),
        "[stoning.a]\n",
        250,
        "",
    ),
    "a circle": (group("zone a", '<circle cx="50" cy="50" r="30"/>'), '[stoning.a]\nfill={style="contour"}\n', 120, ""),
    "an outline alone": (SQUARE, '[stoning.a]\nfill={style="none"}\n', 50, ""),
    "a closed row": (
        SQUARE + group("row r", '<circle cx="50" cy="50" r="25" fill="none" stroke="#000"/>'),
        '[stoning.a]\n[rows.r]\nstone="teardrop 8x5"\nturn="across"\n',
        100,
        "",
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", CASES)
def test_small_jobs_are_made(tmp_path, templater, case):
    inside, job, fewest, said = CASES[case]
    (tmp_path / "a.svg").write_text(PAGE.format(inside), "utf-8")
    (tmp_path / "a.toml").write_text('drawing = "a.svg"\n' + job, "utf-8")
    told = templater("make", tmp_path / "a.toml")
    assert told.returncode == 0, told.stderr
    assert said in told.stderr
    with (tmp_path / "a-pack" / "stones.csv").open(encoding="utf-8", newline="") as file:
        stones = list(csv.DictReader(file))
    assert len(stones) >= fewest
    assert fewest > 0 or not stones
    assert {stone["side"] for stone in stones} <= {"single"}
