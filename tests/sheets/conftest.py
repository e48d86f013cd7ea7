"""The demo's drawing with a plain lattice of stones in each zone: every kind of sheet, made once."""

from dataclasses import dataclass, field
from importlib.resources import files

import pytest

from templater.applique import make_parts
from templater.catalogue.sizes import find_size
from templater.geometry.polygons import to_polygon
from templater.ground import build_ground
from templater.job import load_job
from templater.model.stones import PlacedStone, StoneKind
from templater.reading import read_drawing
from templater.sheets import make_sheets
from templater.stencils import make_passes

NAMES = ("ss20", "ss16", "ss12", "navette 10x5")


@dataclass
class Made:
    ground: object
    parts: tuple
    stones: tuple
    passes: tuple
    sizes: dict
    job: object
    placed: tuple = ()
    sheets: tuple = ()
    problems: tuple = ()
    more: dict = field(default_factory=dict)

    def of_kind(self, kind):
        return [sheet for sheet in self.sheets if sheet.kind == kind]


def _stones(ground):
    from shapely import Point

    stones = []
    for zone in ground.zones:
        room = to_polygon(zone.regions[0].area, 0.1).buffer(-6.0)
        x0, y0, x1, y1 = room.bounds
        spots = [
            (round(x0 + (i + 0.5 * (j % 2)) * 11.5, 4), round(y0 + j * 10.0, 4))
            for j in range(int((y1 - y0) / 10.0) + 1)
            for i in range(int((x1 - x0) / 11.5) + 1)
        ]
        spots = [spot for spot in spots if room.contains(Point(spot))]
        for placement in ground.surface(zone.piece).sides:
            for number, spot in enumerate(spots):
                name = NAMES[number % len(NAMES)]
                size = find_size(name)
                x, y = placement.transform.apply(spot)
                turn = 0.0 if size.is_round else placement.transform.turned(30.0)
                stones.append(
                    PlacedStone(
                        f"{zone.name}-{placement.side.value}-{number}", zone.name, zone.piece,
                        placement.side, round(x, 4), round(y, 4), turn, name, size.length_mm,
                        size.width_mm, "green", "plain", StoneKind.FILL, 0.5,
                    )
                )  # fmt: skip
    return tuple(stones)


def _make(change=None):
    folder = files("templater.demo")
    text = folder.joinpath("kelp-leotard.toml").read_text(encoding="utf-8")
    job, problems = load_job(text, "kelp-leotard.toml")
    assert job is not None, problems
    if change is not None:
        job = change(job)
    drawing = read_drawing(folder.joinpath("kelp-front.svg").read_bytes(), "kelp-front.svg")
    ground, _ = build_ground(drawing, job)
    parts, _ = make_parts(ground, job)
    stones = _stones(ground)
    sizes = {name: find_size(name) for name in NAMES}
    passes, _ = make_passes(ground, stones, sizes, job)
    made = Made(ground, parts, stones, passes, sizes, job)
    made.placed, made.sheets, made.problems = make_sheets(ground, parts, passes, stones, sizes, job)
    return made


def _pair(job):
    pieces = {"front": job.pieces["front"].model_copy(update={"make": "pair"})}
    sheet = (1200.0, 900.0)
    templates = job.templates.model_copy(update={"sheet": sheet})
    return job.model_copy(update={"pieces": pieces, "templates": templates, "display": "in"})


@pytest.fixture(scope="session")
def fold_made():
    """The demo as it is: one cloth, both sides joined at the fold, on sheets as large as a cutting mat."""
    return _make()


@pytest.fixture(scope="session")
def pair_made():
    """Two cloths, one large sheet, inches for people."""
    return _make(_pair)


def _on_a4(margin_mm):
    def change(job):
        paper = job.templates.paper.model_copy(update={"margin": margin_mm})
        templates = job.templates.model_copy(update={"sheet": "a4", "paper": paper})
        return job.model_copy(update={"templates": templates})

    return change


@pytest.fixture(scope="session")
def on_a4():
    """A4 sheets for printers that leave 8 and 13 mm bare, each with that margin."""
    return [(_make(_on_a4(margin)), margin) for margin in (8.0, 13.0)]


@pytest.fixture(params=["fold_made", "pair_made"])
def made(request):
    return request.getfixturevalue(request.param)
