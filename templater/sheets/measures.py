"""Dimension lines from a garment's finished edges to the points by which appliqués are pinned.

Running dimensions: along each edge from a 0 at its named end, and from there square to the edge.
Imports shapely inside functions.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from string import ascii_uppercase
from typing import TYPE_CHECKING, Any

from templater.lettering import text_width_mm
from templater.model.curves import Point, Transform
from templater.model.ground import Piece, Reference
from templater.model.parts import CutPart, EdgeMeasure, PartKind, PlacementPoint
from templater.model.sheets import Anchor, Drawable, Lettering, Pen
from templater.sheets.marks import arrow, line

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

_INCH_MM = 25.4
_CROSS_MM = 2.0
_TICK_MM = 1.5
_KEPT_OUT_MM = 6.0
"""Beyond each foot, for the line to its words."""
_ON_THE_EDGE_MM = 0.25
_SHARES = (0.5, *(0.5 + way * k / 40.0 for k in range(1, 18) for way in (1, -1)))
_TEXT_COST = 100.0
_STONE_COST = 10.0
_LINE_COST = 3.0


@dataclass(frozen=True, slots=True)
class Pin:
    """A place on the drawn reference: its letter, the appliqués pinned there, its measures."""

    code: str
    words: str
    at: Point
    measures: tuple[EdgeMeasure, ...]


def tape_words(length_mm: float, display: str) -> str:
    """A length as a tape measure is read: to half a millimetre, or to 1/32 in; with the unit."""
    if display == "in":
        inches = Fraction(round(abs(length_mm) / _INCH_MM * 32), 32)
        whole, rest = divmod(inches, 1)
        said = " ".join(str(part) for part in (whole, rest) if part) or "0"
        unit = "in"
    else:
        said = f"{math.floor(abs(length_mm) * 2.0 + 0.5) / 2.0:.1f}".removesuffix(".0")
        unit = "mm"
    return f"{'−' if length_mm < 0.0 and said != '0' else ''}{said} {unit}"


def pins_on(parts: Iterable[CutPart], piece: str) -> tuple[Pin, ...]:
    """The points of all appliqués on a piece, lettered in the order of the parts.

    Points of several appliqués that coincide are one pin.
    """
    places: dict[Point, dict[str, PlacementPoint]] = {}
    for part in parts:
        if part.kind is PartKind.APPLIQUE and part.piece == piece:
            for point in part.placing:
                at = (round(point.at[0], 3), round(point.at[1], 3))
                places.setdefault(at, {}).setdefault(_point_words(point), point)
    return tuple(
        Pin(_letters(number), ", ".join(here), *_place(here))
        for number, here in enumerate(places.values())
    )


def _point_words(point: PlacementPoint) -> str:
    """The appliqué and which of its points: the tip, then point 2, point 3 and on.

    Its own letters are not said: B of an appliqué is seldom B of the whole piece.
    """
    region = f" {point.region}" if point.region > 1 else ""
    which = "tip" if point.name == "tip" else f"point {ascii_uppercase.index(point.name) + 1}"
    return f"{point.zone}{region} {which}"


def _place(here: dict[str, PlacementPoint]) -> tuple[Point, tuple[EdgeMeasure, ...]]:
    first = next(iter(here.values()))
    return first.at, first.measures


def _letters(number: int) -> str:
    """A to Z, then AA, AB and so on."""
    letter = ascii_uppercase[number % 26]
    return letter if number < 26 else _letters(number // 26 - 1) + letter


def measure_lines(
    pins: Sequence[Pin],
    piece: Piece,
    references: Sequence[Reference],
    move: Transform,
    display: str,
    text_mm: float,
    room: Room,
    *,
    brief: bool,
) -> tuple[Drawable, ...]:
    """The pins with their dimension lines and words, under `move` from the drawn reference.

    Words go where they cover no other words, stones and lines if they can. `brief`: on a reduced
    map both distances stand by the line, "along | square"; else the first stands at the edge.
    """
    drawn: list[Drawable] = []
    squares: list[tuple[Pin, EdgeMeasure]] = []
    for pin in pins:
        x, y = move.apply(pin.at)
        half = _CROSS_MM / 2.0
        for dx, dy in ((half, half), (half, -half)):
            drawn.append(line((x - dx, y - dy), (x + dx, y + dy), Pen.NOTE))
        squares += [(pin, measure) for measure in pin.measures]
    for pin, measure in squares:
        foot, at = move.apply(measure.foot), move.apply(pin.at)
        drawn.extend(_run_on(measure, references, move))
        if measure.square_mm > _ON_THE_EDGE_MM:
            drawn.extend(arrow(foot, at, Pen.NOTE, both_ends=True))
            room.add_line(foot, at)
        room.add_line(foot, _moved(foot, _outwards(pin, measure, piece, move), _KEPT_OUT_MM))
    words = [room.place(_round_about(pin.code, move.apply(pin.at), text_mm)) for pin in pins]
    feet = [
        (f"0 {edge}", start, out)
        for edge, start, out in _origins(squares, piece, move)
        if room.is_new(edge, start)
    ]
    along = sorted(squares, key=lambda each: (each[1].edge, each[1].along_mm, each[0].code))
    feet += [
        (
            f"{pin.code}: {tape_words(measure.along_mm, display)}",
            move.apply(measure.foot),
            _outwards(pin, measure, piece, move),
        )
        for pin, measure in along
        if not brief or measure.square_mm <= _ON_THE_EDGE_MM
    ]
    for said, foot, out in feet:
        words.append(room.place(_at_foot(said, foot, out, text_mm), foot))
        drawn.extend(room.lead(foot, out, words[-1]))
    for pin, measure in squares:
        foot, at = move.apply(measure.foot), move.apply(pin.at)
        if measure.square_mm > _ON_THE_EDGE_MM:
            said = tape_words(measure.square_mm, display)
            if brief:
                said = f"{tape_words(measure.along_mm, display)} | {said}"
                drawn.append(
                    line(
                        foot, _moved(foot, _outwards(pin, measure, piece, move), _TICK_MM), Pen.NOTE
                    )
                )
            words.append(room.place(_along(f"{pin.code}: {said}", foot, at, text_mm)))
    return (*drawn, *words)


class Room:
    """What is on a sheet already, to set words clear of it."""

    def __init__(self, stones: Sequence[BaseGeometry], lines: Sequence[BaseGeometry]) -> None:
        from shapely import STRtree

        self._stones, self._lines = STRtree(stones), STRtree(lines)
        self._own_lines: list[Any] = []
        self._words: list[Any] = []
        self._leads: list[Any] = []
        self._told: list[tuple[str, float, float]] = []

    def add_line(self, start: Point, end: Point) -> None:
        from shapely import LineString

        self._own_lines.append(LineString([start, end]))

    def place(self, choices: Sequence[Lettering], lead_from: Point | None = None) -> Lettering:
        """The first of the choices that covers least, with its line from a foot if it has one."""
        from shapely import LineString
        from shapely import Point as ShapelyPoint
        from shapely.ops import nearest_points

        found = []
        for number, choice in enumerate(choices):
            box = words_box(choice)
            cost = self._cost(box)
            if lead_from is not None:
                foot = ShapelyPoint(lead_from)
                lead = LineString([nearest_points(box, foot)[0], foot])
                cost += _TEXT_COST * sum(lead.intersects(other) for other in self._words)
                cost += _LINE_COST * sum(lead.crosses(other) for other in self._leads)
            found.append((cost, number, box))
            if cost == 0.0:
                break
        _, number, box = min(found, key=lambda each: each[:2])
        self._words.append(box)
        return choices[number]

    def is_new(self, edge: str, start: Point) -> bool:
        """Whether an edge's 0 is not yet told: at the fold both sides have it in one place."""
        key = (edge, round(start[0], 3), round(start[1], 3))
        if key in self._told:
            return False
        self._told.append(key)
        return True

    def lead(self, foot: Point, out: Point, words: Lettering) -> Iterator[Drawable]:
        """A tick at a foot, and on from it to words that could not stand right there."""
        from shapely import LineString
        from shapely import Point as ShapelyPoint
        from shapely.ops import nearest_points

        tick = _moved(foot, out, _TICK_MM)
        yield line(foot, tick, Pen.NOTE)
        box = words_box(words)
        if box.distance(ShapelyPoint(tick)) > _TICK_MM:
            near = nearest_points(box, ShapelyPoint(tick))[0]
            end = (round(near.x, 4) + 0.0, round(near.y, 4) + 0.0)
            yield line(tick, end, Pen.NOTE)
            self._leads.append(LineString([tick, end]))
            self.add_line(tick, end)

    def _cost(self, box: Any) -> float:
        cost = _TEXT_COST * sum(box.intersects(other) for other in self._words)
        cost += _STONE_COST * len(self._stones.query(box, predicate="intersects"))
        cost += _LINE_COST * len(self._lines.query(box, predicate="intersects"))
        return float(cost + _LINE_COST * sum(box.intersects(other) for other in self._own_lines))


