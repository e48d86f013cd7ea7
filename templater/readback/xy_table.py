"""A written table of places from register mark 1 back to circles in mm on its sheet."""

from __future__ import annotations

import csv
import io
import re

from templater.model.facts import CircleFact, SheetFacts
from templater.readback.faults import Unreadable
from templater.readback.marks import Found

_HEAD = ["point", "x_mm", "y_mm", "width_mm", "stone_id"]
_MARK_MM = 4.0
"""Marks are rings of any width here: the table says only where they lie."""


def read_xy(data: bytes, file: str) -> SheetFacts:
    """One sheet of circles: holes, and register marks. Its origin is the corner that the table names.

    Raises Unreadable for a table without that corner, without mark 1 at zero, or with a record that
    is neither mark, corner nor hole.
    """
    try:
        rows = list(csv.reader(io.StringIO(data.decode("utf-8"), newline=""), strict=True))
    except (UnicodeDecodeError, csv.Error) as error:
        raise Unreadable(f"is no table ({error})") from error
    if not rows or rows[0] != _HEAD or any(len(row) != len(_HEAD) for row in rows):
        raise Unreadable(f"is no table of {', '.join(_HEAD)}")
    places = {row[0]: (_number(row[1]), _number(row[2])) for row in rows[1:]}
    if len(places) < len(rows) - 1:
        raise Unreadable("names a point twice")
    if places.get("mark 1") != (0.0, 0.0) or "corner" not in places:
        raise Unreadable("does not count from mark 1, or does not say where the sheet's corner is")
    left, low = places["corner"]
    found = Found()
    for point, _, _, width, _ in rows[1:]:
        x, y = places[point]
        at = (x - left, y - low)
        if re.fullmatch(r"mark \d+", point):
            found.circles.append(CircleFact(*at, _MARK_MM, "register"))
        elif point.isdecimal():
            found.circles.append(CircleFact(*at, _number(width), "holes"))
        elif point != "corner":
            raise Unreadable(f"holds a point {point!r}, which is not read back")
    return found.bare_facts(file, 0.0)


def _number(text: str) -> float:
    try:
        return float(text)
    except ValueError as error:
        raise Unreadable(f"holds {text!r}, which is no number") from error
