"""The one small protocol: a sheet tells a writer what to draw, layer by layer.

`draw_sheet` is the only place that walks a sheet. It snaps every coordinate to 0.0001 mm and
refuses numbers that are not finite, so that writers need not.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Protocol

from templater.model.curves import Arc, Area, Cubic, Line, Path, Segment
from templater.model.sheets import Circle, Fill, Lettering, Pen, Sheet, SheetLayer, Stroke
from templater.writing.numbers import snap, snap_point


class SheetWriter(Protocol):
    """Draws in mm, origin lower left, y up; a format that differs flips at its own door."""

    def begin_layer(self, name: str) -> None: ...

    def stroke(self, path: Path, pen: Pen) -> None: ...

    def circle(self, circle: Circle) -> None: ...

    def fill(self, area: Area, colour: str) -> None: ...

    def lettering(self, lettering: Lettering) -> None: ...

    def end_layer(self) -> None: ...


def draw_sheet(sheet: Sheet, writer: SheetWriter) -> None:
    """Draw the sheet's layers in order. Raises ValueError, naming sheet and layer, for a number
    that is not finite.
    """
    for layer in sheet.layers:
        try:
            draw_layer(layer, writer)
        except ValueError as error:
            raise ValueError(f"sheet {sheet.name}, layer {layer.name}: {error}") from error


def draw_layer(layer: SheetLayer, writer: SheetWriter) -> None:
    """Draw one layer."""
    writer.begin_layer(layer.name)
    for item in layer.items:
        match item:
            case Circle():
                x, y, d, pen, tag = item
                writer.circle(Circle(snap(x), snap(y), snap(d), pen, tag))
            case Stroke():
                if item.path.segments:
                    writer.stroke(snap_path(item.path), item.pen)
            case Fill():
                outline, holes = item.area.outline, item.area.holes
                area = Area(snap_path(outline), tuple(snap_path(hole) for hole in holes))
                writer.fill(area, item.colour)
            case Lettering():
                if item.text.strip():
                    turn, height = snap(item.turn_deg), snap(item.height_mm)
                    at = snap_point(item.at)
                    writer.lettering(replace(item, at=at, turn_deg=turn, height_mm=height))
    writer.end_layer()


def snap_path(path: Path) -> Path:
    """The path with its points on the 0.0001 mm grid; bulges are kept in full."""
    return Path(tuple(_snap_segment(segment) for segment in path.segments), path.closed)


def _snap_segment(segment: Segment) -> Segment:
    match segment:
        case Line():
            return Line(snap_point(segment.start), snap_point(segment.end))
        case Arc():
            snap(segment.bulge)
            return Arc(snap_point(segment.start), snap_point(segment.end), segment.bulge)
        case Cubic():
            return Cubic(
                snap_point(segment.start),
                snap_point(segment.control1),
                snap_point(segment.control2),
                snap_point(segment.end),
            )


@dataclass(slots=True)
class RecordingWriter:
    """Keeps what it is told, for tests: (verb, value) pairs in order."""

    calls: list[tuple[str, object]] = field(default_factory=list)

    def begin_layer(self, name: str) -> None:
        self.calls.append(("begin_layer", name))

    def stroke(self, path: Path, pen: Pen) -> None:
        self.calls.append(("stroke", (path, pen)))

    def circle(self, circle: Circle) -> None:
        self.calls.append(("circle", circle))

    def fill(self, area: Area, colour: str) -> None:
        self.calls.append(("fill", (area, colour)))

    def lettering(self, lettering: Lettering) -> None:
        self.calls.append(("lettering", lettering))

    def end_layer(self) -> None:
        self.calls.append(("end_layer", None))