def words_box(words: Lettering) -> Any:
    """The polygon that a middle-anchored line of text takes, with a little air."""
    from shapely import box
    from shapely.affinity import rotate, translate

    width, height = text_width_mm(words.text, words.height_mm), words.height_mm
    flat = box(-width / 2.0 - 0.4, -0.3 * height, width / 2.0 + 0.4, 1.15 * height)
    return translate(rotate(flat, words.turn_deg, origin=(0.0, 0.0)), *words.at)


def _lettering(text: str, centre: Point, height_mm: float, turn_deg: float) -> Lettering:
    """Words centred on a point, turned so that they are never read upside down."""
    turn = (turn_deg + 90.0) % 180.0 - 90.0
    turn = 90.0 if turn == -90.0 else turn
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    down = height_mm * 0.4
    at = (round(centre[0] + s * down, 4) + 0.0, round(centre[1] - c * down, 4) + 0.0)
    return Lettering(text, at, height_mm, round(turn % 360.0, 4), Anchor.MIDDLE)


def _along(text: str, start: Point, end: Point, height_mm: float) -> list[Lettering]:
    """Beside a line, on either side of it and anywhere along it."""
    length = math.dist(start, end)
    ux, uy = (end[0] - start[0]) / length, (end[1] - start[1]) / length
    turn = math.degrees(math.atan2(uy, ux))
    off = 0.7 + height_mm * 0.75
    width = text_width_mm(text, height_mm)
    shares = [s for s in _SHARES if min(s, 1.0 - s) * length >= width / 2.0] or [0.5]
    beside = [
        _lettering(
            text,
            (
                start[0] + share * length * ux - side * uy * off,
                start[1] + share * length * uy + side * ux * off,
            ),
            height_mm,
            turn,
        )
        for share in shares
        for side in (1.0, -1.0)
    ]
    middle = ((start[0] + end[0]) / 2.0, (start[1] + end[1]) / 2.0)
    return beside + (_round_about(text, middle, height_mm) if len(shares) == 1 else [])


