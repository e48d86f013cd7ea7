"""The font that is shipped, and the measure of all lettering: the height of its capitals."""

from __future__ import annotations

from functools import cache
from importlib.resources import files

from templater.geometry.measure import path_box
from templater.lettering.faces import Face

FONT_NAME = "DejaVu Sans"
_FILE = "DejaVuSans.ttf"


@cache
def bundled() -> Face:
    """The face that is shipped."""
    import uharfbuzz as hb

    return Face(hb.Blob(font_bytes()), 0, _FILE)


@cache
def cap_height() -> float:
    """The height of its capitals in its units: the top of the H. It states none of its own."""
    face = bundled()
    (letter,) = face.outlines(face.glyph("H") or 0)
    return path_box(letter)[3]


def font_size_mm(height_mm: float) -> float:
    """The font size (its em) in mm that gives capitals of `height_mm`."""
    return height_mm * bundled().units_per_em / cap_height()


def font_bytes() -> bytes:
    """The file of the font that is shipped."""
    return files("templater.lettering").joinpath(_FILE).read_bytes()
