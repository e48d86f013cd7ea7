"""`survey --picture`, and what `survey` says in words."""

import io
import json
import re
from pathlib import Path

import numpy as np
import pytest
import resvg_py
from PIL import Image

import templater as package
from templater.job import load_job

DEMO = Path(package.__file__).parent / "demo" / "kelp-front.svg"
SVG = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="{0}" height="{0}" viewBox="0 0 200 200"'
    ' fill="none" stroke="#000">{1}</svg>'
)
SQUARE = '<g data-name="{}"><path d="M20 20H80V80H20Z"/></g>'


@pytest.fixture(scope="module")
def pictures(tmp_path_factory, templater):
    folder = tmp_path_factory.mktemp("pictures")
    for ending in ("svg", "png"):
        told = templater("survey", DEMO, "--picture", folder / f"front.{ending}")
        assert told.returncode == 0, told.stderr
    return folder


def test_the_svg_names_everything(pictures):
    text = (pictures / "front.svg").read_text("utf-8")
    for name in ("piece front", "zone frond", "row spine", "edge top", "clear snaps (3)", "grain"):
        assert f">{name}</text>" in text


def test_the_png_shows_what_the_svg_shows(pictures):
    with Image.open(pictures / "front.png") as picture:
        assert max(picture.size) <= 2400
        ours = np.asarray(picture.convert("L"), float) / 255.0
        width, height = picture.size
    text = (pictures / "front.svg").read_text("utf-8")
    png = resvg_py.svg_to_bytes(svg_string=text, dpi=96, width=width, height=height)
    with Image.open(io.BytesIO(bytes(png))) as picture:
        shown = Image.new("RGBA", picture.size, "#ffffff")
        shown.alpha_composite(picture.convert("RGBA"))
        theirs = np.asarray(shown.convert("L").resize((width, height)), float) / 255.0
    # Fine lines and letters differ by their smoothing; areas and places may not.
    assert np.abs(ours - theirs).mean() < 0.02
    coarse = [
        np.asarray(
            Image.fromarray((a * 255).astype("uint8")).resize((40, 80), Image.Resampling.BOX)
        )
        for a in (ours, theirs)
    ]
    assert np.abs(coarse[0].astype(int) - coarse[1].astype(int)).max() <= 16


def test_the_same_drawing_gives_the_same_bytes(pictures, tmp_path, templater):
    for ending in ("svg", "png"):
        templater("survey", DEMO, "--picture", tmp_path / f"front.{ending}", "--json")
        again = (tmp_path / f"front.{ending}").read_bytes()
        assert again == (pictures / f"front.{ending}").read_bytes()


def test_a_picture_replaces_a_picture_but_no_other_file(tmp_path, templater):
    drawing = tmp_path / "front.svg"
    drawing.write_bytes(DEMO.read_bytes())
    for ending in ("svg", "png"):
        picture = tmp_path / f"look.{ending}"
        for _ in range(2):
            assert templater("survey", drawing, "--picture", picture).returncode == 0
    told = templater("survey", drawing, "--picture", drawing)
    assert told.returncode == 1
    assert "no survey picture" in told.stderr
    assert drawing.read_bytes() == DEMO.read_bytes()
    assert sorted(path.name for path in tmp_path.iterdir()) == ["front.svg", "look.png", "look.svg"]


def test_another_ending_is_a_fault_of_the_command_line(tmp_path, templater):
    told = templater("survey", DEMO, "--picture", tmp_path / "front.jpg")
    assert told.returncode == 2
    assert ".png" in told.stderr


def test_a_drawing_with_errors_gets_its_picture_too(tmp_path, templater):
    drawing = tmp_path / "open.svg"
    drawing.write_text(
        SVG.format("200mm", '<g data-name="zone a"><path d="M20 20H80V80"/></g>'), "utf-8"
    )
    told = templater("survey", drawing, "--picture", tmp_path / "look.svg")
    assert told.returncode == 1
    assert "is open" in (tmp_path / "look.svg").read_text("utf-8")