def _at_foot(text: str, foot: Point, out: Point, height_mm: float) -> list[Lettering]:
    """Beyond the edge, square to it, near the foot; farther out or to a side if it is crowded."""
    width = text_width_mm(text, height_mm)
    turn = math.degrees(math.atan2(out[1], out[0]))
    step = height_mm * 1.6
    return [
        _lettering(
            text,
            (
                foot[0] + out[0] * (_TICK_MM + 1.0 + away + width / 2.0) - out[1] * aside,
                foot[1] + out[1] * (_TICK_MM + 1.0 + away + width / 2.0) + out[0] * aside,
            ),
            height_mm,
            turn,
        )
        for away, aside in (
            (0.0, 0.0),
            (0.0, step / 2.0),
            (0.0, -step / 2.0),
            *(
                (6.0 * ring, way * step * k)
                for ring in (1, 2, 3, 4)
                for k in range(2 * ring + 1)
                for way in ((1.0, -1.0) if k else (1.0,))
            ),
        )
    ]


def _round_about(text: str, at: Point, height_mm: float) -> list[Lettering]:
    """Level words round a point, nearest first."""
    width = text_width_mm(text, height_mm)
    found = []
    for ring in (1.8, 3.2, 5.0, 7.5, 11.0):
        for eighth in range(16):
            c, s = math.cos(eighth * math.pi / 8.0), math.sin(eighth * math.pi / 8.0)
            centre = (
                at[0] + c * (ring + width / 2.0),
                at[1] + s * (ring + height_mm / 2.0),
            )
            found.append(_lettering(text, centre, height_mm, 0.0))
    return found


