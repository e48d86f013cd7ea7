"""One part as it is drawn on a sheet, and the room it takes there. Imports shapely in functions."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from templater.geometry.measure import join_boxes
from templater.geometry.moves import moved_path
from templater.geometry.polygons import to_polygon, united
from templater.geometry.register import corner_marks
from templater.lettering import text_width_mm
from templater.model.curves import Area, Path, Point, Transform
from templater.model.ground import Ground
from templater.model.parts import CutPart, Label, Mark, MarkKind, PartKind
from templater.model.sheets import Anchor, Circle, Drawable, Lettering, Pen, Stroke
from templater.sheets.grain import grain_line
from templater.sheets.half_numbers import half_numbers
from templater.sheets.inner_lines import finished_lines, inner_lines
from templater.sheets.marks import arrow, line, register_targets

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

FLAT_MM = 0.02
LINE_PITCH = 1.6
MARK_ROOM_MM = 5.0
"""Radius kept free round a register mark."""
_MARK_OUT_MM = 8.0
_FAR_MM = 40.0
_NOTCH_MM = 4.0
_DRILL_MM = 3.0
_NUMBER_OUT_MM = (2.5, 4.0, 5.5, 7.0, 8.5, 10.0)
"""From a match mark's inner end to the middle of its number."""
_NUMBER_ROOM_MM = 1.9


@dataclass(frozen=True, slots=True)
class PartDrawing:
    """A part's drawable things by layer, and its register marks, on the sheet."""

    layers: tuple[tuple[str, tuple[Drawable, ...]], ...]
    register: tuple[Point, ...]


def part_marks(part: CutPart) -> tuple[Point, ...]:
    """The part's register marks in its reference frame: its zone's where they lie round it and off
    its label, else three of its own round both.
    """
    from shapely import Point as ShapelyPoint

    own = tuple(mark.at for mark in part.marks if mark.kind is MarkKind.REGISTER)
    cut, label = to_polygon(part.cut, FLAT_MM), label_box(part.label)
    x0, y0, x1, y1 = cut.bounds
    near = all(
        x0 - _FAR_MM <= x <= x1 + _FAR_MM and y0 - _FAR_MM <= y <= y1 + _FAR_MM for x, y in own
    )
    clear = all(
        each.distance(ShapelyPoint(mark)) >= MARK_ROOM_MM for mark in own for each in (cut, label)
    )
    if len(own) >= 3 and near and clear:
        return own
    return corner_marks(join_boxes([(x0, y0, x1, y1), label.bounds]), _MARK_OUT_MM)


def part_room(part: CutPart) -> BaseGeometry:
    """What the part takes of a sheet, in its reference frame: cloth, marks, and a label outside it."""
    from shapely import Point as ShapelyPoint

    shapes: list[BaseGeometry] = [to_polygon(part.cut, FLAT_MM)]
    shapes += [ShapelyPoint(mark).buffer(MARK_ROOM_MM) for mark in part_marks(part)]
    shapes.append(label_box(part.label))
    return united(shapes)


def label_box(label: Label) -> Any:
    """The label's block as a polygon in the frame it is given in."""
    from shapely import box
    from shapely.affinity import rotate, translate

    width, height = block_size_mm(label)
    block = box(-width / 2.0, -height / 2.0, width / 2.0, height / 2.0)
    return translate(rotate(block, label.turn_deg, origin=(0.0, 0.0)), *label.at)


def block_size_mm(label: Label) -> tuple[float, float]:
    width = max(text_width_mm(text, label.height_mm) for text in label.lines)
    return width, label.height_mm * (1.0 + LINE_PITCH * (len(label.lines) - 1))


def draw_part(part: CutPart, ground: Ground, to_sheet: Transform) -> PartDrawing:
    """The part under `to_sheet`, from its reference frame. Words are never mirrored."""
    marks = part_marks(part)
    register = tuple(_snapped(to_sheet.apply(mark)) for mark in marks)
    cut = _rings(part.cut, to_sheet)
    finished = tuple(moved_path(path, to_sheet) for path in finished_lines(part))
    folds, seams = inner_lines(part, ground, label_box(part.label).buffer(1.5))
    drawn = (
        ("cut", tuple(Stroke(path, Pen.CUT) for path in cut)),
        (
            "seam",
            (
                *(Stroke(path, Pen.SEAM) for path in finished),
                *(Stroke(moved_path(path, to_sheet), Pen.SEAM) for path in seams),
            ),
        ),
        ("fold", tuple(Stroke(moved_path(path, to_sheet), Pen.FOLD) for path in folds)),
        ("marks", tuple(_marks(part, to_sheet))),
        ("grain", tuple(_grain(part, folds, marks, to_sheet))),
        ("register", tuple(register_targets(register))),
        (
            "text",
            (
                *_label(part.label, to_sheet),
                *half_numbers(part, ground, marks, label_box(part.label), to_sheet),
            ),
        ),
    )
    return PartDrawing(drawn, register)


def _rings(area: Area, move: Transform) -> tuple[Path, ...]:
    return tuple(moved_path(path, move) for path in (area.outline, *area.holes))


