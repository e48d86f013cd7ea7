"""What a colour's name looks like in pictures. Names in a job are free text; an unknown one is grey."""

from __future__ import annotations

import re
from functools import lru_cache

from templater.catalogue.tables import table

NEUTRAL = "#a8a8a8"
_LIGHTER = {"light", "pale", "pastel"}
_DARKER = {"dark", "deep"}


@lru_cache(maxsize=1024)
def find_colour(words: str) -> str | None:
    """The #rrggbb of the longest colour name among the words ("sea-green cotton": sea green), or
    None. A light, pale, dark or deep before it that is no part of the name lightens or darkens.
    """
    known = {**table("colours")["css"], **table("colours")["own"]}
    parts = re.findall(r"[^\W\d_]+", words.casefold())
    for length in range(len(parts), 0, -1):
        for start in range(len(parts) - length + 1):
            found = known.get("".join(parts[start : start + length]))
            if found is not None:
                before = parts[start - 1] if start else ""
                return _shaded(str(found), before)
    return None


def meant_colour(words: str) -> str | None:
    """The colour name that words look like a misspelling of, or None: a name of the maker's own
    is none.
    """
    import difflib

    if find_colour(words) is not None:
        return None
    known = sorted({**table("colours")["css"], **table("colours")["own"]})
    written = "".join(re.findall(r"[^\W\d_]+", words.casefold()))
    return next(iter(difflib.get_close_matches(written, known, n=1, cutoff=0.85)), None)


def colour_or_neutral(words: str) -> str:
    """The colour the words name, or a neutral grey."""
    return find_colour(words) or NEUTRAL


def mixed(colour: str, other: str, share: float) -> str:
    """`share` of `other` in `colour`, both #rrggbb."""
    pairs = ((int(colour[i : i + 2], 16), int(other[i : i + 2], 16)) for i in (1, 3, 5))
    return "#" + "".join(f"{round(a + (b - a) * share):02x}" for a, b in pairs)


def _shaded(colour: str, word: str) -> str:
    if word in _LIGHTER:
        return mixed(colour, "#ffffff", 0.4)
    if word in _DARKER:
        return mixed(colour, "#000000", 0.35)
    return colour
