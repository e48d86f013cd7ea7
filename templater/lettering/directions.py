"""Captions in two directions: their fields run from left to right, each field as its own words do.

"Stencil · قطن · 2 to cut" are three things that have nothing to do with each other; taken as one
sentence the number would go with the Arabic word. So fields are isolated from each other, as
UAX #9 allows for structured text (rule HL4).
"""

from __future__ import annotations

from functools import lru_cache

from templater.lettering.bidi import bidi_class

FIELDS_APART = " · "
_OPEN, _CLOSE = "\N{FIRST STRONG ISOLATE}", "\N{POP DIRECTIONAL ISOLATE}"
CONTROLS = frozenset("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
"""Characters that only direct others."""


@lru_cache(maxsize=4096)
def directed(text: str) -> str:
    """The text with each field that has letters running leftwards isolated from the others."""
    fields = text.split(FIELDS_APART)
    if len(fields) == 1 or not runs_leftwards(text) or all_leftwards(text):
        return text
    isolated = (f"{_OPEN}{field}{_CLOSE}" if runs_leftwards(field) else field for field in fields)
    return FIELDS_APART.join(isolated)


def runs_leftwards(text: str) -> bool:
    """Whether some of its letters do."""
    return _has(text, {"R", "AL"})


def all_leftwards(text: str) -> bool:
    """Whether all of its letters do that have a direction."""
    return runs_leftwards(text) and not _has(text, {"L"})


def _has(text: str, classes: set[str]) -> bool:
    return any(bidi_class(letter) in classes for letter in text)