def _marks(part: CutPart, move: Transform) -> Iterator[Drawable]:
    from shapely import LineString

    cut, finished = to_polygon(part.cut, FLAT_MM), to_polygon(part.finished, FLAT_MM)
    numbered = [mark for mark in part.marks if mark.number]
    strokes = [LineString(_inwards(mark, cut)) for mark in numbered]
    strokes += [cut.boundary, finished.boundary, label_box(part.label)]
    if part.label.leader is not None:
        strokes.append(LineString([part.label.at, part.label.leader]))
    taken: list[Point] = []
    for mark in part.marks:
        if mark.kind is MarkKind.REGISTER:
            continue
        if mark.kind is MarkKind.DRILL:
            x, y = move.apply(mark.at)
            yield Circle(round(x, 4), round(y, 4), _DRILL_MM, Pen.MARK)
            yield line((x - _DRILL_MM, y), (x + _DRILL_MM, y), Pen.MARK)
            yield line((x, y - _DRILL_MM), (x, y + _DRILL_MM), Pen.MARK)
        elif mark.path is not None:
            yield Stroke(moved_path(mark.path, move), Pen.MARK)
        else:
            start, end = _notch(mark, cut)
            yield line(move.apply(start), move.apply(end), Pen.MARK)
        if mark.number:
            spot = _number_spot(_inwards(mark, cut), strokes, taken)
            taken.append(spot)
            at = move.apply(spot)
            yield Lettering(
                str(mark.number), (at[0], at[1] - 1.25), 2.5, anchor=Anchor.MIDDLE, pen=Pen.MARK
            )


def _number_spot(
    stroke: tuple[Point, Point], lines: Sequence[Any], taken: Sequence[Point]
) -> Point:
    """Inside of a mark's stroke or beside it, where the number lies on no line and no other number;
    where all is crowded, the place that is least so.
    """
    from shapely import Point as ShapelyPoint

    start, end = stroke
    length = math.dist(start, end) or 1.0
    ux, uy = (end[0] - start[0]) / length, (end[1] - start[1]) / length
    spots = [(end[0] + ux * out, end[1] + uy * out) for out in _NUMBER_OUT_MM]
    middle = ((start[0] + end[0]) / 2.0, (start[1] + end[1]) / 2.0)
    spots += [(middle[0] - uy * off, middle[1] + ux * off) for off in (2.5, -2.5, 4.0, -4.0)]
    spots += [
        (middle[0] + out * math.cos(turn), middle[1] + out * math.sin(turn))
        for out in (5.0, 7.0)
        for turn in (0.0, 0.8, 1.6, 2.4, 3.2, 4.0, 4.8, 5.6)
    ]

    def room(spot: Point) -> float:
        at = ShapelyPoint(spot)
        apart = [other.distance(at) for other in lines]
        return float(min([*apart, *(math.dist(spot, other) - 0.9 for other in taken)]))

    return next((spot for spot in spots if room(spot) >= _NUMBER_ROOM_MM), max(spots, key=room))


def _inwards(mark: Mark, cut: Any) -> tuple[Point, Point]:
    """A mark's stroke from its outer to its inner end."""
    from shapely import Point as ShapelyPoint

    if mark.path is None:
        return _notch(mark, cut)
    ends = (mark.path.start, mark.path.end)
    depth = [
        cut.exterior.distance(ShapelyPoint(end)) if cut.covers(ShapelyPoint(end)) else 0.0
        for end in ends
    ]
    return ends if depth[1] >= depth[0] else (ends[1], ends[0])


def _notch(mark: Mark, cut: Any) -> tuple[Point, Point]:
    """From the nearest point of the cut line inwards, square to it."""
    from shapely import Point as ShapelyPoint

    ring = cut.exterior
    at = ring.project(ShapelyPoint(mark.at))
    start = ring.interpolate(at)
    before, after = ring.interpolate(max(at - 0.5, 0.0)), ring.interpolate(at + 0.5)
    dx, dy = after.x - before.x, after.y - before.y
    length = math.hypot(dx, dy) or 1.0
    nx, ny = -dy / length, dx / length
    probe = ShapelyPoint(start.x + 0.5 * nx, start.y + 0.5 * ny)
    if not cut.contains(probe):
        nx, ny = -nx, -ny
    return (start.x, start.y), (start.x + _NOTCH_MM * nx, start.y + _NOTCH_MM * ny)


def _grain(
    part: CutPart, folds: tuple[Path, ...], marks: tuple[Point, ...], move: Transform
) -> Iterator[Drawable]:
    if part.grain_deg is None or part.kind is PartKind.WEB:
        return
    ends = grain_line(part, label_box(part.label), folds, marks)
    if ends is None:
        return
    start, end = (move.apply(point) for point in ends)
    yield from arrow(start, end, Pen.GRAIN, both_ends=True)


def _label(label: Label, move: Transform) -> Iterator[Drawable]:
    turn = move.turned(label.turn_deg)
    if 90.0 < turn <= 270.0:
        turn -= 180.0
    turn = round(turn % 360.0, 4)
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    x, y = move.apply(label.at)
    width, height = block_size_mm(label)
    for number, text in enumerate(label.lines):
        up = height / 2.0 - label.height_mm * (1.0 + LINE_PITCH * number)
        yield Lettering(text, (x - s * up, y + c * up), label.height_mm, turn, Anchor.MIDDLE)
    if label.leader is not None:
        tip = move.apply(label.leader)
        yield line(_block_edge((x, y), (width + 2.0, height + 2.0), turn, tip), tip, Pen.NOTE)


def _block_edge(centre: Point, size: tuple[float, float], turn_deg: float, tip: Point) -> Point:
    """Where the line from a block's centre to `tip` leaves the block."""
    c, s = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
    dx, dy = tip[0] - centre[0], tip[1] - centre[1]
    along, across = abs(c * dx + s * dy), abs(-s * dx + c * dy)
    share = min(
        size[0] / 2.0 / along if along > 0.0 else math.inf,
        size[1] / 2.0 / across if across > 0.0 else math.inf,
        1.0,
    )
    return (centre[0] + share * dx, centre[1] + share * dy)


def _snapped(point: Point) -> Point:
    return (round(point[0], 4) + 0.0, round(point[1], 4) + 0.0)
