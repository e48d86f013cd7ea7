"""Where on a sheet something is drawn: for leaving out empty pages and for placing marks clear of it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from templater.geometry.flatten import flatten
from templater.geometry.measure import box_of, join_boxes
from templater.lettering import text_width_mm
from templater.model.curves import Box, Ring
from templater.model.sheets import Anchor, Circle, Fill, Lettering, Pen, Sheet, Stroke

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

_FLAT_MM = 0.2
_AT_EDGE_MM = 0.5
_KEPT_WHOLE = (Pen.BAR, Pen.FRAME)


class SheetContent:
    """What is drawn on a sheet. A frame along the sheet's own edges does not count: it need not be
    printed.

    Lines are known to within 0.2 mm; a text counts as its box.
    """

    def __init__(self, sheet: Sheet) -> None:
        import numpy as np
        from shapely import STRtree

        shapes, boxes, self.wholes = _shapes(sheet)
        self._tree = STRtree(shapes)
        self._sides = np.array(boxes).reshape(-1, 4).T
        self.box: Box = join_boxes(boxes) if boxes else (0.0, 0.0, *sheet.size_mm)
        """Around everything drawn, to the middle of lines; the whole sheet if that is nothing.

        `wholes` are the boxes of what is better not parted by a join: words, test bars, titles' frames.
        """

    def touches(self, box: Box) -> bool:
        """Whether anything drawn lies in the box."""
        from shapely import box as rectangle

        x0, y0, x1, y1 = self._sides
        left, low, right, high = box
        if ((x0 >= left) & (y0 >= low) & (x1 <= right) & (y1 <= high)).any():
            return True  # something lies in it altogether, as most often
        return bool(self._tree.query(rectangle(*box), predicate="intersects").size)


def _shapes(sheet: Sheet) -> tuple[list[BaseGeometry], list[Box], list[Box]]:
    import numpy as np
    from shapely import LineString, Polygon, box

    shapes: list[BaseGeometry] = []
    boxes: list[Box] = []
    wholes: list[Box] = []
    round_boxes: list[Box] = []

    def add(shape: BaseGeometry, around: Box) -> None:
        shapes.append(shape)
        boxes.append(around)

    for layer in sheet.layers:
        for item in layer.items:
            match item:
                case Circle():
                    r = item.diameter_mm / 2.0
                    round_boxes.append((item.x_mm - r, item.y_mm - r, item.x_mm + r, item.y_mm + r))
                case Stroke() if item.path.segments:
                    ring = flatten(item.path, _FLAT_MM)
                    if item.pen is Pen.FRAME and _is_edge(box_of(ring), sheet.size_mm):
                        continue
                    closed = (*ring, ring[0]) if item.path.closed or len(ring) == 1 else ring
                    add(LineString(closed), box_of(ring))
                    if item.pen in _KEPT_WHOLE:
                        wholes.append(boxes[-1])
                case Fill():
                    ring = flatten(item.area.outline, _FLAT_MM)
                    add(
                        Polygon(ring).buffer(0.0) if len(ring) > 2 else box(*box_of(ring)),
                        box_of(ring),
                    )
                case Lettering() if item.text.strip():
                    ring = lettering_corners(item)
                    add(Polygon(ring), box_of(ring))
                    wholes.append(boxes[-1])
    shapes.extend(box(*np.array(round_boxes).reshape(-1, 4).T))
    return shapes, boxes + round_boxes, wholes


def _is_edge(around: Box, size_mm: tuple[float, float]) -> bool:
    """Whether a frame runs along the sheet's edges."""
    edges = (0.0, 0.0, *size_mm)
    return all(abs(a - b) < _AT_EDGE_MM for a, b in zip(around, edges, strict=True))


def lettering_corners(item: Lettering) -> Ring:
    """The corners round a line of text, turned as it is, room for accents and tails included."""
    width, height = text_width_mm(item.text, item.height_mm), item.height_mm
    start = {Anchor.START: 0.0, Anchor.MIDDLE: -width / 2.0, Anchor.END: -width}[item.anchor]
    x0, x1 = (-start - width, -start) if item.mirrored else (start, start + width)
    turn = math.radians(item.turn_deg)
    cos, sin = math.cos(turn), math.sin(turn)
    low, high = -0.35 * height, 1.35 * height
    return tuple(
        (item.at[0] + x * cos - y * sin, item.at[1] + x * sin + y * cos)
        for x, y in ((x0, low), (x1, low), (x1, high), (x0, high))
    )
