"""Stones: their sizes, the place where one may lie, and settings of them."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import NamedTuple

from templater.model.curves import Point, Ring
from templater.model.ground import Fold, Side


class StoneShape(StrEnum):
    ROUND = "round"
    NAVETTE = "navette"
    TEARDROP = "teardrop"
    OVAL = "oval"
    RECTANGLE = "rectangle"
    SQUARE = "square"
    TRIANGLE = "triangle"


class StoneKind(StrEnum):
    OUTLINE = "outline"
    FILL = "fill"
    ROW = "row"


@dataclass(frozen=True, slots=True)
class Size:
    """A stone size. For rounds length and width are both the planned diameter, mid-range.

    `largest_length_mm` and `largest_width_mm` are what holes are made from; `height_mm` is the
    upper height, which counts under a `low` limit, `lowest_mm` the lower: film that holds stones by
    their edges is thinner.
    """

    name: str
    shape: StoneShape
    length_mm: float
    width_mm: float
    smallest_mm: float
    largest_length_mm: float
    largest_width_mm: float
    height_mm: float
    source: str
    lowest_mm: float = 0.0

    @property
    def is_round(self) -> bool:
        return self.shape is StoneShape.ROUND


class Wall(NamedTuple):
    """A straight bit of something stones keep away from.

    A stone's edge stays at least `clearance_mm` from it. Stones of height up to `limit_mm` pass
    as if it were not there (−1: none do). A wall along the fold (`is_fold`) does not hold for stones
    centred on the fold.
    """

    x0: float
    y0: float
    x1: float
    y1: float
    clearance_mm: float
    limit_mm: float = -1.0
    is_fold: bool = False


class Obstacle(NamedTuple):
    """A stone already placed: a convex outline (a disc has one point and a radius)."""

    corners: Ring
    radius_mm: float
    gap_mm: float


class LowArea(NamedTuple):
    """Where stones higher than `limit_mm` may not lie at all."""

    limit_mm: float
    rings: tuple[Ring, ...]


@dataclass(frozen=True, slots=True)
class Field:
    """Where the stones of one zone may lie.

    `rings`: the zone less its clear areas, flattened to within `flat_mm`; inside is even-odd.
    `walls`: every boundary with the clearance a stone keeps from it (flattening included, on the
    safe side). `row_lines`: the visible stretches of ring along which outline stones run, each a
    polyline with the zone on its left, and whether it closes. `fold`: stones may be centred on it,
    the others clear their mirror images. `area_mm2`: what coverage is taken of.
    """

    zone: str
    piece: str
    rings: tuple[Ring, ...]
    walls: tuple[Wall, ...]
    lows: tuple[LowArea, ...]
    obstacles: tuple[Obstacle, ...]
    fold: Fold | None
    row_lines: tuple[tuple[Ring, bool], ...]
    area_mm2: float
    flat_mm: float


class Stone(NamedTuple):
    """A stone on the drawn reference. Turn is along the length, tip leading; rounds 0."""

    x_mm: float
    y_mm: float
    turn_deg: float
    size: str
    length_mm: float
    width_mm: float
    colour: str
    finish: str
    kind: StoneKind
    gap_mm: float

    @property
    def at(self) -> Point:
        return (self.x_mm, self.y_mm)


@dataclass(frozen=True, slots=True)
class Opening:
    """Gaps between neighbours: their mean at rest, their mean and the largest when stretched."""

    rest_mm: float
    mean_mm: float
    largest_mm: float


@dataclass(frozen=True, slots=True)
class Figures:
    """What a setting came to. Lengths mm, areas mm²; `coverage` = stone area / `area_mm2`.

    `stretched_row`, `stretched_fill`: where the job says that the cloth stretches, how far
    neighbours of a row, and all others, come to stand apart.
    """

    area_mm2: float
    coverage: float
    counts: tuple[tuple[str, int], ...]
    smallest_gap_mm: float | None
    largest_bare_mm: float | None
    bound: int | None = None
    stretched_row: Opening | None = None
    stretched_fill: Opening | None = None


@dataclass(frozen=True, slots=True)
class Setting:
    """Every stone of a zone or row, on the drawn reference. `maximal_size`: the smallest size of a
    fill that promises to be maximal, else None. `edge_mm`: what every stone keeps from its zone's
    boundary; `fill_edge_mm`: what the fill keeps, where that is known.
    """

    zone: str
    piece: str
    stones: tuple[Stone, ...]
    figures: Figures
    maximal_size: str | None = None
    edge_mm: float = 0.0
    fill_gap_mm: float = 0.0
    fill_edge_mm: float | None = None


class PlacedStone(NamedTuple):
    """A stone on the finished garment, in the drawing's frame.

    `after_sewing`: it lies beside a seam and is set when that is sewn.
    """

    id: str
    zone: str
    piece: str
    side: Side
    x_mm: float
    y_mm: float
    turn_deg: float
    size: str
    length_mm: float
    width_mm: float
    colour: str
    finish: str
    kind: StoneKind
    gap_mm: float
    after_sewing: bool = False
