"""Test bars for a printed page: one along, one up, and a square, to be measured before cutting."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from templater.geometry.polygons import polyline, rectangle
from templater.model.curves import Point
from templater.model.sheets import Anchor, Lettering, Pen

if TYPE_CHECKING:
    from templater.writing.pdf_canvas import PdfCanvas

_INCH_MM = 25.4
_TICK_MM = 2.0
_TEXT_MM = 2.5
SQUARE_FROM_BARS_MM = 8.0


@dataclass(frozen=True, slots=True)
class MeasureBars:
    """The lengths drawn, in mm, and how they are called."""

    along_mm: float
    up_mm: float
    square_mm: float
    inches: bool

    def called(self, length_mm: float) -> str:
        return f"{length_mm / _INCH_MM:.0f} in" if self.inches else f"{length_mm:.0f} mm"


def bars_for(room_mm: tuple[float, float], *, inches: bool) -> MeasureBars:
    """150 mm along and up and a square of 50 mm (4 in and 2 in), or the largest whole cm (or inch)
    that the room allows: a small paper has shorter bars.
    """
    unit = _INCH_MM if inches else 10.0
    bar, square = (4.0 * _INCH_MM, 2.0 * _INCH_MM) if inches else (150.0, 50.0)

    def most(wanted: float, room: float) -> float:
        return min(wanted, max(1.0, (room + 1e-6) // unit) * unit)

    side = min(room_mm) - SQUARE_FROM_BARS_MM
    return MeasureBars(most(bar, room_mm[0]), most(bar, room_mm[1]), most(square, side), inches)


def draw_bars(canvas: PdfCanvas, corner: Point, bars: MeasureBars) -> None:
    """Both bars from their common corner, lower left, and the square between them."""
    x, y = corner
    along, up = bars.along_mm, bars.up_mm
    _draw_bar(canvas, (x, y), (x + along, y))
    _draw_bar(canvas, (x, y), (x, y + up))
    under = f"{bars.called(along)} across: measure from end to end"
    canvas.lettering(Lettering(under, (x + along / 2, y - 5.0), _TEXT_MM, 0.0, Anchor.MIDDLE))
    beside = f"{bars.called(up)} up"
    canvas.lettering(Lettering(beside, (x - 2.5, y + up / 2), _TEXT_MM, 90.0, Anchor.MIDDLE))
    left, low, side = x + SQUARE_FROM_BARS_MM, y + SQUARE_FROM_BARS_MM, bars.square_mm
    canvas.stroke(rectangle(left, low, left + side, low + side), Pen.BAR)
    middle = (left + side / 2, low + side / 2 - _TEXT_MM / 2)
    canvas.lettering(Lettering(f"{bars.called(side)} square", middle, _TEXT_MM, 0.0, Anchor.MIDDLE))


def _draw_bar(canvas: PdfCanvas, start: Point, end: Point) -> None:
    """A line with a cross stroke at either end; what is measured is from stroke to stroke."""
    canvas.stroke(polyline((start, end), closed=False), Pen.BAR)
    across = start[1] == end[1]
    for x, y in (start, end):
        dx, dy = (0.0, _TICK_MM) if across else (_TICK_MM, 0.0)
        canvas.stroke(polyline(((x - dx, y - dy), (x + dx, y + dy)), closed=False), Pen.BAR)
