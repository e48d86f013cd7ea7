"""Sheets: named layers of drawable things, ready for any writer. Origin lower left, y up, mm."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import NamedTuple

from templater.model.curves import Area, Path, Point


class Pen(StrEnum):
    """What a line means. Line types by ISO 128-2: cut continuous, seam dashed, fold chain."""

    CUT = "cut"
    HOLE = "hole"
    SEAM = "seam"
    FOLD = "fold"
    MARK = "mark"
    REGISTER = "register"
    GRAIN = "grain"
    STONE = "stone"
    KEEP_CLEAR = "keep-clear"
    NOTE = "note"
    BAR = "bar"
    FRAME = "frame"


class Anchor(StrEnum):
    START = "start"
    MIDDLE = "middle"
    END = "end"


@dataclass(frozen=True, slots=True)
class Stroke:
    """A line drawn with a pen."""

    path: Path
    pen: Pen


class Circle(NamedTuple):
    """A true circle: a round hole, a stone's outline. `tag` is a stone's id, or empty."""

    x_mm: float
    y_mm: float
    diameter_mm: float
    pen: Pen
    tag: str = ""


@dataclass(frozen=True, slots=True)
class Fill:
    """A filled area; `colour` is #rrggbb. Never the only carrier of a meaning."""

    area: Area
    colour: str


@dataclass(frozen=True, slots=True)
class Lettering:
    """One line of text on its baseline. `mirrored` only on sheets meant to be seen from behind."""

    text: str
    at: Point
    height_mm: float
    turn_deg: float = 0.0
    anchor: Anchor = Anchor.START
    mirrored: bool = False
    pen: Pen = Pen.NOTE


Drawable = Stroke | Circle | Fill | Lettering


@dataclass(frozen=True, slots=True)
class SheetLayer:
    name: str
    items: tuple[Drawable, ...]


class Bar(NamedTuple):
    """A test bar: a straight line of known length, from (x0, y0) to (x1, y1)."""

    x0: float
    y0: float
    x1: float
    y1: float
    length_mm: float


@dataclass(frozen=True, slots=True)
class Sheet:
    """A sheet at true size. `name` is folder/stem in the pack, such as "stencils/frond-left-ss16-1".

    `kind`: what the sheet is for; one of kind "placement", or named under "print/", is for people
    and only printed, in tiles; any other is also written whole in each of the job's formats.
    `register`: mark centres. `layers` are not kept in plan.json.
    """

    name: str
    title: str
    size_mm: tuple[float, float]
    kind: str
    register: tuple[Point, ...]
    bars: tuple[Bar, ...]
    number: int
    of: int
    layers: tuple[SheetLayer, ...] = ()
