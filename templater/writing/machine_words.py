"""Words in files that hold ASCII only, and the cautions that go with machines that cut."""

from __future__ import annotations

import textwrap
import unicodedata

_SPELT = str.maketrans({"’": "'", "‘": "'", "–": "-", "—": "-", "×": "x", "ß": "ss", "÷": "/"})
_NO_COMMENT = str.maketrans("();", "[],")
_WIDE = 68

CAUTIONS = (
    "Never cut PVC or vinyl in a laser: it gives off hydrogen chloride.",
    "Never leave a cutting machine unattended. Draw off the fumes.",
    "Keep hands away from blade, drill and beam. Wear eye protection.",
    "Try it first in the air, tool off.",
)


def ascii_words(text: str) -> str:
    """The text in printable ASCII on one line, accents dropped; brackets are made square and
    semicolons commas, since both begin or end comments.
    """
    flat = unicodedata.normalize("NFKD", text.translate(_SPELT))
    flat = flat.translate(_NO_COMMENT)
    shown = "".join(c if " " <= c <= "~" else " " if c.isspace() else "" for c in flat)
    return " ".join(shown.split())


def comments(text: str) -> list[str]:
    """The text as comment lines in brackets, none too long for an old control."""
    return [f"({line})" for line in textwrap.wrap(ascii_words(text), _WIDE)]
