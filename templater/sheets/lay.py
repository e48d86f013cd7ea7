"""A quick lay: shapes on sheets or a strip, near each other and never nearer than their spacing.

Laid one after the other first, then made tighter by pushing overlapping shapes apart on fewer sheets
or a shorter strip, then slid down and to the left by their true outlines. The same shapes always
lie alike.
"""

from __future__ import annotations

from collections.abc import Sequence

from templater.sheets.lay_search import EFFORT, search_cell, tightened
from templater.sheets.lay_shapes import LayShape, Room, Spot, extent, forms_of, spot_of
from templater.sheets.lay_slide import slid
from templater.sheets.lay_start import first_lay, start_cell

_REACH_CELLS = 4.0


def quick_lay(
    shapes: Sequence[LayShape],
    width_mm: float,
    height_mm: float,
    spacing_mm: float,
    *,
    shorten: bool = True,
    effort: int = EFFORT,
) -> list[Spot | None]:
    """A spot for every shape on sheets of that usable size, whose lower left corner is the origin.

    Shapes keep `spacing_mm` from each other and lie wholly on the sheet; None for one too large.
    The fewest sheets are looked for; with `shorten`, for a strip, also the least height. `effort`
    is for each shape.
    """
    room = Room(width_mm, height_mm, spacing_mm)
    forms = forms_of(shapes, room)
    some = [i for i, one in enumerate(forms) if one]
    spots: list[Spot | None] = [None] * len(shapes)
    if not some:
        return spots
    fitting = [forms[i] for i in some]
    lies = first_lay(fitting, room)
    reach = _REACH_CELLS * max(search_cell(fitting, room), start_cell(fitting, room))
    best = slid(fitting, lies, room, reach)
    found = tightened(fitting, lies, room, shorten=shorten, effort=effort)
    if found != lies:
        best = min(best, slid(fitting, found, room, reach), key=lambda lay: extent(fitting, lay))
    for i, lie in zip(some, best, strict=True):
        spots[i] = spot_of(forms[i][lie.form], lie)
    return spots