def _run_on(
    measure: EdgeMeasure, references: Sequence[Reference], move: Transform
) -> Iterator[Drawable]:
    """The edge run straight on to a foot beyond its end."""
    ends = [
        end
        for reference in references
        if reference.name == measure.edge
        for end in (reference.path.start, reference.path.end)
    ]
    on_edge = any(_off(measure.foot, reference) < 0.05 for reference in references)
    if ends and not on_edge:
        nearest = min(ends, key=lambda end: (math.dist(end, measure.foot), end))
        yield line(move.apply(nearest), move.apply(measure.foot), Pen.SEAM)


def _off(point: Point, reference: Reference) -> float:
    from shapely import LineString
    from shapely import Point as ShapelyPoint

    from templater.geometry.flatten import flatten

    return float(LineString(flatten(reference.path, 0.01)).distance(ShapelyPoint(point)))


def _outwards(pin: Pin, measure: EdgeMeasure, piece: Piece, move: Transform) -> Point:
    """The direction away from the cloth at a foot, square to the edge, on the sheet."""
    foot, at = measure.foot, pin.at
    if math.dist(foot, at) > _ON_THE_EDGE_MM:
        dx, dy = foot[0] - at[0], foot[1] - at[1]
    else:
        dx, dy = _from_middle(foot, piece)
    ox, oy = move.apply((0.0, 0.0))
    x, y = move.apply((dx, dy))
    length = math.hypot(x - ox, y - oy) or 1.0
    return ((x - ox) / length, (y - oy) / length)


def _from_middle(point: Point, piece: Piece) -> Point:
    from shapely import Point as ShapelyPoint
    from shapely.ops import nearest_points

    from templater.geometry.polygons import to_polygon

    if piece.area is None:
        return (0.0, 1.0)
    inside = to_polygon(piece.area, 0.1).buffer(-5.0)
    if inside.is_empty:
        return (0.0, 1.0)
    near = nearest_points(inside, ShapelyPoint(point))[0]
    return (point[0] - near.x, point[1] - near.y)


def _origins(
    squares: Sequence[tuple[Pin, EdgeMeasure]], piece: Piece, move: Transform
) -> Iterator[tuple[str, Point, Point]]:
    """Each edge's 0 once, with the direction away from the cloth."""
    seen = set()
    for _, measure in squares:
        if (measure.edge, measure.from_at) in seen:
            continue
        seen.add((measure.edge, measure.from_at))
        bare = Pin("", "", measure.from_at, ())
        here = EdgeMeasure(measure.edge, 0.0, 0.0, measure.from_at, measure.from_at)
        yield measure.edge, move.apply(measure.from_at), _outwards(bare, here, piece, move)


def _moved(point: Point, way: Point, far_mm: float) -> Point:
    return (
        round(point[0] + way[0] * far_mm, 4) + 0.0,
        round(point[1] + way[1] * far_mm, 4) + 0.0,
    )
