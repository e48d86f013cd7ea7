"""Three marks by which film is laid on cloth that is cut already: bits of its cut line.

Register marks lie outside the cut line and are gone when the cloth is cut. So each template shows
three places of the cut line, I, II and III, corners where there are some, and the registration
sheet shows the same with the distances between them: the film lies right where its bits of line
lie on the cloth's edge.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from templater.geometry.hole_sheets import FRAME_OUT_MM
from templater.geometry.measure import box_of, path_box
from templater.geometry.moves import moved_path
from templater.geometry.pose import inverse
from templater.geometry.three_points import three_points
from templater.geometry.walk import part_between, tape_along
from templater.lettering import text_width_mm
from templater.model.curves import Box, Path, Point, Transform
from templater.model.ground import Side, Zone
from templater.model.parts import CutPart, PartKind, Pass
from templater.model.sheets import Anchor, Drawable, Lettering, Pen, Stroke
from templater.sheets.marks import CROSS_MM, line, overlap
from templater.sheets.words import joined, length_words, side_words

NAMES = ("I", "II", "III")
_BIT_MM = 4.0
"""Of the cut line to either side of a mark."""
_STROKE_MM = 3.0
_NAME_MM = 1.8
_NEXT = ("II", "III", "I")
_ROW_MM = 3.6
_TABLE_MOST_MM = 48.0
_GAP_MM = 6.0
_INSIDE_MM = 5.0
"""From the frame's edge to a mark, so that its bit of line lies inside."""


Panel = tuple[str, str, Side, str]
"""Piece, zone, side and the panel's letter."""


@dataclass(frozen=True, slots=True)
class ClothMarks:
    """The three marks of a part for the sheets of one panel, on the garment.

    `bits` are the stretches of the cut line at the marks, `outs` points outwards of it from them.
    """

    name: str
    side: Side
    panel: str
    at: tuple[Point, ...]
    bits: tuple[Path, ...]
    outs: tuple[Point, ...]

    def distances(self, display: str) -> tuple[str, str, str]:
        """I to II, II to III, III to I, in words."""
        a, b, c = self.at
        first, second, third = (math.dist(p, q) for p, q in ((a, b), (b, c), (c, a)))
        return (
            length_words(round(first, 1), display),
            length_words(round(second, 1), display),
            length_words(round(third, 1), display),
        )


class _Cloth(NamedTuple):
    """A cut line to lay film on, the word by which it is told from others of its zone, and where on
    it marks may lie.
    """

    word: str
    outline: Path
    near: Box | None


def panel_of(one: Pass) -> Panel:
    """What all passes and kinds of templates share that are laid on one place."""
    return (one.piece, one.zone, one.side, one.panel)


def cloth_marks(
    passes: Iterable[Pass], parts: Sequence[CutPart], zones: Sequence[Zone] = ()
) -> dict[Panel, tuple[ClothMarks, ...]]:
    """By panel the marks of the cloths that its sheets lie on, where enough of the cut line lies
    inside the frames of them all. On parts with closed darts film is laid on half after half, so
    each half of its `zones` region has its own; parts of this kind over both sides have none.
    """
    frames: dict[Panel, Box] = {}
    for one in passes:
        x0, y0, x1, y1 = _frame(one)
        a0, b0, a1, b1 = frames.get(panel_of(one), (x0, y0, x1, y1))
        frames[panel_of(one)] = (max(x0, a0), max(y0, b0), min(x1, a1), min(y1, b1))
    found: dict[Panel, tuple[ClothMarks, ...]] = {}
    for panel, frame in frames.items():
        piece, zone, side, _ = panel
        own = [
            part
            for part in parts
            if (part.kind, part.piece, part.zone) == (PartKind.APPLIQUE, piece, zone)
            and part.side is side
        ]
        marks = (
            _marks_of(part, panel, frame, cloth)
            for part in own
            for cloth in _cloths(part, zones, several=len(own) > 1)
        )
        found[panel] = tuple(each for each in marks if each is not None)
    return found


