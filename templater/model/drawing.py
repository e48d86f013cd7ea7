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
    """A layer as the file names it, in document order. Its role is read from the name by `ground`."""

    name: str
    shapes: tuple[Shape, ...]


@dataclass(frozen=True, slots=True)
class Drawing:
    """A file's shapes in mm. `unit` says in words how mm were found, such as "px at 96 per inch"."""

    file: str
    layers: tuple[DrawingLayer, ...]
    size_mm: tuple[float, float]
    unit: str
    problems: Problems = ()
