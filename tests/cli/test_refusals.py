"""A broken job: a message with file, place and mend, exit code 1, and nothing left behind."""

import re

import pytest

SQUARE = '<path d="M 20 20 L 80 20 L 80 80 L 20 80 Z" fill="none" stroke="#000"/>'
SVG = '<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="200mm" viewBox="0 0 200 200">{}</svg>'


def layer(name: str, inside: str) -> str:
    return f'<g data-name="{name}">{inside}</g>'


GOOD = SVG.format(layer("zone frond", SQUARE))
JOB = """
drawing = "front.svg"
[stoning.frond]
outline = { size = "ss16" }
fill = { style = "staggered", sizes = { ss16 = 1 }, gap = 0.6 }
"""


@pytest.fixture
def broken(tmp_path, templater):
    """Runs `make` on a job and drawing, and shows what was said and what is left in the folder."""

    def make(job: str, drawing: str | None):
        (tmp_path / "front.toml").write_text(job, "utf-8")
        if drawing is not None:
            (tmp_path / "front.svg").write_text(drawing, "utf-8")
        before = sorted(path.name for path in tmp_path.iterdir())
        told = templater("make", tmp_path / "front.toml")
        after = sorted(path.name for path in tmp_path.iterdir())
        return told, before, after

    return make


@pytest.mark.parametrize(
    ("job", "drawing", "said", "place"),
    [
        ("drawing = front.svg", GOOD, "cannot be read", "front.toml line 1"),
        (JOB.replace("outline =", "outlien ="), GOOD, "outlien", "front.toml line 4"),
        (JOB, None, "there is no drawing", "front.svg"),
        (
            JOB + '[templates]\npaper = { size = "a9x" }',
            GOOD,
            'there is no paper "a9x"',
            "front.toml, templates.paper.size:",
        ),
        (JOB.replace("gap = 0.6", 'gap = "0,6"'), GOOD, "with a point, 0.6", "front.toml line 5"),
        ("seed = 1.5" + JOB, GOOD, "must be a whole number", "front.toml line 1, seed: must"),
        (JOB, SVG.format(layer("stuff", SQUARE)), "has no zones", "front.svg"),
        (
            JOB,
            SVG.format(layer("zone frond", SQUARE.replace(" Z", ""))),
            "is open",
            'layer "zone frond"',
        ),
        (
            JOB,
            SVG.format(
                layer("piece front", SQUARE)
                + layer("zone frond", '<rect x="120" y="120" width="20" height="20"/>')
            ),
            "outside every piece",
            "at x 130.0 mm, y 70.0 mm",
        ),
        (JOB.replace('size = "ss16"', 'size = "ss161"'), GOOD, "ss161", ""),
        (JOB.replace("ss16 = 1", "ss99 = 1"), GOOD, "ss99", ""),
        (JOB, "<svg", "front.svg", "front.svg"),
    ],
)
def test_a_broken_job_is_told_and_leaves_nothing(broken, job, drawing, said, place):
    told, before, after = broken(job, drawing)
    assert told.returncode == 1
    assert said in told.stderr
    assert place in told.stderr
    assert re.search(r"^\s+mend: \S", told.stderr, re.MULTILINE)
    assert "Traceback" not in told.stderr
    assert after == before


def test_a_folder_that_is_not_ours_is_never_replaced(tmp_path, templater):
    (tmp_path / "front.toml").write_text(JOB, "utf-8")
    (tmp_path / "front.svg").write_text(GOOD, "utf-8")
    theirs = tmp_path / "front-pack"
    theirs.mkdir()
    (theirs / "letter.txt").write_text("mine", "utf-8")
    told = templater("make", tmp_path / "front.toml")
    assert told.returncode == 1
    assert "front-pack" in told.stderr
    assert [path.name for path in theirs.iterdir()] == ["letter.txt"]


def test_the_command_line_itself_is_exit_code_2(templater):
    assert templater("make").returncode == 2
    assert templater("mkae", "x").returncode == 2
    assert templater("make", "a.toml", "--fast").returncode == 2


def test_a_missing_job_is_exit_code_1_with_the_nearest_name(tmp_path, templater):
    (tmp_path / "front.toml").write_text(JOB, "utf-8")
    told = templater("make", tmp_path / "frnt.toml")
    assert told.returncode == 1
    assert "Did you mean front.toml" in told.stderr


def test_a_folder_without_rights_is_exit_code_74(tmp_path, templater):
    (tmp_path / "front.toml").write_text(JOB, "utf-8")
    (tmp_path / "front.svg").write_text(GOOD, "utf-8")
    # A file where a folder would have to be stands for a place that cannot be written to, also for root.
    (tmp_path / "file").write_text("", "utf-8")
    told = templater("make", tmp_path / "front.toml", "-o", tmp_path / "file" / "pack")
    assert told.returncode == 74
    assert "Traceback" not in told.stderr


def test_a_drawing_given_for_a_job_is_told_how_to_get_one(tmp_path, templater):
    (tmp_path / "front.svg").write_text(GOOD, "utf-8")
    told = templater("make", tmp_path / "front.svg")
    assert told.returncode == 1
    assert "a drawing, not a job" in told.stderr
    assert "templater start" in told.stderr


def test_a_folder_given_for_a_job_is_no_fault_of_ours(templater):
    told = templater("make", ".")
    assert told.returncode == 1
    assert "there is no job ." in told.stderr


def test_a_misspelt_colour_is_told_and_a_name_of_ones_own_is_not(tmp_path, templater):
    for colour, told in (("seagrean", 'Did you mean "seagreen"?'), ("crystal lagoon", None)):
        (tmp_path / "front.toml").write_text(f"{JOB}colour = {colour!r}\n", "utf-8")
        (tmp_path / "front.svg").write_text(GOOD, "utf-8")
        said = templater("make", tmp_path / "front.toml").stderr
        assert (told in said) if told else ("Did you mean" not in said)
