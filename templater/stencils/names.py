"""Names of templates: lowercase letters, digits and hyphens, each stem once in the pack."""

from __future__ import annotations

import re
import unicodedata

_SPELT = str.maketrans({"ß": "ss", "æ": "ae", "œ": "oe", "ø": "o", "đ": "d", "ł": "l", "þ": "th"})
_LONGEST = 40


def slug(text: str, otherwise: str = "zone") -> str:
    """The text in plain lowercase letters, digits and hyphens; `otherwise` if nothing is left."""
    plain = unicodedata.normalize("NFKD", text.lower().translate(_SPELT))
    plain = plain.encode("ascii", "ignore").decode()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:_LONGEST].strip("-") or otherwise


class Names:
    """Hands out template names; a stem already taken gets a number."""

    def __init__(self) -> None:
        self._taken: set[str] = set()

    def take(self, folder: str, *words: str) -> str:
        """`folder`/stem, the stem being the words that are not empty, joined by hyphens."""
        wanted = "-".join(word for word in words if word)
        stem, number = wanted, 2
        while stem in self._taken:
            stem, number = f"{wanted}-{number}", number + 1
        self._taken.add(stem)
        return f"{folder}/{stem}"


def zone_slugs(names: list[str]) -> dict[str, str]:
    """A slug for every zone or row name, no two alike."""
    slugs: dict[str, str] = {}
    for name in names:
        if name in slugs:
            continue
        wanted = stem = slug(name)
        number = 2
        while stem in slugs.values():
            stem, number = f"{wanted}-{number}", number + 1
        slugs[name] = stem
    return slugs
