"""The words of the bench book, from one table."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files
from typing import Any


@cache
def book_words() -> dict[str, Any]:
    """Tables of words, as `book/words.toml` has them."""
    return tomllib.loads(book_file("words.toml"))


def book_file(name: str) -> str:
    """A file of the book, as text."""
    return files("templater.writing").joinpath("book", name).read_text("utf-8")


def side_words(side: str) -> str:
    return str(book_words()["page"].get(side, side))


def zone_words(zone: str, side: str) -> str:
    """A zone on a side, as people say it."""
    where = side_words(side)
    return f"{zone}, {where}" if where else zone


def length_words(length_mm: float, display: str) -> str:
    """A length as the job wants lengths read: mm, or inches to a hundredth."""
    return f"{length_mm / 25.4:.2f} in" if display == "in" else f"{length_mm:.0f} mm"


def area_words(area_mm2: float, display: str) -> str:
    return f"{area_mm2 / 645.16:.1f} in²" if display == "in" else f"{area_mm2 / 100.0:.0f} cm²"


def hours_words(minutes: float) -> str:
    """Minutes as hours and minutes: 2 h 05 min."""
    whole = round(minutes)
    return f"{whole // 60} h {whole % 60:02d} min" if whole >= 60 else f"{whole} min"
