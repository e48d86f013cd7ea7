"""Which way fold and neck lie from a template's holes: in words, and as arrows that are cut out with it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from templater.geometry.flatten import flatten
from templater.lettering import text_width_mm
from templater.model.curves import Point
from templater.model.ground import Fold, Ground
from templater.model.names import plain_name
from templater.model.parts import Pass
from templater.model.sheets import Drawable, Lettering, Pen
from templater.sheets.marks import arrow

_ARROW_MM = 5.0
_TEXT_MM = 1.8
_GAP_MM = 3.0
_NECK = ("top", "neck")
"""How names of edges at the neck begin (`edge top`, `edge neckline`)."""


@dataclass(frozen=True, slots=True)
class Way:
    """Where something lies from a sheet's middle: a unit vector on the sheet, (0, 0) for on it."""

    name: str
    dx: float
    dy: float
    words: str


def ways_of(one: Pass, ground: Ground) -> tuple[Way, ...]:
    """The ways to the piece's fold and to its nearest finished edge at the neck, as far as it has them."""
    if not one.holes:
        return ()
    x = sum(hole.x_mm for hole in one.holes) / len(one.holes)
    y = sum(hole.y_mm for hole in one.holes) / len(one.holes)
    found = []
    fold = ground.piece(one.piece).fold
    if fold is not None:
        found.append(_fold_way(one, fold, (x, y)))
    necks = [
        (math.dist(foot, (x, y)), edge.name, foot)
        for edge in ground.references
        if edge.piece == one.piece and plain_name(edge.name).startswith(_NECK)
        for placement in ground.surface(one.piece).sides
        for foot in (
            _nearest(
                [
                    placement.transform.then(one.to_sheet).apply(point)
                    for point in flatten(edge.path, 0.5)
                ],
                (x, y),
            ),
        )
    ]
    if necks:
        _, name, foot = min(necks)
        found.append(_way(f"edge {name}", foot[0] - x, foot[1] - y))
    return tuple(found)


def _nearest(points: list[Point], to: Point) -> Point:
    return min(points, key=lambda point: (math.dist(point, to), point))


def _fold_way(one: Pass, fold: Fold, middle: Point) -> Way:
    (ax, ay), (bx, by) = (one.to_sheet.apply(point) for point in (fold.start, fold.end))
    off = [(h.y_mm - ay) * (bx - ax) - (h.x_mm - ax) * (by - ay) for h in one.holes]
    # Holes reach about as far on either side: the fold runs through the middle of the sheet.
    if min(off) < 0.0 < max(off) and max(off) < -3.0 * min(off) < 9.0 * max(off):
        down = abs(by - ay) >= abs(bx - ax)
        return Way("fold", 0.0, 0.0, f"fold: {'down' if down else 'across'} the middle")
    (x, y), dx, dy = middle, bx - ax, by - ay
    share = ((x - ax) * dx + (y - ay) * dy) / (dx * dx + dy * dy)
    return _way("fold", ax + share * dx - x, ay + share * dy - y)


def _way(name: str, dx: float, dy: float) -> Way:
    length = math.hypot(dx, dy) or 1.0
    if abs(dx) >= abs(dy):
        words = "to the right" if dx > 0.0 else "to the left"
    else:
        words = "above" if dy > 0.0 else "below"
    return Way(name, dx / length, dy / length, f"{name}: {words}")


def arrows_width_mm(ways: tuple[Way, ...]) -> float:
    """How much of a line the arrows and their names take."""
    return sum(_wide(way) for way in ways if _is_off(way))


def way_arrows(ways: tuple[Way, ...], at: Point) -> Iterator[Drawable]:
    """An arrow and a name for each thing that lies off the sheet's middle, in a row from `at`, which
    is the middle of its left end.
    """
    x, y = at
    half = _ARROW_MM / 2.0
    for way in ways:
        if _is_off(way):
            cx = x + half
            start = (round(cx - half * way.dx, 4), round(y - half * way.dy, 4))
            end = (round(cx + half * way.dx, 4), round(y + half * way.dy, 4))
            yield from arrow(start, end, Pen.MARK)
            yield Lettering(way.name, (x + _ARROW_MM + 1.0, y - _TEXT_MM / 2.0), _TEXT_MM)
            x += _wide(way)


def _is_off(way: Way) -> bool:
    return (way.dx, way.dy) != (0.0, 0.0)


def _wide(way: Way) -> float:
    return _ARROW_MM + 1.0 + text_width_mm(way.name, _TEXT_MM) + _GAP_MM
