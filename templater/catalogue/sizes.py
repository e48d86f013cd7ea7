"""Stone sizes by name: the planned measure, the largest that may come in the packet, the height."""

from __future__ import annotations

import difflib
import re
from functools import cache

from templater.catalogue.tables import table
from templater.model.stones import Size, StoneShape

_ROUND = re.compile(r"^(ss|pp)\s*0*(\d+)$")
_SHAPED = re.compile(r"^([a-z-]+)\s+(\d+(?:\.\d+)?)\s*[x×]\s*(\d+(?:\.\d+)?)(?:\s*mm)?$")


def find_size(name: str) -> Size | None:
    """The size a name stands for ("ss16", "pp 18", "navette 10x5"), or None.

    A shaped stone may have any length and width; those outside the table are taken at their word.
    """
    text = name.strip().lower()
    if match := _ROUND.match(text):
        return _round(f"{match[1]}{match[2]}")
    if match := _SHAPED.match(text):
        shape = table("sizes")["words"].get(match[1], match[1])
        if shape in table("sizes")["shaped"]:
            return _shaped(StoneShape(shape), float(match[2]), float(match[3]))
    return None


def all_sizes() -> tuple[Size, ...]:
    """Every size of the catalogue: rounds by diameter, then the shaped ones."""
    data = table("sizes")
    rounds = [_round(name) for name in data["round"]]
    shaped = [
        _shaped(StoneShape(shape), *(float(n) for n in measure.split("x")))
        for shape, rows in data["shaped"].items()
        for measure, _ in rows
    ]
    return (
        *sorted((s for s in rounds if s), key=lambda s: (s.length_mm, s.name)),
        *(s for s in shaped if s),
    )


def nearest_names(name: str) -> tuple[str, ...]:
    """Up to three names like this one, for messages."""
    known = [size.name for size in all_sizes()]
    return tuple(difflib.get_close_matches(name.strip().lower(), known, n=3, cutoff=0.4))


def sources() -> tuple[tuple[str, str], ...]:
    """What the marks in the sizes' sources stand for."""
    return tuple(table("sizes")["sources"].items())


@cache
def _round(name: str) -> Size | None:
    data = table("sizes")
    row = data["round"].get(name)
    if row is None:
        return None
    smallest, largest, source = float(row[0]), float(row[1]), str(row[2])
    planned = round((smallest + largest) / 2.0, 4)
    return Size(
        name=name,
        shape=StoneShape.ROUND,
        length_mm=planned,
        width_mm=planned,
        smallest_mm=smallest,
        largest_length_mm=largest,
        largest_width_mm=largest,
        height_mm=round(largest * data["height_of_width"]["high"], 4),
        source=source,
        lowest_mm=round(smallest * data["height_of_width"]["low"], 4),
    )


@cache
def _shaped(shape: StoneShape, length_mm: float, width_mm: float) -> Size | None:
    if not (0.0 < width_mm <= length_mm <= 100.0):
        return None
    data = table("sizes")
    spread = float(data["shaped_spread_mm"]["value"])
    measure = f"{length_mm:g}x{width_mm:g}"
    source = next((str(row[1]) for row in data["shaped"][shape] if row[0] == measure), "as named")
    return Size(
        name=f"{shape} {measure}",
        shape=shape,
        length_mm=length_mm,
        width_mm=width_mm,
        smallest_mm=width_mm,
        largest_length_mm=length_mm + spread,
        largest_width_mm=width_mm + spread,
        height_mm=round((width_mm + spread) * data["height_of_width"]["high"], 4),
        source=source,
        lowest_mm=round(width_mm * data["height_of_width"]["low"], 4),
    )
