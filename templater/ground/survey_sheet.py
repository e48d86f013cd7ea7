"""The survey as a picture: a sheet on which every piece, zone, row and mark is named, clear and low
areas are hatched, and problems circled, numbered and told. Imports shapely inside functions.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from templater.geometry.flatten import flatten
from templater.geometry.hatch import hatch
from templater.geometry.measure import path_length, point_along
from templater.geometry.moves import moved_area, moved_path
from templater.geometry.polygons import (
    circle,
    overlap,
    polygons_in,
    polyline,
    sound,
    to_polygon,
    united,
    without,
)
from templater.ground.colour_parts import by_colour, tint
from templater.ground.roles import LayerName, read_layer_name
from templater.ground.survey import Survey, size_words
from templater.ground.survey_frame import Frame, frame_of
from templater.ground.survey_legend import (
    circles,
    legend,
    legend_height_mm,
    legend_lines,
    numbered,
)
from templater.ground.survey_names import Thing, beside, name_all, notes_apart
from templater.lettering import fitted
from templater.model.curves import Area, Path, Point, Transform
from templater.model.drawing import (
    AreaShape,
    Drawing,
    LineShape,
    PointShape,
    Shape,
    TextShape,
    coloured_name,
)
from templater.model.roles import Role
from templater.model.sheets import (
    Anchor,
    Bar,
    Circle,
    Drawable,
    Fill,
    Lettering,
    Pen,
    Sheet,
    SheetLayer,
    Stroke,
)

if TYPE_CHECKING:
    from shapely import Polygon
    from shapely.geometry.base import BaseGeometry

TITLE = "Survey by templater"
_MARGIN_MM = 10.0
_LEAST_WIDTH_MM = 170.0
_HEAD_MM, _FOOT_MM = 12.0, 22.0
"""Room for title and size above the drawing, for the scale bar below it."""
_FLAT_MM = 0.05
_CLEAR_PITCH_MM, _LOW_PITCH_MM = 0.9, 2.0
_OFF_LINES_MM = 0.6
_MOST_WITH_ROOM = 400
"""Shapes beyond which no room is looked for inside them: all names stand beside the drawing."""
_PIECE_COLOUR = "#f4f1ea"
_ZONE_COLOURS = ("#cfe8de", "#d9e4f5", "#f3e3cf", "#e6dcf2", "#f5dbe0", "#e3ebc9")
_PENS = {
    Role.PIECE: Pen.CUT,
    Role.ZONE: Pen.HOLE,
    Role.ROW: Pen.BAR,
    Role.CLEAR: Pen.KEEP_CLEAR,
    Role.LOW: Pen.STONE,
    Role.FOLD: Pen.FOLD,
    Role.CREASE: Pen.KEEP_CLEAR,
    Role.SEAM: Pen.SEAM,
    Role.DART: Pen.SEAM,
    Role.GRAIN: Pen.GRAIN,
    Role.NOTCH: Pen.MARK,
    Role.DRILL: Pen.MARK,
    Role.EDGE: Pen.GRAIN,
    Role.NOTE: Pen.NOTE,
}
_POINT_MM = 1.6


@dataclass(frozen=True, slots=True)
class _Shown:
    """A layer on the sheet: its shapes in the sheet's frame."""

    layer: str
    read: LayerName
    shapes: tuple[Shape, ...]

    @property
    def drawn_on(self) -> str:
        """The layer in the file, of which this may be one colour."""
        return self.shapes[0].source.layer

    @property
    def role(self) -> Role | None:
        return self.read.role

    @property
    def areas(self) -> tuple[Area, ...]:
        return tuple(shape.area for shape in self.shapes if isinstance(shape, AreaShape))


