"""What the numbered layers and the `Key: value` texts of sewn-product pattern data mean.

The practice is ASTM D6673-10 (withdrawn 2019), before it ANSI/AAMA-292. The numbers below are from
general knowledge, not from the document: a dialect that uses them otherwise is set right in the
job under [layers]. What is not in the table is kept under its own number and listed.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

NUMBERED = {
    1: "piece",
    4: "notch",
    5: "grade",
    6: "fold",
    7: "grain",
    8: "internal",
    9: "stripe",
    10: "plaid",
    11: "cut-out",
    13: "drill",
    14: "seam",
    15: "note",
    80: "notch",
    81: "notch",
    82: "notch",
    83: "notch",
}
"""Layer number to the first word of our layer's name.

Internal lines (8), grade, stripe and plaid references (5, 9, 10) have no role of ours: what they
are for only the maker knows, so they keep a name of their own, to be given a role in the job.
"""
NOTCH_KINDS = {4: "slit or V", 80: "T", 81: "castle", 82: "check", 83: "U"}
GUIDE_POINTS = {2: "turn points", 3: "curve points"}
"""Points that repeat vertices of the lines they belong to: the lines have them already."""
QUALITY_CURVES = {84, 85, 86, 87}
"""Copies of outlines for comparison, left out."""

_KEY = re.compile(r"^\s*#?\s*([A-Za-z][A-Za-z .]*?)\s*:\s*(.*?)\s*$", re.DOTALL)
PIECE_KEYS = ("piece name", "size", "quantity", "category", "material", "annotation")
STYLE_KEYS = (
    "style name",
    "sample size",
    "units",
    "creation date",
    "creation time",
    "author",
    "product",
    "version",
    "rule table",
    "grade rule table",
    "astm",
    "ansi/aamaversion",
)
MM_OF_UNITS = {"metric": 1.0, "english": 25.4}


@dataclass(frozen=True, slots=True)
class Entry:
    """A text of the form `Key: value`; the key in small letters."""

    key: str
    value: str

    @property
    def known(self) -> bool:
        return self.key in PIECE_KEYS or self.key in STYLE_KEYS


def entry_of(text: str) -> Entry | None:
    """The key and value of a text, or None for one of another form."""
    found = _KEY.match(text)
    return Entry(" ".join(found[1].casefold().split()), found[2]) if found else None


def number_of(layer: str) -> int | None:
    """The number of a layer called "1", "01" or the like."""
    plain = layer.strip()
    return int(plain) if plain.isascii() and plain.isdigit() else None