def test_a_file_that_cannot_be_read_says_why_in_its_picture(tmp_path, templater):
    drawing = tmp_path / "broken.svg"
    drawing.write_text("<svg", "utf-8")
    told = templater("survey", drawing, "--picture", tmp_path / "look.png", "--json")
    assert told.returncode == 1
    assert json.loads(told.stdout)["zones"] == []
    with Image.open(tmp_path / "look.png") as picture:
        assert picture.size[0] > 100


def test_rows_and_edges_are_listed_with_their_lengths(templater):
    text = templater("survey", DEMO).stdout
    assert "row     piece   lines     length\nspine   front       1   400.4 mm" in text
    for edge in ("edge top", "edge leg", "seam side"):
        assert f"\n{edge} " in text


def test_areas_are_told_in_the_units_of_the_drawing(tmp_path, templater):
    for size, area in (("200mm", "36.0 cm²"), ("200in", "3600.0 in²")):
        drawing = tmp_path / f"{size}.svg"
        drawing.write_text(SVG.format(size, SQUARE.format("zone a")), "utf-8")
        assert area in templater("survey", drawing).stdout


def test_a_drawing_in_inches_is_surveyed_and_started_in_inches(tmp_path, templater):
    drawing, picture = tmp_path / "front.svg", tmp_path / "look.svg"
    drawing.write_text(SVG.format("20in", SQUARE.format("zone a")), "utf-8")
    told = templater("survey", drawing, "--picture", picture)
    assert "508.0 × 508.0 mm, 20.00 × 20.00 in" in told.stdout
    assert "6.00 × 6.00 in" in told.stdout
    words = re.findall(r">([^<>]+)</text>", picture.read_text("utf-8"))
    assert any(w.startswith("page 20.00 × 20.00 in, shown 6.00 × 6.00 in at 1 : 1;") for w in words)
    assert "1 in" in words  # the bar: about a quarter of the sheet's width
    assert not any(w.endswith(" mm") for w in words)
    assert templater("start", drawing).returncode == 0
    job, problems = load_job(drawing.with_suffix(".toml").read_text("utf-8"), "front.toml")
    assert problems == ()
    assert job.display == "in"
    assert (job.templates.sheet, job.templates.paper.size) == ("letter", "letter")


def test_start_proposes_roles_and_make_says_where_they_are(tmp_path, templater):
    drawing = tmp_path / "front.svg"
    inner = '<g data-name="Ebene 4"><path d="M30 30H60V60H30Z"/></g>'
    drawing.write_text(SVG.format("200mm", SQUARE.format("Umriss") + inner), "utf-8")
    told = templater("survey", drawing)
    assert told.returncode == 1
    line = '"Ebene 4" = "zone ebene-4"'
    assert f'{line}   likely: closed, inside "Umriss"' in told.stdout
    assert "has no role" not in told.stderr  # it was said above, once
    begun = templater("start", drawing)
    assert begun.returncode == 0, begun.stderr
    assert "[layers]" in begun.stdout
    job = tmp_path / "front.toml"
    text = job.read_text("utf-8")
    assert f"# {line}" in text
    refused = templater("make", job)
    assert refused.returncode == 1
    assert "has no zones" in refused.stderr
    assert line in refused.stderr
    # What a maker does: take the # away before the layers, and before the tables of the zone.
    accepted = re.sub(r'(?m)^# ("[^"]+" = )', r"\1", text)
    first, last = accepted.index("# [stoning.ebene-4]"), accepted.index("[clear]")
    tables = re.sub(r"(?m)^# ", "", accepted[first:last])
    accepted = accepted[:first] + tables + accepted[last:]
    job.write_text(accepted, "utf-8")
    made = templater("make", job)
    assert made.returncode == 0, made.stderr
    assert "ebene-4" in made.stdout


def test_a_drawing_with_nothing_to_go_by_is_still_refused(tmp_path, templater):
    drawing = tmp_path / "front.svg"
    drawing.write_text(SVG.format("200mm", SQUARE.format("piece front")), "utf-8")
    told = templater("start", drawing)
    assert told.returncode == 1
    assert "has no zones" in told.stderr
    assert not (tmp_path / "front.toml").exists()