def _frame(one: Pass) -> Box:
    """What of a pass's film has room for marks, on the garment."""
    back = inverse(one.to_sheet)
    points = [back.apply(point) for point in one.register]
    points += [back.apply((hole.x_mm, hole.y_mm)) for hole in one.holes]
    x0, y0, x1, y1 = box_of(points)
    out = FRAME_OUT_MM - _INSIDE_MM
    return (x0 - out, y0 - out, x1 + out, y1 + out)


def _cloths(part: CutPart, zones: Sequence[Zone], *, several: bool) -> Iterator[_Cloth]:
    """A part's cut line on the drawn reference; of one with closed darts for each half as the part
    lies when that half lies as it was drawn.
    """
    if not part.halves:
        yield _Cloth(str(part.region) if several else "", part.cut.outline, None)
        return
    zone = next((zone for zone in zones if zone.name == part.zone), None)
    if zone is None or part.side is Side.CENTRE:
        return
    for half in part.halves:
        x0, y0, x1, y1 = path_box(zone.regions[half.region - 1].area.outline)
        near = (x0 - _INSIDE_MM, y0 - _INSIDE_MM, x1 + _INSIDE_MM, y1 + _INSIDE_MM)
        outline = moved_path(part.cut.outline, inverse(half.to_part))
        yield _Cloth(f"half {half.region}", outline, near)


def _marks_of(part: CutPart, panel: Panel, frame: Box, cloth: _Cloth) -> ClothMarks | None:
    """Sought on the drawn reference, so that left and right have mirrored marks."""
    back, outline = inverse(part.to_side), cloth.outline
    box = box_of([back.apply(frame[:2]), back.apply(frame[2:])])
    if cloth.near is not None:
        (ax0, ay0, ax1, ay1), (bx0, by0, bx1, by1) = box, cloth.near
        box = (max(ax0, bx0), max(ay0, by0), min(ax1, bx1), min(ay1, by1))
    places = three_points(outline, box)
    if places is None:
        return None
    tape = tape_along(outline)
    move = part.to_side
    bits = tuple(
        moved_path(
            part_between(
                outline, (along - _BIT_MM) % tape.length_mm, (along + _BIT_MM) % tape.length_mm
            ),
            move,
        )
        for along in places
    )
    outs = tuple(move.apply(_outside(outline, along)) for along in places)
    _, zone, side, letter = panel
    return ClothMarks(
        " ".join(word for word in (zone, cloth.word, letter.upper()) if word),
        side,
        letter,
        tuple(move.apply(tape.at(along)[0]) for along in places),
        bits,
        outs,
    )


def _outside(outline: Path, along: float) -> Point:
    """A point off the cut line; outlines run anticlockwise, so outwards is to the right."""
    tape = tape_along(outline)
    ways = [tape.at((along + step) % tape.length_mm)[1] for step in (-0.5, 0.5)]
    dx, dy = (sum(way[k] for way in ways) for k in (0, 1))
    length = math.hypot(dx, dy) or 1.0
    x, y = tape.at(along)[0]
    return (x + _STROKE_MM * dy / length, y - _STROKE_MM * dx / length)


def cloth_strokes(marks: Iterable[ClothMarks], to_sheet: Transform) -> Iterator[Drawable]:
    """The bits of the cut lines, and a short stroke outwards at each mark."""
    for each in marks:
        for at, bit, out in zip(each.at, each.bits, each.outs, strict=True):
            yield Stroke(moved_path(bit, to_sheet), Pen.MARK)
            yield line(to_sheet.apply(at), to_sheet.apply(out), Pen.MARK)


