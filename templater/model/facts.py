"""What a written pack holds, read back from its files: for checks, with nothing taken from the plan."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from templater.model.curves import Point


class StoneRow(NamedTuple):
    """One line of stones.csv."""

    zone: str
    side: str
    x_mm: float
    y_mm: float
    angle_deg: float
    size: str
    length_mm: float
    width_mm: float
    colour: str
    finish: str
    piece: str
    kind: str
    id: str


class HoleRow(NamedTuple):
    """One line of holes.csv; punch_mm is None where the cell is empty."""

    template: str
    pass_number: int
    order: int
    x_mm: float
    y_mm: float
    diameter_mm: float
    punch_mm: float | None
    kind: str
    stone_id: str


@dataclass(frozen=True, slots=True)
class ShoppingRow:
    """One line of shopping.csv."""

    size: str
    colour: str
    finish: str
    count: int
    spare: int
    gross: int


class CircleFact(NamedTuple):
    x_mm: float
    y_mm: float
    diameter_mm: float
    layer: str


class PathFact(NamedTuple):
    """A path as flattened by the reader of its format, to within 0.005 mm."""

    points: tuple[Point, ...]
    closed: bool
    layer: str


class TextFact(NamedTuple):
    """A text; `mirrored` if it would read backwards."""

    text: str
    at: Point
    height_mm: float
    layer: str
    mirrored: bool


@dataclass(frozen=True, slots=True)
class SheetFacts:
    """One written sheet file (a PDF page each), in mm, origin lower left, y up.

    `scaling_off`: whether a PDF asks viewers to print it unscaled; None for other formats.
    `bare`: a machine's file, which holds only what a tool does, no words and no test bars;
    `step_mm` is then the finest step of its coordinates where that is coarser than 0.0001 mm.
    """

    file: str
    page: int
    size_mm: tuple[float, float]
    circles: tuple[CircleFact, ...]
    paths: tuple[PathFact, ...]
    texts: tuple[TextFact, ...]
    scaling_off: bool | None = None
    bare: bool = False
    step_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class PackFacts:
    stones: tuple[StoneRow, ...]
    holes: tuple[HoleRow, ...]
    shopping: tuple[ShoppingRow, ...]
    sheets: tuple[SheetFacts, ...]
    files: tuple[str, ...]
    after_sewing: tuple[StoneRow, ...] = ()
