"""Drawings no shears could follow, through the command: each refused or mended, with a message."""

import pytest

from templater.geometry.measure import area_mm2
from templater.readback import load_plan

SVG = '<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="300mm" viewBox="0 0 300 300">{}</svg>'
JOB = """
drawing = "front.svg"
{}
[stoning.frond]
outline = false
fill = {{ style = "none" }}
"""
PIECE = "M 20 20 H 220 V 220 H 20 Z"
ZONE = "M 60 60 H 160 V 160 H 60 Z"


def layer(name, outline):
    return f'<g data-name="{name}"><path fill-rule="evenodd" d="{outline}" stroke="#000"/></g>'


@pytest.fixture
def made(tmp_path, templater):
    """What `make` said of a drawing, and the folder it worked in."""

    def make(*layers, job=""):
        drawing = SVG.format("".join(layer(name, outline) for name, outline in layers))
        (tmp_path / "front.svg").write_text(drawing, "utf-8")
        (tmp_path / "front.toml").write_text(JOB.format(job), "utf-8")
        return templater("make", tmp_path / "front.toml"), tmp_path / "front-pack"

    return make


REFUSED = {
    "a hole that touches the outline": (
        [("piece front", PIECE), ("zone frond", f"{ZONE} M 60 100 L 100 80 L 100 120 Z")],
        "",
        "hole that touches its outline",
        "x 60.0 mm, y 200.0 mm",
    ),
    "an allowance wider than the piece": (
        [("piece front", "M 20 20 H 40 V 220 H 20 Z"), ("zone frond", "M 24 60 H 36 V 160 H 24 Z")],
        '[pieces.front]\noutline = "cut"\nallowance = 12',
        "allowances are wider than the piece",
        "x 20.0 mm",
    ),
    "a fold that misses the piece": (
        [("piece front", PIECE), ("fold", "M 5 20 V 220"), ("zone frond", ZONE)],
        '[pieces.front]\nmake = "fold"',
        "its outline does not run along it",
        "x 5.0 mm",
    ),
    "overlapping pieces": (
        [
            ("piece front", PIECE),
            ("piece back", "M 100 100 H 280 V 280 H 100 Z"),
            ("zone frond", "M 110 110 H 160 V 160 H 110 Z"),
        ],
        "",
        "lie over each other on 144.0 cm²",
        "x 160.0 mm, y 140.0 mm",
    ),
    "an outline that encloses nothing": (
        [("piece front", PIECE), ("zone frond", "M 60 60 L 160 60 L 60 60 Z")],
        "",
        "encloses nothing",
        "x 60.0 mm, y 240.0 mm",
    ),
}


@pytest.mark.parametrize("case", REFUSED)
def test_what_cannot_be_cut_is_refused_at_its_place(made, case):
    layers, job, said, place = REFUSED[case]
    told, pack = made(*layers, job=job)
    assert told.returncode == 1
    assert said in told.stderr
    assert place in told.stderr
    assert "mend:" in told.stderr
    assert not pack.exists()


MENDED = {
    "edges of no length": (
        "M 60 60 L 60 60 L 160 60 L 160 160 L 160 160 L 60 160 Z",
        "2 parts of lines without length were dropped",
        10_000.0,
    ),
    "a spike without width": (
        "M 60 60 H 160 V 100 L 200 100 L 160 100 V 160 H 60 Z",
        "cross or run along each other",
        10_000.0,
    ),
    "a hole along the outline": (
        f"{ZONE} M 60 80 L 100 80 L 100 120 L 60 120 Z",
        "cross or run along each other",
        8_400.0,
    ),
    "an outline that crosses itself": (
        "M 60 60 L 160 160 L 160 60 L 60 160 Z",
        "cross or run along each other",
        5_000.0,
    ),
}


@pytest.mark.parametrize("case", MENDED)
def test_what_can_be_mended_is_mended_and_told(made, case):
    outline, said, area = MENDED[case]
    told, pack = made(("piece front", PIECE), ("zone frond", outline))
    assert told.returncode == 0, told.stderr
    assert said in told.stderr
    (zone,) = load_plan(pack).ground.zones
    assert sum(area_mm2(region.area) for region in zone.regions) == pytest.approx(area, abs=0.01)


@pytest.mark.parametrize(
    ("outline", "said", "place"),
    [
        (
            "M 60 60 H 160 V 100 L 200 100.05 L 160 100.1 V 160 H 60 Z",
            "spike of 0° that can neither be cut clean nor turned under",
            "x 200.0 mm, y 199.9 mm",
        ),
        (
            "M 60 60 H 160 V 62 H 60 Z",
            "2 mm at its widest: an allowance of 8 mm cannot be turned under it",
            "x 60.0 mm, y 240.0 mm",
        ),
    ],
    ids=["a spike", "a zone narrower than its allowance"],
)
def test_what_hands_must_decide_is_told_at_its_place(made, outline, said, place):
    told, _ = made(
        ("piece front", PIECE), ("zone frond", outline), job="[zones.frond]\nallowance = 8"
    )
    assert told.returncode == 0, told.stderr
    assert said in told.stderr
    assert place in told.stderr
