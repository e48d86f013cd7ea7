"""The dimension lines of a true-size placement sheet: both sides where they are one cloth.

Drawn on the garment first, then moved onto the sheet, whose size they help to decide. Imports
shapely inside functions.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from templater.geometry.flatten import flatten
from templater.geometry.measure import path_box
from templater.geometry.moves import moved_path
from templater.model.curves import Point, Transform
from templater.model.ground import Ground, Piece, Side
from templater.model.sheets import Drawable, Lettering, Stroke
from templater.model.stones import PlacedStone
from templater.sheets.measures import Pin, Room, measure_lines, words_box

TEXT_MM = 2.5
_FLAT_MM = 0.1


def placing_lines(
    pins: Sequence[Pin],
    piece: Piece,
    sides: Sequence[tuple[Side, Transform]],
    stones: Sequence[PlacedStone],
    ground: Ground,
    display: str,
) -> tuple[Drawable, ...]:
    """Every pin's dimension lines, in the garment's frame; empty without pins that have measures."""
    from shapely import LineString, box

    if not any(pin.measures for pin in pins):
        return ()
    around = []
    for stone in stones:
        half = max(stone.length_mm, stone.width_mm) / 2.0
        around.append(
            box(stone.x_mm - half, stone.y_mm - half, stone.x_mm + half, stone.y_mm + half)
        )
    areas = [] if piece.area is None else [piece.area]
    areas += [
        region.area for zone in ground.zones if zone.piece == piece.name for region in zone.regions
    ]
    lines = [
        LineString(flatten(moved_path(area.outline, move), _FLAT_MM))
        for area in areas
        for _, move in sides
    ]
    room = Room(around, lines)
    references = [each for each in ground.references if each.piece == piece.name]
    return tuple(
        item
        for _, move in sides
        for item in measure_lines(
            pins, piece, references, move, display, TEXT_MM, room, brief=False
        )
    )


def corners_of(items: Sequence[Drawable]) -> Iterator[Point]:
    """Opposite corners of boxes round the lines and words."""
    for item in items:
        if isinstance(item, Stroke):
            x0, y0, x1, y1 = path_box(item.path)
        elif isinstance(item, Lettering):
            x0, y0, x1, y1 = words_box(item).bounds
        else:
            continue
        yield (x0, y0)
        yield (x1, y1)


def shifted(items: Sequence[Drawable], move: Transform) -> tuple[Drawable, ...]:
    """Lines and words under a move that does not turn."""
    moved: list[Drawable] = []
    for item in items:
        if isinstance(item, Stroke):
            moved.append(Stroke(moved_path(item.path, move), item.pen))
        elif isinstance(item, Lettering):
            x, y = move.apply(item.at)
            moved.append(replace(item, at=(round(x, 4) + 0.0, round(y, 4) + 0.0)))
    return tuple(moved)
