"""Names on the survey picture: inside what they name where there is room, else beside the drawing
with a leader line. Imports shapely inside functions.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from templater.geometry.measure import box_of
from templater.geometry.polygons import polyline, united, without
from templater.lettering import text_width_mm
from templater.lettering.stacking import stacked
from templater.model.curves import Box, Point
from templater.model.sheets import Anchor, Circle, Drawable, Lettering, Pen, Stroke

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

HEIGHT_MM = 2.5
PITCH_MM = 2.0 * HEIGHT_MM
GUTTER_MM = 12.0
"""Between the drawing and the names beside it, for the leaders."""
_INSIDE_MM = (3.5, 2.5)
_AIR_MM = 1.0
_GRID = 15
_MOST_LEADERS = 8
"""Of more shapes on one layer only the largest is led to; how many there are stands in the name."""
_MOST_STEPS = 40
_DOT_MM = 0.8
_LEVEL_MM = 1.0


@dataclass(frozen=True, slots=True)
class Thing:
    """Something to be named: where it is on the sheet, once for each of its shapes (the largest
    first), and where its name may stand, if anywhere.
    """

    name: str
    places: tuple[Point, ...]
    room: BaseGeometry | None = None


@dataclass(frozen=True, slots=True)
class Names:
    """The lettering, the boxes it takes up inside the drawing, and the columns beside it."""

    inside: tuple[Lettering, ...]
    taken: tuple[Box, ...]
    left: tuple[Thing, ...]
    right: tuple[Thing, ...]

    @property
    def widths_mm(self) -> tuple[float, float]:
        """Of the columns, with their gutters."""
        left, right = (
            max((text_width_mm(thing.name, HEIGHT_MM) for thing in column), default=0.0)
            for column in (self.left, self.right)
        )
        return (left + GUTTER_MM if left else 0.0, right + GUTTER_MM if right else 0.0)

    def moved(self, dx_mm: float, dy_mm: float) -> Names:
        def at(place: Point) -> Point:
            return (place[0] + dx_mm, place[1] + dy_mm)

        def thing(named: Thing) -> Thing:
            return Thing(named.name, tuple(at(place) for place in named.places))

        return Names(
            tuple(replace(lettering, at=at(lettering.at)) for lettering in self.inside),
            tuple((*at(box[:2]), *at(box[2:])) for box in self.taken),
            tuple(thing(named) for named in self.left),
            tuple(thing(named) for named in self.right),
        )

    @property
    def height_mm(self) -> float:
        return PITCH_MM * max(len(self.left), len(self.right))


def notes_apart(notes: Sequence[Lettering], lowest_mm: float) -> tuple[Lettering, ...]:
    """The drawing's own texts; one that would lie over another is moved down beneath it, or, where
    that would leave the drawing, up above it.
    """
    placed: list[Lettering] = []
    boxes: list[Box] = []
    for note in notes:
        free = (moved for moved in _moves(note, lowest_mm) if not _over_any(moved, boxes))
        placed.append(next(free, note))
        boxes.append(_note_box(placed[-1]))
    return tuple(placed)


def _moves(note: Lettering, lowest_mm: float) -> Iterator[Lettering]:
    yield note
    if note.turn_deg:
        return
    x, y = note.at
    pitch = 1.6 * note.height_mm
    for way in (-1, 1):
        for step in range(1, _MOST_STEPS):
            level = y + way * step * pitch
            if way < 0 and level < lowest_mm:
                break
            yield replace(note, at=(x, level))


def _over_any(note: Lettering, boxes: Sequence[Box]) -> bool:
    mine = _note_box(note)
    return any(_over(mine, box) for box in boxes)


def _note_box(note: Lettering) -> Box:
    """Of a text from its start; for a turned one the box around the turned text."""
    width, high = text_width_mm(note.text, note.height_mm), note.height_mm
    angle = math.radians(note.turn_deg)
    c, s = math.cos(angle), math.sin(angle)
    low = -0.3 * high  # what hangs below the line
    corners = [(0.0, low), (width, low), (width, high), (0.0, high)]
    return box_of((note.at[0] + c * x - s * y, note.at[1] + s * x + c * y) for x, y in corners)


def _over(one: Box, other: Box) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def name_all(things: Sequence[Thing], notes: Sequence[Lettering], middle_x: float) -> Names:
    """Each name's place, off the notes. Those that find no room go to the column on their side of
    the drawing.
    """
    inside: list[Lettering] = []
    taken: list[Box] = [_note_box(note) for note in notes]
    left: list[Thing] = []
    right: list[Thing] = []
    for thing in things:
        found = _inside(thing, taken)
        if found is None:
            (left if thing.places[0][0] < middle_x else right).append(thing)
            continue
        lettering, box = found
        inside.append(lettering)
        taken.append(box)
    return Names(tuple(inside), tuple(taken), tuple(left), tuple(right))


def _inside(thing: Thing, taken: Sequence[Box]) -> tuple[Lettering, Box] | None:
    """The name in the roomiest spot of its thing, if it fits there."""
    import numpy as np
    import shapely

    if thing.room is None or thing.room.is_empty:
        return None
    boxes = [shapely.box(*box) for box in taken]
    room = without(thing.room, united(b for b in boxes if b.intersects(thing.room)))
    if room.is_empty:
        return None
    x0, y0, x1, y1 = room.bounds
    steps = (np.arange(_GRID) + 0.5) / _GRID
    xs, ys = (a.ravel() for a in np.meshgrid(x0 + steps * (x1 - x0), y0 + steps * (y1 - y0)))
    shapely.prepare(room)
    for height in _INSIDE_MM:
        half_width = text_width_mm(thing.name, height) / 2.0 + _AIR_MM
        half_height = height / 2.0 + _AIR_MM
        boxes = shapely.box(xs - half_width, ys - half_height, xs + half_width, ys + half_height)
        fitting = np.flatnonzero(shapely.contains(room, boxes))
        if not len(fitting):
            continue
        airs = shapely.distance(boxes[fitting], room.boundary)
        best = fitting[int(np.argmax(np.round(airs, 6)))]
        x, y = round(float(xs[best]), 4), round(float(ys[best]), 4)
        lettering = Lettering(thing.name, (x, y - height / 2.0), height, anchor=Anchor.MIDDLE)
        return lettering, (x - half_width, y - half_height, x + half_width, y + half_height)
    return None


def beside(names: Names, box: Box) -> tuple[tuple[Drawable, ...], tuple[Box, ...]]:
    """The columns to the left and right of the drawing's box, with their leaders, and the boxes
    that the words take up.
    """
    items: list[Drawable] = []
    taken: list[Box] = []
    for is_left, column in ((True, names.left), (False, names.right)):
        edge = box[0] - GUTTER_MM if is_left else box[2] + GUTTER_MM
        ordered, wishes = _in_order(column, edge)
        middles = stacked(wishes, PITCH_MM)
        way = 1.0 if is_left else -1.0
        anchor = Anchor.END if is_left else Anchor.START
        for thing, middle in zip(ordered, _within(middles, box), strict=True):
            baseline = (edge, middle - HEIGHT_MM / 2.0)
            items.append(Lettering(thing.name, baseline, HEIGHT_MM, anchor=anchor))
            width = text_width_mm(thing.name, HEIGHT_MM)
            x0 = edge - width if is_left else edge
            taken.append((x0, middle - HEIGHT_MM, x0 + width, middle + HEIGHT_MM))
            start, elbow = (edge + way * 1.0, middle), (edge + way * 4.0, middle)
            for place in thing.places if len(thing.places) <= _MOST_LEADERS else thing.places[:1]:
                items.append(Stroke(polyline([start, elbow, place], closed=False), Pen.NOTE))
                items.append(Circle(place[0], place[1], _DOT_MM, Pen.NOTE))
    return tuple(items), tuple(taken)


def _in_order(column: Sequence[Thing], edge: float) -> tuple[list[Thing], list[float]]:
    """From below to above, with the height wished for each name. Of things at one height the
    nearest is named lowest, and none level with them, so that no leader runs through another thing.
    """
    rows: list[list[Thing]] = []
    for thing in sorted(column, key=lambda t: (t.places[0][1], t.places[0][0], t.name)):
        if rows and thing.places[0][1] - rows[-1][0].places[0][1] <= _LEVEL_MM:
            rows[-1].append(thing)
        else:
            rows.append([thing])
    ordered: list[Thing] = []
    wishes: list[float] = []
    for row in rows:
        row.sort(key=lambda t: (abs(t.places[0][0] - edge), t.name))
        ordered += row
        level = PITCH_MM / 2.0 if len(row) > 1 and len(row) % 2 else 0.0
        wishes += [row[0].places[0][1] + level] * len(row)
    return ordered, wishes


def _within(middles: Sequence[float], box: Box) -> list[float]:
    """The column as it is, moved as a whole where it would hang out at the foot or the head."""
    if not middles:
        return []
    low, high = box[1] + PITCH_MM / 2.0, box[3] - PITCH_MM / 2.0
    moved = list(middles)
    floor = low
    for k, middle in enumerate(moved):  # push up from the foot
        moved[k] = max(middle, floor)
        floor = moved[k] + PITCH_MM
    ceiling = high
    for k in range(len(moved) - 1, -1, -1):  # and down from the head
        moved[k] = min(moved[k], ceiling)
        ceiling = moved[k] - PITCH_MM
    return moved
