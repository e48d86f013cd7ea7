"""How wide a text is, whether it fits, and which of its letters the font lacks."""

from __future__ import annotations

import unicodedata
from functools import lru_cache

from templater.lettering.font import face

ISO_HEIGHTS_MM = (1.8, 2.5, 3.5, 5.0, 7.0, 10.0, 14.0, 20.0)
"""Lettering heights of ISO 3098-1, in mm."""
REPLACEMENT = "\ufffd"
"""Stands for every character the font lacks: a question mark in a black diamond."""


@lru_cache(maxsize=4096)
def shown_text(text: str) -> str:
    """The text as it can be drawn: accents composed, tabs and line ends as blanks, and a visible
    replacement for each character that the font lacks or that cannot be drawn.
    """
    return "".join(_shown(letter) for letter in unicodedata.normalize("NFC", text))


def _shown(letter: str) -> str:
    if letter.isspace():
        return " "
    if unicodedata.category(letter) in {"Cc", "Cs", "Cn"}:
        return REPLACEMENT
    return letter if ord(letter) in face().glyphs else REPLACEMENT


def missing_letters(text: str) -> tuple[str, ...]:
    """The characters of the text that are replaced when it is drawn, each once, in order."""
    composed = unicodedata.normalize("NFC", text)
    lost = (c for c in composed if c != REPLACEMENT and _shown(c) == REPLACEMENT)
    return tuple(dict.fromkeys(lost))


def right_to_left_letters(text: str) -> tuple[str, ...]:
    """The characters of scripts that run from right to left, each once, in order. Text is drawn
    from left to right, letter by letter: such words can be told apart, but not read.
    """
    found = (c for c in text if unicodedata.bidirectional(c) in {"R", "AL"})
    return tuple(dict.fromkeys(found))


@lru_cache(maxsize=4096)
def _width_units(text: str) -> int:
    metrics = face()
    return sum(metrics.advances[metrics.glyphs[ord(letter)]] for letter in shown_text(text))


def text_width_mm(text: str, height_mm: float) -> float:
    """The width in mm of one line of text, advance to advance, without kerning.

    `height_mm` is the cap height (ISO 3098). Raises ValueError if it is not above 0.
    """
    if not height_mm > 0.0:
        raise ValueError("a lettering height must be above 0 mm")
    return _width_units(text) * height_mm / face().cap_height


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
    shown = text
    while shown and not fits(f"{shown}…", smallest, width_mm):
        shown = shown[:-1]
    return f"{shown.rstrip()}…", smallest
