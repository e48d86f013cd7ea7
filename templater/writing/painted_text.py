"""Text on a picture: the outlines that were measured, filled. Imports Pillow when called."""

from __future__ import annotations

import math
from typing import Any

from templater.geometry.flatten import flatten
from templater.geometry.measure import signed_path_area
from templater.geometry.moves import moved_path
from templater.lettering import text_outlines, text_width_mm
from templater.model.curves import Point, Transform
from templater.model.sheets import Anchor

_FINER = 2
"""Letters are painted larger once more: their strokes are thin."""
_FLAT_PX = 0.2
_SHARE = {Anchor.START: 0.0, Anchor.MIDDLE: 0.5, Anchor.END: 1.0}


def paint_text(
    picture: Any,
    text: str,
    at_px: Point,
    height_px: float,
    colour: str,
    anchor: Anchor = Anchor.START,
    *,
    turn_deg: float = 0.0,
    mirrored: bool = False,
) -> None:
    """One line of text whose capitals are `height_px` high, its anchor at `at_px` (y down)."""
    from PIL import Image, ImageDraw

    start = -_SHARE[anchor] * text_width_mm(text, height_px)
    move = Transform(e=start)
    if mirrored:
        move = move.then(Transform(a=-1.0))
    turn = math.radians(turn_deg)
    cos, sin = math.cos(turn), math.sin(turn)
    move = move.then(Transform(cos, sin, -sin, cos)).then(Transform(d=-1.0, e=at_px[0], f=at_px[1]))
    rings = [
        (signed_path_area(path), flatten(moved_path(path, move), _FLAT_PX / _FINER))
        for path in text_outlines(text, height_px)
    ]
    if not rings:
        return
    xs, ys = zip(*(point for _, ring in rings for point in ring), strict=True)
    x0, y0 = math.floor(min(xs)), math.floor(min(ys))
    size = (math.ceil(max(xs)) - x0 + 1, math.ceil(max(ys)) - y0 + 1)
    mask = Image.new("L", (size[0] * _FINER, size[1] * _FINER))
    draw = ImageDraw.Draw(mask)
    # Large before small, so that counters cut what holds them and not what they hold.
    for area, ring in sorted(rings, key=lambda entry: -abs(entry[0])):
        points = [((x - x0) * _FINER, (y - y0) * _FINER) for x, y in ring]
        draw.polygon(points, fill=255 if area > 0.0 else 0)
    picture.paste(colour, (x0, y0), mask.reduce(_FINER))
