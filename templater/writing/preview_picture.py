"""The preview as a picture: painted three times too large, then reduced, so that edges are smooth.

Each kind of stone is painted once and pasted where it lies. Imported late (Pillow).
"""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

from templater.model.curves import Ring
from templater.model.plan import Plan
from templater.writing.painted_text import paint_text
from templater.writing.preview_layout import Layout, lay_out
from templater.writing.preview_marks import Kind, StoneKinds

if TYPE_CHECKING:
    from PIL.Image import Image as Picture

    from templater.writing.preview_stones import Facets

_OVERSAMPLED = 3
_LONGEST_PX = 2000
_MOST_PX_PER_MM = 8.0


def preview_png(plan: Plan) -> bytes:
    """The finished piece as PNG, at most 2,000 pixels long."""
    kinds = StoneKinds(plan)
    layout = lay_out(plan)
    scale = min(_LONGEST_PX / max(layout.size_mm), _MOST_PX_PER_MM) * _OVERSAMPLED
    picture = _painted(layout, kinds, scale)
    out = io.BytesIO()
    picture.reduce(_OVERSAMPLED).save(out, "PNG")
    return out.getvalue()


def _painted(layout: Layout, kinds: StoneKinds, scale: float) -> Picture:
    from PIL import Image, ImageDraw

    width, height = (
        max(1, round(side * scale / _OVERSAMPLED)) * _OVERSAMPLED for side in layout.size_mm
    )
    picture = Image.new("RGB", (width, height), layout.ground)
    draw = ImageDraw.Draw(picture)

    def pixels(ring: Ring) -> list[tuple[float, float]]:
        return [(x * scale, height - y * scale) for x, y in ring]

    for patch in layout.patches:
        outline = pixels(patch.rings[0])
        if len(patch.rings) == 1:
            draw.polygon(outline, fill=patch.colour)
        else:
            mask = Image.new("1", picture.size)
            cut = ImageDraw.Draw(mask)
            cut.polygon(outline, fill=1)
            for hole in patch.rings[1:]:
                cut.polygon(pixels(hole), fill=0)
            picture.paste(patch.colour, mask=mask)
        for ring in patch.rings:
            closed = pixels(ring)
            draw.line([*closed, closed[0]], fill="#8a8a8a", width=_OVERSAMPLED)
    sprites: dict[Kind, tuple[Picture, Picture]] = {}
    for stone in layout.stones:
        kind = kinds.kind(stone)
        if kind not in sprites:
            sprites[kind] = _sprite(kinds.facets(stone), scale)
        sprite, mask = sprites[kind]
        x = round(stone.x_mm * scale - sprite.width / 2.0)
        y = round(height - stone.y_mm * scale - sprite.height / 2.0)
        picture.paste(sprite, (x, y), mask)
    for text in layout.texts:
        at = (text.at[0] * scale, height - text.at[1] * scale)
        paint_text(picture, text.text, at, text.height_mm * scale, "#222222", text.anchor)
    return picture


def _sprite(facets: Facets, scale: float) -> tuple[Picture, Picture]:
    """A stone's picture, and the mask of its outline (the first polygon)."""
    from PIL import Image, ImageDraw

    outline = facets[0][0]
    reach = max(max(abs(x), abs(y)) for x, y in outline) * scale
    side = 2 * int(reach + 2) + 1
    middle = side / 2.0 - 0.5
    sprite, mask = Image.new("RGB", (side, side)), Image.new("1", (side, side))
    draw = ImageDraw.Draw(sprite)
    for number, (ring, colour) in enumerate(facets):
        points = [(middle + x * scale, middle - y * scale) for x, y in ring]
        draw.polygon(points, fill=colour)
        if number == 0:
            ImageDraw.Draw(mask).polygon(points, fill=1)
    return sprite, mask
