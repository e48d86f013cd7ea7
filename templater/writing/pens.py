"""What each pen looks like, once for all formats. Colour never carries a meaning alone.

Line types follow ISO 128-2 (continuous for what is cut, dashed for seams, long-dashed dotted for
fold and symmetry lines, dotted for what is kept clear), line widths its series 0.18, 0.25, 0.35;
dash lengths are the standard's multiples of the line width, from memory: dash 12, gap 3, long
dash 24, dot 0.5. Dots are drawn one line width long so that every printer shows them.
"""

from __future__ import annotations

from dataclasses import dataclass

from templater.model.sheets import Pen


@dataclass(frozen=True, slots=True)
class PenStyle:
    """Width and dashes (on, off, on, off …; none: continuous) in mm, colour as #rrggbb, and the
    line type's name in formats that name them.
    """

    width_mm: float
    colour: str
    line_type: str = "CONTINUOUS"
    dashes_mm: tuple[float, ...] = ()


def _dashed(width_mm: float) -> tuple[float, ...]:
    return (round(12 * width_mm, 4), round(3 * width_mm, 4))


def _chain(width_mm: float) -> tuple[float, ...]:
    long_dash, gap = round(24 * width_mm, 4), round(3 * width_mm, 4)
    return (long_dash, gap, width_mm, gap)


def _dotted(width_mm: float) -> tuple[float, ...]:
    return (width_mm, round(3 * width_mm, 4))


PENS: dict[Pen, PenStyle] = {
    Pen.CUT: PenStyle(0.35, "#000000"),
    Pen.HOLE: PenStyle(0.25, "#000000"),
    Pen.SEAM: PenStyle(0.25, "#1f4e8c", "DASHED", _dashed(0.25)),
    Pen.FOLD: PenStyle(0.25, "#6a1b7a", "CHAIN", _chain(0.25)),
    Pen.MARK: PenStyle(0.35, "#000000"),
    Pen.REGISTER: PenStyle(0.18, "#000000"),
    Pen.GRAIN: PenStyle(0.25, "#2e6b34"),
    Pen.STONE: PenStyle(0.18, "#4d4d4d"),
    Pen.KEEP_CLEAR: PenStyle(0.25, "#b3261e", "DOTTED", _dotted(0.25)),
    Pen.NOTE: PenStyle(0.18, "#000000"),
    Pen.BAR: PenStyle(0.25, "#000000"),
    Pen.FRAME: PenStyle(0.18, "#7a7a7a"),
}

JOIN = PenStyle(0.18, "#7a7a7a", "JOIN", (4.32, 0.54, 0.18, 0.54, 0.18, 0.54))
"""Where printed pages meet: long-dashed double-dotted, ISO 128-2's line for adjacent parts."""
JOIN_MARK = PenStyle(0.18, "#7a7a7a")


def rgb(colour: str) -> tuple[float, float, float]:
    """A #rrggbb colour as shares of one. Raises ValueError if it is none."""
    if len(colour) != 7 or not colour.startswith("#"):
        raise ValueError(f"{colour!r} is no #rrggbb colour")
    return (int(colour[1:3], 16) / 255, int(colour[3:5], 16) / 255, int(colour[5:7], 16) / 255)
