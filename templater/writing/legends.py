"""What pages say about themselves, cut to the room there is."""

from __future__ import annotations

from templater.lettering import fits
from templater.model.sheets import Sheet


def fitted(text: str, width_mm: float, heights_mm: tuple[float, ...]) -> tuple[str, float]:
    """The text at the first of the heights (largest first) at which it fits; at the last one cut
    short with an ellipsis if it must be.
    """
    for height in heights_mm:
        if fits(text, height, width_mm):
            return text, height
    smallest = heights_mm[-1]
    shown = text
    while shown and not fits(f"{shown}…", smallest, width_mm):
        shown = shown[:-1]
    return f"{shown.rstrip()}…", smallest


def sheet_legend(sheet: Sheet) -> str:
    """A sheet's title and number in one line."""
    return f"{sheet.title}, sheet {sheet.number} of {sheet.of}"
