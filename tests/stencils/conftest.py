"""A front of two cloths with one square zone, and one joined at the fold, both made by hand."""

import math

import pytest

from templater.catalogue.sizes import find_size
from templater.geometry.polygons import polyline, rectangle
from templater.job.schema import Job
from templater.model.curves import IDENTITY, Area, mirror_about
from templater.model.ground import (
    Edge,
    EdgeKind,
    Fold,
    Ground,
    Make,
    Piece,
    Region,
    Side,
    SidePlacement,
    Surface,
    Zone,
)
from templater.model.problems import Source
from templater.model.stones import PlacedStone, StoneKind

FOLD_X = 300.0


def _ground(make: Make, marks) -> Ground:
    source = Source("front.svg")
    square = rectangle(10.0, 10.0, 110.0, 110.0)
    edges = tuple(
        Edge(EdgeKind.FOLD if make is Make.FOLD else EdgeKind.FREE, polyline((a, b), closed=False))
        for a, b in (
            ((10.0, 10.0), (110.0, 10.0)),
            ((110.0, 10.0), (110.0, 110.0)),
            ((110.0, 110.0), (10.0, 110.0)),
            ((10.0, 110.0), (10.0, 10.0)),
        )
    )
    zone = Zone("Frond é", "front", (Region(Area(square), (edges,)),), 0, tuple(marks), source)
    fold = Fold((FOLD_X, 0.0), (FOLD_X, 400.0))
    piece = Piece(
        "front", Area(rectangle(0.0, 0.0, FOLD_X, 400.0)), make, Side.LEFT, "seam", 10.0, (), fold,
        None, (), (), (), (), (), source,
    )  # fmt: skip
    mirror = mirror_about(*((FOLD_X, 0.0), (FOLD_X, 1.0)))
    sides = (SidePlacement(Side.LEFT, IDENTITY), SidePlacement(Side.RIGHT, mirror))
    surface = Surface("front", sides, make is Make.FOLD)
    return Ground((600.0, 400.0), (piece,), (zone,), (), (surface,), (), (), ())


@pytest.fixture
def make_ground():
    def build(make: Make = Make.PAIR, marks=()) -> Ground:
        return _ground(make, marks)

    return build


@pytest.fixture
def make_job():
    def build(method="hand", **templates) -> Job:
        stoning = {"Frond é": {"method": method}}
        return Job(drawing="front.svg", name="Kelp", stoning=stoning, templates=templates)

    return build


@pytest.fixture
def lattice():
    def build(
        pitch_mm, across=20, down=20, size="ss16", sides=(Side.LEFT, Side.RIGHT), at=(14, 14)
    ):
        """Hexagonal, mirrored to the right about the fold; sizes taken in turn from a tuple."""
        sizes = size if isinstance(size, tuple) else (size,)
        stones = []
        for side in sides:
            for j in range(down):
                for i in range(across):
                    name = sizes[(i + j) % len(sizes)]
                    made = find_size(name)
                    x = round(at[0] + (i + 0.5 * (j % 2)) * pitch_mm, 4)
                    y = round(at[1] + j * pitch_mm * math.sqrt(3.0) / 2.0, 4)
                    if side is Side.RIGHT:
                        x = round(2.0 * FOLD_X - x, 4)
                    stones.append(
                        PlacedStone(
                            f"{side.value}-{i}-{j}", "Frond é", "front", side, x, y, 0.0, name,
                            made.length_mm, made.width_mm, "green", "plain", StoneKind.FILL,
                            pitch_mm - made.width_mm,
                        )
                    )  # fmt: skip
        return tuple(stones)

    return build


@pytest.fixture
def sizes():
    names = ("ss12", "ss16", "ss20", "ss34", "navette 10x5")
    return {name: find_size(name) for name in names}
