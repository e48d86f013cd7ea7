"""Signs that tell stone sizes apart on a prick sheet, by shape, never by colour."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping

from templater.geometry.polygons import polyline
from templater.model.curves import Path, Point
from templater.model.parts import Pass
from templater.model.sheets import Drawable, Pen, Stroke
from templater.model.stones import PlacedStone

SIGN_MM = 2.2
"""A sign's width: small enough for the smallest pitch it is used at (ss6 and up)."""
_NAMES = ("no sign", "square", "triangle", "diamond", "cross", "hexagon", "slash", "backslash")


def _sizes_by_count(one: Pass, stones: Mapping[str, PlacedStone]) -> list[tuple[str, int]]:
    counts = Counter(stones[hole.stone_id].size for hole in one.holes)
    return sorted(counts.items(), key=lambda item: (-item[1], item[0]))


def legend_words(one: Pass, stones: Mapping[str, PlacedStone]) -> str:
    """Such as "ss16 (340) no sign, ss20 (120) square": the commonest size needs no sign."""
    found = _sizes_by_count(one, stones)
    if len(found) == 1:
        return found[0][0]
    return ", ".join(
        f"{size} ({count}) {_NAMES[min(place, len(_NAMES) - 1)]}"
        for place, (size, count) in enumerate(found)
    )


def size_signs(one: Pass, stones: Mapping[str, PlacedStone]) -> Iterator[Drawable]:
    """A sign round every hole whose size is not the commonest."""
    places = {size: place for place, (size, _) in enumerate(_sizes_by_count(one, stones))}
    for hole in one.holes:
        place = min(places[stones[hole.stone_id].size], len(_NAMES) - 1)
        if place > 0:
            yield Stroke(_sign(place, (hole.x_mm, hole.y_mm)), Pen.NOTE)


def _sign(place: int, at: Point) -> Path:
    x, y = at
    half = SIGN_MM / 2.0
    match place:
        case 1:
            return _ring(at, half * math.sqrt(2.0), 4, 45.0)
        case 2:
            return _ring(at, half * 1.4, 3, 90.0)
        case 3:
            return _ring(at, half * 1.3, 4, 0.0)
        case 4:
            out = half * 1.2
            return polyline(
                ((x - out, y), (x + out, y), (x, y), (x, y + out), (x, y - out)), closed=False
            )
        case 5:
            return _ring(at, half * 1.15, 6, 0.0)
        case 6:
            return polyline(((x - half, y - half), (x + half, y + half)), closed=False)
        case _:
            return polyline(((x - half, y + half), (x + half, y - half)), closed=False)


def _ring(at: Point, radius_mm: float, corners: int, first_deg: float) -> Path:
    angles = [math.radians(first_deg + 360.0 * i / corners) for i in range(corners)]
    return polyline(
        [
            (at[0] + radius_mm * math.cos(angle), at[1] + radius_mm * math.sin(angle))
            for angle in angles
        ],
        closed=True,
    )
