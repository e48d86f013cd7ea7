"""Paper sizes by name."""

from __future__ import annotations

from templater.catalogue.tables import table


def find_paper(name: str) -> tuple[float, float] | None:
    """Width and height in mm of an upright sheet ("a4", "letter"), or None if unknown."""
    row = table("papers").get(name.strip().lower())
    return None if row is None else (float(row[0]), float(row[1]))


def paper_names() -> tuple[str, ...]:
    return tuple(table("papers"))
