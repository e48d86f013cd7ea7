import dataclasses

import pytest

from templater.job import load_job


@dataclasses.dataclass(frozen=True)
class Packed:
    pass


@dataclasses.dataclass(frozen=True)
class Sprinkled:
    coverage: float | None = None


STYLES = {"packed": Packed, "sprinkled": Sprinkled}

WHOLE = """
job = 1
name = "Kelp leotard, front"
drawing = "kelp-front.svg"
order = ["frond", "tip"]

[pieces.front]
make = "fold"
allowance = "3/8 in"
edges = { hem = 20 }

[zones.frond]
edges = { side = 12 }

[stoning.frond]
colour = { "sea green" = 80, "mint" = 20 }
outline = { size = "ss16", gap = 0.3 }
fill = { style = "packed", sizes = { ss20 = 25, ss16 = 50 } }

[stoning.ground]
outline = false
fill = { style = "sprinkled", sizes = { ss16 = 1 }, gap = 0.6, coverage = 0.30 }

[rows.spine]
stone = ["navette 10x5", "navette 8x4"]
turn = [0, 90]

[templates]
sheet = { width = 610 }

[prices]
currency = "EUR"
"ss16 sea green ab" = { per = 144, price = 4.20 }
"""


def problems_of(text: str) -> list[tuple[str, int | None, str, str]]:
    job, problems = load_job(text, "leotard.toml", STYLES)
    assert job is None
    return [(p.code, p.source.line if p.source else None, p.message, p.mend) for p in problems]


def test_a_whole_job_is_read():
    job, problems = load_job(WHOLE, "leotard.toml", STYLES)
    assert problems == ()
    assert job is not None
    assert job.pieces["front"].allowance == pytest.approx(9.525)
    assert job.stoning["ground"].outline is False
    assert job.stoning["ground"].fill.parameters == {"coverage": 0.30}
    assert job.rows["spine"].turn == (0.0, 90.0)
    assert job.prices.packs["ss16 sea green ab"].per == 144
    assert job.templates.sheet.width == 610


def test_a_drawing_is_all_it_needs():
    job, problems = load_job('drawing = "a.svg"', "a.toml", STYLES)
    assert problems == ()
    assert job is not None
    assert job.clear.margin == 3.0
    assert job.stoning_of("frond") is None


@pytest.mark.parametrize(
    ("text", "code", "line", "said", "mend"),
    [
        (
            'drawing = "a"\n[zones.frond]\nallowence = 3',
            "unknown-key",
            3,
            "zones.frond.allowence",
            '"allowance"',
        ),
        (
            'drawing = "a"\n[clear]\nmargin = 0,4',
            "job-not-toml",
            3,
            "margin = 0,4",
            "0.4 instead of 0,4",
        ),
        ('drawing = "a"\n[clear]\nmargin = nan', "bad-value", 3, "clear.margin", ""),
        ('drawing = "a"\n[clear]\nmargin = -1', "bad-value", 3, "below 0 mm", ""),
        ('drawing = "a"\n[clear]\nmargin = "three"', "bad-value", 3, "no length", ""),
        ('name = "x"', "missing-key", None, "drawing", ""),
        ("job = 2\ndrawing = 'a'", "job-version", None, "job = 2", "job = 1"),
        ('drawing = "a"\n[templates]\nlay_seconds = 1', "bad-value", 3, "lay_seconds", ""),
        (
            'drawing = "a"\n[stoning.f]\noutline = { border = "both" }',
            "bad-value",
            3,
            "stoning.f.outline.border",
            "",
        ),
        (
            'drawing = "a"\n[templates]\nformats = ["svg", "hpglx"]',
            "bad-value",
            3,
            "formats",
            "",
        ),
        (
            'drawing = "a"\n[templates]\nhpgl_units_per_mm = 4',
            "bad-value",
            3,
            "hpgl_units_per_mm",
            "",
        ),
        (
            'drawing = "a"\n[stoning.f]\nfill = { style = "packet" }',
            "unknown-style",
            3,
            "packet",
            '"packed"',
        ),
        (
            'drawing = "a"\n[stoning.f]\nfill = { coverage = 1 }',
            "unknown-key",
            3,
            "fill.coverage",
            "",
        ),
        (
            'drawing = "a"\n[stoning.f]\nfill = { style = "sprinkled", coverge = 1 }',
            "unknown-key",
            3,
            "coverge",
            '"coverage"',
        ),
        (
            'drawing = "a"\n[stoning.f]\nfill = { style = "sprinkled", coverage = "lots" }',
            "bad-value",
            3,
            "coverage",
            "",
        ),
        ('drawing = "a"\n[templates]\nsheet = { widht = 4 }', "unknown-key", 3, "widht", '"width"'),
    ],
)
def test_what_is_wrong_is_said_with_its_place_and_mend(text, code, line, said, mend):
    found = problems_of(text)
    assert len(found) == 1
    assert found[0][:2] == (code, line)
    assert said in found[0][2]
    assert mend in found[0][3]


def test_every_error_is_reported_at_once():
    found = problems_of(
        'drawing = "a"\n[clear]\nmargin = -1\nwidth = "x"\n[rows.spine]\nturn = "up"'
    )
    assert [line for _, line, _, _ in found] == [6, 3, 4]


@pytest.mark.parametrize(
    ("written", "mm"),
    [
        ("10 mm", 10.0),
        ("3/8 in", 9.525),
        ("1 1/2 in", 38.1),
        ("1-1/2 in", 38.1),
        ("1.5 cm", 15.0),
        ("72pt", 25.4),
    ],
)
def test_lengths_are_read_in_the_units_people_write(written, mm):
    # The international inch is 25.4 mm exactly; a point is 1/72 in.
    job, _ = load_job(f'drawing = "a"\n[clear]\nmargin = "{written}"', "a.toml")
    assert job is not None
    assert job.clear.margin == pytest.approx(mm, abs=1e-12)