def survey_sheet(drawing: Drawing, found: Survey) -> Sheet:
    """The picture of a survey: to a stated scale, with a bar; not for cutting."""
    problems = numbered(found.problems)
    places = [item.problem.at_mm for item in problems if item.problem.at_mm is not None]
    frame = frame_of(drawing, places)
    shown = _shown(drawing, frame.to_sheet)
    body_w, body_h = frame.size_mm
    notes = notes_apart(tuple(_notes(shown, frame.scale)), 0.0)
    names = name_all(_things(shown, found), notes, body_w / 2.0)
    left_mm, right_mm = (max(width, 6.0) for width in names.widths_mm)
    width = max(left_mm + body_w + right_mm + 2.0 * _MARGIN_MM, _LEAST_WIDTH_MM)
    inner = width - 2.0 * _MARGIN_MM
    lines = legend_lines(problems, inner)
    legend_mm = legend_height_mm(lines)
    body_room = max(body_h, names.height_mm)
    corner = (
        _MARGIN_MM + left_mm + (inner - left_mm - body_w - right_mm) / 2.0,
        _MARGIN_MM + legend_mm + _FOOT_MM + (body_room - body_h) / 2.0,
    )
    height = _MARGIN_MM + legend_mm + _FOOT_MM + body_room + _HEAD_MM + 8.0 + _MARGIN_MM
    move = Transform(e=corner[0], f=corner[1])
    frame = replace(frame, corner=corner)
    shown = tuple(_moved(layer, move) for layer in shown)
    names = names.moved(*corner)
    room_y = corner[1] - (body_room - body_h) / 2.0
    column_box = (corner[0], room_y, corner[0] + body_w, room_y + body_room)
    words, taken = beside(names, column_box)
    around = (0.0, _MARGIN_MM + legend_mm, width, height)
    head = (0.0, height - _MARGIN_MM - _HEAD_MM, width, height)
    rings = circles(problems, frame.to_sheet, around, (*names.taken, *taken, head))
    bar_y = _MARGIN_MM + legend_mm + 8.0
    layers = (
        SheetLayer("filled", tuple(_fills(shown))),
        SheetLayer("hatched", tuple(_hatches(shown))),
        SheetLayer("lines", tuple(_lines(shown))),
        SheetLayer("notes", tuple(replace(note, at=move.apply(note.at)) for note in notes)),
        SheetLayer("names", (*names.inside, *words)),
        SheetLayer("problems", rings),
        SheetLayer("size", tuple(_size(found, frame, bar_y, width, height))),
        SheetLayer("legend", legend(lines, _MARGIN_MM, _MARGIN_MM + legend_mm)),
    )
    bar = frame.bar_mm(in_inches=found.in_inches) * frame.scale
    bars = (Bar(_MARGIN_MM, bar_y, _MARGIN_MM + bar, bar_y, bar),)
    title = f"{TITLE}: {found.file}"
    return Sheet("survey", title, (width, height), "survey", (), bars, 1, 1, layers)


def _shown(drawing: Drawing, move: Transform) -> tuple[_Shown, ...]:
    return tuple(
        _moved(_Shown(layer.name, read_layer_name(layer.name, {}), layer.shapes), move)
        for layer in by_colour(drawing, {}).layers
        if layer.shapes
    )


def _moved(layer: _Shown, move: Transform) -> _Shown:
    scale = move.a

    def of(shape: Shape) -> Shape:
        match shape:
            case AreaShape(area):
                return replace(shape, area=moved_area(area, move))
            case LineShape(path):
                return replace(shape, path=moved_path(path, move))
            case PointShape(at):
                return replace(shape, at=move.apply(at))
            case TextShape(_, at, height_mm):
                return replace(shape, at=move.apply(at), height_mm=height_mm * scale)

    return replace(layer, shapes=tuple(of(shape) for shape in layer.shapes))


