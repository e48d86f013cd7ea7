"""The survey picture's scale: a drawing of any size is brought to a sheet that can be looked at."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from templater.geometry.measure import join_boxes, path_box
from templater.model.curves import Box, Point, Transform
from templater.model.drawing import AreaShape, Drawing, LineShape, Shape

_SCALES = (50.0, 20.0, 10.0, 5.0, 2.0, 1.0, 1 / 2, 1 / 5, 1 / 10, 1 / 20, 1 / 50, 1 / 100)
"""ISO 5455, from memory: enlargements and reductions by 2, 5 and 10, full size between them."""
_INCH_MM = 25.4
_LONGEST_MM = 420.0
_LONGEST_ENLARGED_MM = 220.0
_NOTHING: Box = (0.0, 0.0, 100.0, 100.0)


@dataclass(frozen=True, slots=True)
class Frame:
    """What part of the drawing is shown, at what scale, and where its lower left corner lies on
    the sheet.
    """

    box: Box
    scale: float
    corner: Point = (0.0, 0.0)

    @property
    def size_mm(self) -> tuple[float, float]:
        """On the sheet."""
        x0, y0, x1, y1 = self.box
        return (x1 - x0) * self.scale, (y1 - y0) * self.scale

    @property
    def to_sheet(self) -> Transform:
        k = self.scale
        return Transform(
            a=k, d=k, e=self.corner[0] - k * self.box[0], f=self.corner[1] - k * self.box[1]
        )

    @property
    def words(self) -> str:
        """The scale as drawings state it: 1 : 5, 2 : 1."""
        if self.scale >= 1.0:
            return f"{self.scale:.0f} : 1"
        return f"1 : {1.0 / self.scale:.0f}"

    def bar_mm(self, *, in_inches: bool = False) -> float:
        """A round length on the garment, near a quarter of the sheet's width: 1, 2 or 5 × 10ⁿ mm, or
        as many inches; below an inch a half, a quarter and so on.
        """
        wanted = max(self.size_mm[0] / 4.0, 12.0) / self.scale / (_INCH_MM if in_inches else 1.0)
        if in_inches and wanted < 1.0:
            return _INCH_MM * 2.0 ** math.floor(math.log2(wanted))
        power = 10.0 ** math.floor(math.log10(wanted))
        length = max(step * power for step in (1.0, 2.0, 5.0) if step * power <= wanted)
        return length * _INCH_MM if in_inches else length


def frame_of(drawing: Drawing, places: Iterable[Point]) -> Frame:
    """A frame around all shapes, and around those of the places that lie not far from them."""
    boxes = [shape_box(shape) for layer in drawing.layers for shape in layer.shapes]
    if boxes:
        box = join_boxes(boxes)
    elif min(drawing.size_mm) > 0.0:
        box = (0.0, 0.0, *drawing.size_mm)
    else:
        box = _NOTHING
    reach = 0.25 * max(box[2] - box[0], box[3] - box[1], 1.0)
    near = [
        (x, y, x, y)
        for x, y in places
        if box[0] - reach <= x <= box[2] + reach and box[1] - reach <= y <= box[3] + reach
    ]
    box = join_boxes([box, *near])
    longest = max(box[2] - box[0], box[3] - box[1], 1e-3)
    fitting = (
        k for k in _SCALES if longest * k <= (_LONGEST_MM if k <= 1.0 else _LONGEST_ENLARGED_MM)
    )
    return Frame(box, next(fitting, _LONGEST_MM / longest))


def shape_box(shape: Shape) -> Box:
    match shape:
        case AreaShape(area):
            return path_box(area.outline)
        case LineShape(path):
            return path_box(path)
        case _:
            return (*shape.at, *shape.at)
