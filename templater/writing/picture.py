"""A sheet as a PNG picture: painted three times too large, then reduced, so that edges are smooth.

For sheets that are looked at on a screen; what is cut or printed is written as SVG, DXF or PDF.
Imports Pillow when called.
"""

from __future__ import annotations

import io
import math
from itertools import cycle, pairwise
from typing import Any

from templater.geometry.flatten import flatten
from templater.geometry.polygons import circle
from templater.model.curves import Area, Path, Point
from templater.model.sheets import Circle, Lettering, Pen, Sheet
from templater.writing.painted_text import paint_text
from templater.writing.pens import PENS
from templater.writing.protocol import draw_sheet

_OVERSAMPLED = 3
_LONGEST_PX = 2400
_MOST_PX_PER_MM = 6.0
_GROUND = "#ffffff"
_THINNEST_PX = 1.0


def sheet_png(sheet: Sheet) -> bytes:
    """The sheet as PNG, at most 2,400 pixels long, its title inside. Raises ValueError for a number
    that is not finite.
    """
    from PIL.PngImagePlugin import PngInfo

    writer = PictureWriter(sheet)
    draw_sheet(sheet, writer)
    kept = PngInfo()
    kept.add_itxt("Title", sheet.title)
    out = io.BytesIO()
    writer.picture.reduce(_OVERSAMPLED).save(out, "PNG", pnginfo=kept)
    return out.getvalue()


class PictureWriter:
    """Paints a sheet; lines are never thinner than a pixel of the finished picture."""

    def __init__(self, sheet: Sheet) -> None:
        from PIL import Image, ImageDraw

        longest = max(sheet.size_mm)
        self._scale = min(_LONGEST_PX / longest, _MOST_PX_PER_MM) * _OVERSAMPLED
        size = tuple(
            max(1, round(side * self._scale / _OVERSAMPLED)) * _OVERSAMPLED
            for side in sheet.size_mm
        )
        self.picture: Any = Image.new("RGB", (size[0], size[1]), _GROUND)
        self._draw = ImageDraw.Draw(self.picture)

    def begin_layer(self, name: str) -> None:
        """Layers are painted over one another."""

    def end_layer(self) -> None:
        """Nothing to close."""

    def stroke(self, path: Path, pen: Pen) -> None:
        points = list(flatten(path, 0.2 / self._scale))
        if path.closed:
            points.append(points[0])
        style = PENS[pen]
        width = max(1, round(max(style.width_mm * self._scale, _THINNEST_PX * _OVERSAMPLED)))
        for part in dashed(points, style.dashes_mm):
            pixels = [self._at(point) for point in part]
            if len(pixels) == 1:
                pixels *= 2
            self._draw.line(pixels, fill=style.colour, width=width, joint="curve")

    def circle(self, circle_: Circle) -> None:
        at = (circle_.x_mm, circle_.y_mm)
        self.stroke(circle(at, circle_.diameter_mm), circle_.pen)

    def fill(self, area: Area, colour: str) -> None:
        from PIL import Image, ImageDraw

        outline = self._ring(area.outline)
        if not area.holes:
            self._draw.polygon(outline, fill=colour)
            return
        xs, ys = zip(*outline, strict=True)
        x0, y0 = math.floor(min(xs)), math.floor(min(ys))
        size = (math.ceil(max(xs)) - x0 + 1, math.ceil(max(ys)) - y0 + 1)
        mask = Image.new("1", size)
        cut = ImageDraw.Draw(mask)
        cut.polygon([(x - x0, y - y0) for x, y in outline], fill=1)
        for hole in area.holes:
            cut.polygon([(x - x0, y - y0) for x, y in self._ring(hole)], fill=0)
        self.picture.paste(colour, (x0, y0), mask)

    def lettering(self, lettering: Lettering) -> None:
        paint_text(
            self.picture,
            lettering.text,
            self._at(lettering.at),
            lettering.height_mm * self._scale,
            PENS[lettering.pen].colour,
            lettering.anchor,
            turn_deg=lettering.turn_deg,
            mirrored=lettering.mirrored,
        )

    def _ring(self, path: Path) -> list[Point]:
        return [self._at(point) for point in flatten(path, 0.2 / self._scale)]

    def _at(self, point: Point) -> Point:
        return (point[0] * self._scale, self.picture.height - point[1] * self._scale)


def dashed(points: list[Point], dashes_mm: tuple[float, ...]) -> list[list[Point]]:
    """A polyline cut into its dashes (on, off, on, off …); whole if there are none."""
    if not dashes_mm or sum(dashes_mm) <= 0.0:
        return [points]
    parts: list[list[Point]] = []
    lengths = cycle(dashes_mm)
    left, on = next(lengths), True
    part = [points[0]]
    for (x0, y0), (x1, y1) in pairwise(points):
        length = math.dist((x0, y0), (x1, y1))
        done = 0.0
        while length - done > left:
            done += left
            at = (x0 + (x1 - x0) * done / length, y0 + (y1 - y0) * done / length)
            if on:
                parts.append([*part, at])
            part, on, left = [at], not on, next(lengths)
        left -= length - done
        part.append((x1, y1))
    if on and len(part) > 1:
        parts.append(part)
    return parts
