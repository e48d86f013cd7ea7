"""Numbers with their nouns, for messages."""

from __future__ import annotations


def counted(number: int, noun: str, many: str = "") -> str:
    """One thing or several: `many` is the plural where it is not the noun with an s."""
    return f"{number} {noun if number == 1 else many or noun + 's'}"
