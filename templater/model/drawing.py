"""What was read from a file: named layers of shapes, in mm, in the canonical frame."""

from __future__ import annotations

from dataclasses import dataclass

from templater.model.curves import Area, Path, Point
from templater.model.problems import Problems, Source


@dataclass(frozen=True, slots=True)
class AreaShape:
    """A closed shape. One element with several subpaths gives one of these for each filled part."""

    area: Area
    source: Source


@dataclass(frozen=True, slots=True)
class LineShape:
    """An open line; `width_mm` is its stroke width where the file gives one, else 0."""

    path: Path
    source: Source
    width_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class PointShape:
    """A point (DXF POINT, a zero-length stroke)."""

    at: Point
    source: Source


@dataclass(frozen=True, slots=True)
class TextShape:
    """A text, kept as a note. `at` is its anchor on the baseline."""

    text: str
    at: Point
    height_mm: float
    turn_deg: float
    source: Source


Shape = AreaShape | LineShape | PointShape | TextShape


@dataclass(frozen=True, slots=True)
class DrawingLayer:
    """A layer as the file names it, in document order. Its role is read from the name by `ground`.

    Where its shapes have several colours, `by_colour` holds them once more: read as if each colour
    lay on a layer of its own, called by `coloured_name`.
    """

    name: str
    shapes: tuple[Shape, ...]
    by_colour: tuple[DrawingLayer, ...] = ()


def coloured_name(layer: str, colour: str) -> str:
    """What a layer's shapes of one colour are called: "0 #ff0000"; "#ff0000" on no named layer."""
    return f"{layer} {colour or NO_COLOUR}".lstrip()


NO_COLOUR = "#none"
"""Stands for the colour of shapes without one, such as those filled by a pattern."""


@dataclass(frozen=True, slots=True)
class Drawing:
    """A file's shapes in mm. `unit` says in words how mm were found, such as "px at 96 per inch".

    `halves` are the pieces of which the file gives one half and its mirror line, in plain names.
    """

    file: str
    layers: tuple[DrawingLayer, ...]
    size_mm: tuple[float, float]
    unit: str
    problems: Problems = ()
    halves: tuple[str, ...] = ()