def cloth_names(
    marks: Iterable[ClothMarks],
    to_sheet: Transform,
    register: Sequence[Point],
    others: Sequence[Box],
    inside: Box,
) -> tuple[Lettering, ...]:
    """I, II and III outside of the cut line, on a sheet of several panels with the panel's letter,
    each `inside` where it lies on no register mark, no other name and none of `others`; left out
    where there is no such place.
    """
    marks = list(marks)
    panels = len({each.panel for each in marks}) > 1
    half = CROSS_MM / 2.0
    taken = [*others, *((x - half, y - half, x + half, y + half) for x, y in register)]
    found: list[Lettering] = []
    for each in marks:
        for name, at, out in zip(NAMES, each.at, each.outs, strict=True):
            word = f"{each.panel.upper()} {name}".strip() if panels else name
            spot = _free(word, to_sheet.apply(at), to_sheet.apply(out), taken, inside)
            if spot is not None:
                taken.append(_box(word, spot))
                found.append(Lettering(word, spot, _NAME_MM, anchor=Anchor.MIDDLE, pen=Pen.MARK))
    return tuple(found)


def name_boxes(names: Iterable[Lettering]) -> list[Box]:
    return [_box(name.text, name.at) for name in names]


def _free(word: str, at: Point, out: Point, taken: Sequence[Box], inside: Box) -> Point | None:
    ux, uy = (out[0] - at[0]) / _STROKE_MM, (out[1] - at[1]) / _STROKE_MM
    for away in (_STROKE_MM + 1.6, _STROKE_MM + 3.0):
        for turn in (0.0, 0.7, -0.7, 1.4, -1.4):
            c, s = math.cos(turn), math.sin(turn)
            x, y = at[0] + away * (c * ux - s * uy), at[1] + away * (s * ux + c * uy)
            spot = (round(x, 4), round(y - _NAME_MM / 2.0, 4))
            box = _box(word, spot)
            is_inside = box[0] >= inside[0] and box[1] >= inside[1]
            is_inside = is_inside and box[2] <= inside[2] and box[3] <= inside[3]
            if is_inside and not any(overlap(box, other) for other in taken):
                return spot
    return None


def _box(word: str, at: Point) -> Box:
    half = text_width_mm(word, _NAME_MM) / 2.0 + 0.2
    return (at[0] - half, at[1] - 0.6, at[0] + half, at[1] + _NAME_MM + 0.4)


class Room(NamedTuple):
    """Where a table may lie."""

    left: float
    top: float
    right: float
    bottom: float


def table_height_mm(marks: Sequence[ClothMarks]) -> float:
    """The room that a table of the distances between these marks wants; a long one gets columns."""
    return min(_TABLE_MOST_MM, (len(marks) + 2) * _ROW_MM) if marks else 0.0


def cloth_table(marks: Sequence[ClothMarks], room: Room, display: str) -> Iterator[Drawable]:
    """The distances between the marks of each panel, in as many columns of rows as there is room for;
    what has none is told by number.
    """
    if not marks:
        return
    many = len({each.side for each in marks}) > 1
    rows = [(_called(each, many=many), *each.distances(display)) for each in marks]
    head = ("film on cut cloth", *(f"{a} to {b}" for a, b in zip(NAMES, _NEXT, strict=True)))
    widths = [max(text_width_mm(row[k], _NAME_MM) for row in (head, *rows)) + 3.0 for k in range(4)]
    deep = int((room.top - room.bottom) / _ROW_MM) - 1
    blocks = int((room.right - room.left + _GAP_MM) / (sum(widths) + _GAP_MM))
    shown = rows[: max(blocks, 0) * deep]
    if len(shown) < len(rows) and shown:
        shown[-1] = (f"and {len(rows) - len(shown) + 1} more", "", "", "")
    for block in range(-(-len(shown) // deep)):
        left = room.left + block * (sum(widths) + _GAP_MM)
        own = shown[block * deep : (block + 1) * deep]
        for number, row in enumerate((head, *own), start=1):
            x, y = left, round(room.top - number * _ROW_MM, 4)
            for word, width in zip(row, widths, strict=True):
                yield Lettering(word, (round(x, 4), y + 1.0), _NAME_MM)
                x += width
            if number == 1:
                yield line((left, y), (round(x, 4), y), Pen.MARK)


def _called(marks: ClothMarks, *, many: bool) -> str:
    return joined(marks.name, side_words(marks.side) if many else "")
