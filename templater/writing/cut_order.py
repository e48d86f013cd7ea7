"""A sheet with its document order made the order of work: drawn first, then holes, then outlines."""

from __future__ import annotations

from dataclasses import replace

from templater.geometry.cut_order import cut_order
from templater.geometry.polygons import circle
from templater.model.curves import Path
from templater.model.sheets import Circle, Drawable, Pen, Sheet, SheetLayer, Stroke


def in_cut_order(sheet: Sheet) -> Sheet:
    """The same sheet: layers that are only drawn come first, then those with holes, then those
    with cut lines; on a layer cut lines come last, inside before outside, with short travel.

    Holes keep their order: whoever makes the sheet has laid their tour.
    """
    layers = sorted(sheet.layers, key=_turn)
    return replace(sheet, layers=tuple(_ordered(layer) for layer in layers))


def _pen(item: Drawable) -> Pen | None:
    return item.pen if isinstance(item, Stroke | Circle) else None


def _turn(layer: SheetLayer) -> int:
    pens = {_pen(item) for item in layer.items}
    return 2 if Pen.CUT in pens else 1 if Pen.HOLE in pens else 0


def _ordered(layer: SheetLayer) -> SheetLayer:
    cuts = [item for item in layer.items if _pen(item) is Pen.CUT and not _is_empty(item)]
    if len(cuts) < 2:
        others = [item for item in layer.items if _pen(item) is not Pen.CUT]
        return replace(layer, items=(*others, *cuts)) if cuts else layer
    order = cut_order([_path(item) for item in cuts])
    others = [item for item in layer.items if _pen(item) is not Pen.CUT]
    return replace(layer, items=(*others, *(cuts[i] for i in order)))


def _is_empty(item: Drawable) -> bool:
    return isinstance(item, Stroke) and not item.path.segments


def _path(item: Drawable) -> Path:
    if isinstance(item, Circle):
        return circle((item.x_mm, item.y_mm), item.diameter_mm)
    assert isinstance(item, Stroke)
    return item.path