def _things(shown: Sequence[_Shown], found: Survey) -> list[Thing]:
    """Everything that gets a name: one for each layer, with all its places."""
    rooms = _rooms(shown)
    proposed = {proposal.layer: proposal for proposal in found.proposals}
    things = []
    for number, layer in enumerate(shown):
        if layer.role is Role.NOTE or all(isinstance(s, TextShape) for s in layer.shapes):
            continue
        name = _name(layer.read)
        if layer.role is None:
            called = f'"{layer.layer}"' if layer.layer else "no layer"
            proposal = proposed.get(layer.layer)
            name = (
                f"{called}: no role"
                if proposal is None
                else f"{called}: {proposal.surety} {proposal.role}"
            )
        drawn = [shape for shape in layer.shapes if not isinstance(shape, TextShape)]
        if len(drawn) > 1:
            name += f" ({len(drawn)})"
        drawn.sort(key=lambda shape: -_weight(shape))
        room = rooms.get(number)
        places = [_place(shape, room) for shape in drawn]
        may_hold = room if layer.role not in (Role.CLEAR, Role.LOW) else None
        things.append(Thing(name, tuple(places), may_hold))
    return things


def _name(read: LayerName) -> str:
    return read.name if read.role == read.name else f"{read.role} {read.name}"


def _weight(shape: Shape) -> float:
    match shape:
        case AreaShape(area):
            return 1e6 + float(to_polygon(area, _FLAT_MM).area)
        case LineShape(path):
            return path_length(path)
        case _:
            return 0.0


def _place(shape: Shape, room: BaseGeometry | None) -> Point:
    """A point on a shape to lead to: well inside an area and off what lies on it, halfway along a
    line.
    """
    match shape:
        case AreaShape(area):
            whole = _polygon(area)
            bare = whole if room is None else overlap(whole, room)
            parts = polygons_in(bare) or (whole,)
            inside = parts[0].representative_point()
            return (round(inside.x, 4), round(inside.y, 4))
        case LineShape(path):
            ring = flatten(path, _FLAT_MM)
            (x, y), _ = point_along(ring, path_length(path) / 2.0)
            return (round(x, 4), round(y, 4))
        case _:
            return shape.at


def _rooms(shown: Sequence[_Shown]) -> dict[int, BaseGeometry]:
    """For each layer of areas where its name may stand: off all lines, hatches and inner areas."""
    from shapely import LineString, STRtree

    if sum(len(layer.shapes) for layer in shown) > _MOST_WITH_ROOM:
        return {}
    lines = [
        LineString([*points, points[0]] if path.closed else points)
        for layer in shown
        for path in _paths(layer)
        if len(points := flatten(path, 0.2)) > 1
    ]
    solids = [united(_polygon(area) for area in layer.areas) for layer in shown]
    marked = [layer.role in (Role.CLEAR, Role.LOW) for layer in shown]
    line_tree, solid_tree = STRtree(lines), STRtree(solids)
    rooms = {}
    for k, solid in enumerate(solids):
        if solid.is_empty:
            continue
        upon = [
            solids[o]
            for o in sorted(solid_tree.query(solid).tolist())
            if o != k and (solids[o].area < solid.area or (marked[o] and not marked[k]))
        ]
        near = [lines[n] for n in sorted(line_tree.query(solid).tolist())]
        blocked = united(near).buffer(_OFF_LINES_MM, quad_segs=2)
        rooms[k] = without(solid, united([*upon, blocked]))
    return rooms


def _polygon(area: Area) -> Polygon:
    return sound(to_polygon(area, _FLAT_MM))


def _paths(layer: _Shown) -> Iterator[Path]:
    for shape in layer.shapes:
        if isinstance(shape, AreaShape):
            yield shape.area.outline
            yield from shape.area.holes
        elif isinstance(shape, LineShape):
            yield shape.path


def _fills(shown: Sequence[_Shown]) -> Iterator[Drawable]:
    for layer in shown:
        if layer.role is Role.PIECE:
            yield from (Fill(area, _PIECE_COLOUR) for area in layer.areas)
    for layer in shown:
        colour = layer.shapes[0].source.colour
        if layer.role is None and layer.layer == coloured_name(layer.drawn_on, colour):
            yield from (Fill(area, tint(colour)) for area in layer.areas if tint(colour))
    zones = [layer for layer in shown if layer.role is Role.ZONE]
    for number, layer in enumerate(zones):
        colour = _ZONE_COLOURS[number % len(_ZONE_COLOURS)]
        yield from (Fill(area, colour) for area in layer.areas)


