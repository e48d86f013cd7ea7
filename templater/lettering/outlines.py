"""Text as outlines: the fonts' own curves, in mm."""

from __future__ import annotations

from templater.geometry.moves import moved_path
from templater.lettering.font import cap_height
from templater.lettering.shaping import shape
from templater.model.curves import Path, Transform


def text_outlines(text: str, height_mm: float) -> tuple[Path, ...]:
    """The outlines of one line of text: baseline on y = 0, starting at x = 0, y up, mm.

    `height_mm` is the cap height (ISO 3098). Closed paths, letters' outsides anticlockwise and
    their counters clockwise. Raises ValueError if the height is not above 0.
    """
    if not height_mm > 0.0:
        raise ValueError("a lettering height must be above 0 mm")
    scale = height_mm / cap_height()
    paths: list[Path] = []
    for glyph in shape(text).glyphs:
        own = scale * glyph.face.to_units
        move = Transform(a=own, d=own, e=glyph.x * scale, f=glyph.y * scale)
        paths.extend(moved_path(path, move) for path in glyph.face.outlines(glyph.number))
    return tuple(paths)
