"""How wide a text is, whether it fits, and which of its letters no font has."""

from __future__ import annotations

from templater.lettering.font import cap_height
from templater.lettering.shaping import REPLACEMENT, clean_text, clusters, is_missing, shape

ISO_HEIGHTS_MM = (1.8, 2.5, 3.5, 5.0, 7.0, 10.0, 14.0, 20.0)
"""Lettering heights of ISO 3098-1, in mm."""


def shown_text(text: str) -> str:
    """The text as it is drawn, in the order in which it is read: accents composed, tabs and line
    ends as blanks, and an empty box for each character that no font has.
    """
    return "".join(REPLACEMENT if is_missing(c) else c for c in clean_text(text))


def missing_letters(text: str) -> tuple[str, ...]:
    """The characters of the text that are replaced when it is drawn, each once, in order."""
    return tuple(dict.fromkeys(c for c in clean_text(text) if is_missing(c)))


def text_width_mm(text: str, height_mm: float) -> float:
    """The width in mm of one line of text, advance to advance, without kerning.

    `height_mm` is the cap height (ISO 3098). Raises ValueError if it is not above 0.
    """
    if not height_mm > 0.0:
        raise ValueError("a lettering height must be above 0 mm")
    return shape(text).width * height_mm / cap_height()


def fits(text: str, height_mm: float, width_mm: float) -> bool:
    """Whether one line of text of this cap height is no wider than `width_mm`."""
    return text_width_mm(text, height_mm) <= width_mm


def fitting_height_mm(
    text: str, width_mm: float, heights_mm: tuple[float, ...] = ISO_HEIGHTS_MM
) -> float | None:
    """The largest of the heights at which the text is no wider than `width_mm`, else None."""
    fitting = [height for height in heights_mm if fits(text, height, width_mm)]
    return max(fitting, default=None)


def fitted(text: str, width_mm: float, heights_mm: tuple[float, ...]) -> tuple[str, float]:
    """The text at the first of the heights (largest first) at which it fits; at the last one cut
    short with an ellipsis if it must be.
    """
    for height in heights_mm:
        if fits(text, height, width_mm):
            return text, height
    smallest = heights_mm[-1]
    shown = list(clusters(text))
    while shown and not fits("".join([*shown, "…"]), smallest, width_mm):
        shown.pop()
    return f"{''.join(shown).rstrip()}…", smallest
