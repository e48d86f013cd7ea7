"""How a sheet of holes is laid out: the bands round it, and what is left for the holes.

    +------------------------------+
    |                              |  nothing, where the sheet is larger
    +------------------------+     |
    | title block, long bar  |     |  HEADER_MM
    +--+---------------------+     |
    |  |  cut frame          |     |
    |b |   register marks    |     |
    |a |     holes           |     |
    |r |   register marks    |     |
    |  |  strip, short name  |     |  STRIP_MM
    +--+---------------------+-----+

The title stands right above what it names and is no wider than a page of common paper, so that a
large sheet of which little is used is printed on few pages. The stage that plans the passes and the one that draws the sheets both keep to this.
"""

from __future__ import annotations

from dataclasses import dataclass

MARGIN_MM = 8.0
"""Between the sheet's edge and anything on it, at least: what printers and cutters commonly need
(from memory)."""
HEADER_MM = 42.0
SIDE_BAND_MM = 10.0
MARK_OUT_MM = 6.0
"""From the holes' box to the register marks' centres."""
FRAME_OUT_MM = 6.0
"""From the marks' centres to the cut frame."""
STRIP_MM = 8.0
SMALLEST_CORE_MM = 30.0


@dataclass(frozen=True, slots=True)
class HoleSheet:
    """A sheet's size and the room for the core: the box of holes and register marks' centres."""

    width_mm: float
    height_mm: float
    margin_mm: float = MARGIN_MM

    @property
    def core_width_mm(self) -> float:
        return self.width_mm - 2.0 * self.margin_mm - SIDE_BAND_MM - 2.0 * FRAME_OUT_MM

    @property
    def core_height_mm(self) -> float:
        return self.height_mm - 2.0 * self.margin_mm - HEADER_MM - STRIP_MM - 2.0 * FRAME_OUT_MM

    @property
    def core_left_mm(self) -> float:
        return self.margin_mm + SIDE_BAND_MM + FRAME_OUT_MM

    @property
    def core_bottom_mm(self) -> float:
        return self.margin_mm + STRIP_MM + FRAME_OUT_MM


def margin_for(paper_margin_mm: float) -> float:
    """A sheet's margin where the printer leaves so much of a page bare: a sheet as large as the
    paper then fits on one page.
    """
    return max(MARGIN_MM, paper_margin_mm)


def sheet_for_core(
    width_mm: float, core_height_mm: float, margin_mm: float = MARGIN_MM
) -> HoleSheet:
    """A sheet cut from a roll of `width_mm`, as long as a core of that height needs, in whole mm."""
    bands = 2.0 * margin_mm + HEADER_MM + STRIP_MM + 2.0 * FRAME_OUT_MM
    return HoleSheet(width_mm, float(int(core_height_mm + bands) + 1), margin_mm)