def _hatches(shown: Sequence[_Shown]) -> Iterator[Drawable]:
    """Low areas hatched down to the right, clear ones closer, and up; these win where both are."""
    clear = united(_polygon(a) for x in shown if x.role is Role.CLEAR for a in x.areas)
    low = united(_polygon(a) for x in shown if x.role is Role.LOW for a in x.areas)
    for polygon in polygons_in(without(low, clear)):
        for one, other in hatch(polygon, _LOW_PITCH_MM, falling=True):
            yield Stroke(polyline([one, other], closed=False), _PENS[Role.LOW])
    for polygon in polygons_in(clear):
        for one, other in hatch(polygon, _CLEAR_PITCH_MM):
            yield Stroke(polyline([one, other], closed=False), _PENS[Role.CLEAR])


def _notes(shown: Sequence[_Shown], scale: float) -> Iterator[Lettering]:
    """The drawing's texts, in letters that can be read but do not drown the drawing."""
    for layer in shown:
        for shape in layer.shapes:
            if isinstance(shape, TextShape) and shape.height_mm > 0.0 and shape.text.strip():
                height = min(max(shape.height_mm, 1.8), 5.0 * max(scale, 0.5))
                yield Lettering(shape.text, shape.at, height, shape.turn_deg)


def _lines(shown: Sequence[_Shown]) -> Iterator[Drawable]:
    """Pieces and zones below, lines that run along them above."""
    rank = {None: 0, Role.PIECE: 1, Role.ZONE: 2}
    for layer in sorted(shown, key=lambda layer: rank.get(layer.role, 3)):
        pen = Pen.FRAME if layer.role is None else _PENS[layer.role]
        yield from (Stroke(path, pen) for path in _paths(layer))
        for shape in layer.shapes:
            if isinstance(shape, PointShape):
                yield Stroke(circle(shape.at, _POINT_MM), pen)
                yield Circle(shape.at[0], shape.at[1], 0.3, pen)


def _size(
    found: Survey, frame: Frame, bar_y: float, width: float, height: float
) -> Iterator[Drawable]:
    """Title, size and scale above; the bar below the drawing."""
    inner = width - 2.0 * _MARGIN_MM
    x0, y0, x1, y1 = frame.box
    title, size = fitted(found.file, inner, (5.0, 3.5, 2.5))
    yield Lettering(title, (_MARGIN_MM, height - _MARGIN_MM - size), size)
    inches = found.in_inches
    page = f"page {size_words(*found.size_mm, inches=inches)}, " if found.size_mm[0] else ""
    words = (
        f"{page}shown {size_words(x1 - x0, y1 - y0, inches=inches)} at {frame.words};"
        f" unit: {found.unit}."
        " A picture to look at, not to cut from."
    )
    words, size = fitted(words, inner, (2.5, 1.8))
    yield Lettering(words, (_MARGIN_MM, height - _MARGIN_MM - 10.0), size)
    length = frame.bar_mm(in_inches=inches)
    on_sheet = length * frame.scale
    yield Stroke(
        polyline([(_MARGIN_MM, bar_y), (_MARGIN_MM + on_sheet, bar_y)], closed=False), Pen.BAR
    )
    for x in (_MARGIN_MM, _MARGIN_MM + on_sheet / 2.0, _MARGIN_MM + on_sheet):
        tick = [(x, bar_y - 1.5), (x, bar_y + 1.5)]
        yield Stroke(polyline(tick, closed=False), Pen.BAR)
    at = (_MARGIN_MM + on_sheet + 2.5, bar_y - 1.25)
    said = f"{length / 25.4:g} in" if inches else f"{length:g} mm"
    yield Lettering(said, at, 2.5, anchor=Anchor.START)
