"""The font's file and its metrics, read once, when first asked for."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from io import BytesIO
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from fontTools.ttLib import TTFont

FONT_NAME = "DejaVu Sans"
_FILE = "DejaVuSans.ttf"


@dataclass(frozen=True, slots=True)
class Face:
    """Metrics in font units. `advances` is by glyph name, `glyphs` from code point to glyph name."""

    units_per_em: int
    cap_height: int
    ascent: int
    descent: int
    advances: Mapping[str, int]
    glyphs: Mapping[int, str]


def font_bytes() -> bytes:
    """The TrueType file, for embedding."""
    return files("templater.lettering").joinpath(_FILE).read_bytes()


@cache
def font() -> TTFont:
    """The font as fontTools reads it, lazily."""
    from fontTools.ttLib import TTFont

    return TTFont(BytesIO(font_bytes()), lazy=True)


@cache
def face() -> Face:
    """The metrics. The cap height is the top of the H: this font states none of its own."""
    source = font()
    return Face(
        units_per_em=source["head"].unitsPerEm,
        cap_height=source["glyf"]["H"].yMax,
        ascent=source["hhea"].ascent,
        descent=source["hhea"].descent,
        advances={name: advance for name, (advance, _) in source["hmtx"].metrics.items()},
        glyphs=source.getBestCmap(),
    )


def font_size_mm(height_mm: float) -> float:
    """The font size (its em) in mm that gives capitals of `height_mm`."""
    metrics = face()
    return height_mm * metrics.units_per_em / metrics.cap_height
