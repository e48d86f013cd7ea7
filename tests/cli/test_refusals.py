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


NAMED = """drawing = "front.svg"

[pieces.front]
allowance = 5
edges = { hem = 3 }

[zones.frond]
stoning = "frond"

[stoning.frond]
outline = { size = "ss16" }
fill = { style = "staggered", sizes = { ss16 = 1 }, gap = 0.6 }
"""


@pytest.mark.parametrize(
    ("was", "misspelt", "place", "said"),
    [
        ("[pieces.front]", "[pieces.fornt]", "line 3, pieces.fornt", 'Did you mean "front"?'),
        ("hem = 3", "hme = 3", "line 5, pieces.front.edges.hme", 'edge or seam "hme"'),
        ("[zones.frond]", "[zones.Frnod]", "line 7, zones.Frnod", 'Did you mean "frond"?'),
        ('= "frond"', '= "frnod"', "line 8, zones.frond.stoning", 'Did you mean "frond"?'),
        ('"ss16"', '"ss98"', "line 11, stoning.frond.outline.size", 'no stone size "ss98"'),
        ("ss16 = 1", "ss99 = 1", "line 12, stoning.frond.fill.sizes", 'no stone size "ss99"'),
    ],
)
def test_a_fault_of_the_job_names_the_job_its_key_and_line(broken, was, misspelt, place, said):
    assert was in NAMED
    drawing = SVG.format(
        layer(
            "piece front", '<path d="M 10 10 L 90 10 L 90 90 L 10 90 Z" fill="none" stroke="#000"/>'
        )
        + layer("edge hem", '<path d="M 10 90 L 90 90" fill="none" stroke="#000"/>')
        + layer("zone frond", SQUARE)
    )
    told, before, after = broken(NAMED.replace(was, misspelt), drawing)
    assert told.returncode == 1
    assert f"error: front.toml {place}: " in told.stderr
    assert said in told.stderr
    assert "front.svg" not in told.stderr
    assert before == after


def test_a_stoning_that_nothing_uses_makes_no_pack_of_nothing(broken):
    told, before, after = broken(JOB.replace("stoning.frond", "stoning.forn"), GOOD)
    assert told.returncode == 1
    assert "error: front.toml line 3, stoning.forn: no zone uses this stoning" in told.stderr
    assert 'Did you mean "frond"?' in told.stderr
    assert before == after


def test_a_stoning_beside_others_that_nothing_uses_is_a_warning(broken):
    told, _, after = broken(JOB + "[stoning.spare]\n", GOOD)
    assert told.returncode == 0
    assert "warning: front.toml line 6, stoning.spare: no zone uses this stoning\n" in told.stderr
    assert "front-pack" in after


def test_survey_of_a_file_that_cannot_be_read_says_only_why(tmp_path, templater):
    (tmp_path / "front.abc").write_text("nothing", "utf-8")
    told = templater("survey", tmp_path / "front.abc")
    assert told.returncode == 1
    assert told.stdout == ""
    assert told.stderr.count("error:") == 1
    assert "of a kind that is not known" in told.stderr


def test_a_misspelt_colour_is_told_and_a_name_of_ones_own_is_not(tmp_path, templater):
    for colour, told in (("seagrean", 'Did you mean "seagreen"?'), ("crystal lagoon", None)):
        (tmp_path / "front.toml").write_text(f"{JOB}colour = {colour!r}\n", "utf-8")
        (tmp_path / "front.svg").write_text(GOOD, "utf-8")
        said = templater("make", tmp_path / "front.toml").stderr
        assert (told in said) if told else ("Did you mean" not in said)
