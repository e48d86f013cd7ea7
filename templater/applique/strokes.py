"""Marks as they are cut or drawn on a part: notches, match marks, clips.

Imports shapely inside functions.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from templater.applique.matching import CORNER_RAD, NEAR_MM, Match, Party
from templater.applique.unfold import EdgeRing
from templater.applique.web import is_turned
from templater.geometry.measure import path_length
from templater.geometry.polygons import to_polygon
from templater.geometry.smooth import end_direction, start_direction
from templater.geometry.walk import Tape, tape_along
from templater.model.curves import Area, Line, Path, Point
from templater.model.ground import Edge, EdgeKind, Notch
from templater.model.parts import Mark, MarkKind

NOTCH_MM = 5.0
"""Depth of a notch at most; never more than half the allowance (from memory: 3 to 6 mm)."""
NOTCH_REACH_MM = 1.0
"""How far from an outline a notch may have been drawn and still belong to it."""
CLIP_SHORT_MM = 1.5
"""A clip ends this far before the finished line (common practice: 1 to 2 mm)."""
CLIP_SPACING_MM = 12.0
CLIP_CLOSEST_MM = 6.0
CLIP_RADIUS_MM = 120.0
"""Inward curves flatter than this turn under without clips (common practice, no source)."""
_FLAT_MM = 0.01
_ON_MM = 0.05


@dataclass(frozen=True, slots=True)
class _Place:
    """A place on a part's finished edge: where, which way is out, and how far the cut line is."""

    at: Point
    out: Point
    allowance_mm: float


def without_allowances(rings: Sequence[EdgeRing]) -> tuple[EdgeRing, ...]:
    """The rings of an outline that was drawn as the cut line."""
    return tuple(tuple(replace(edge, allowance_mm=0.0) for edge in ring) for ring in rings)


def match_marks(
    rings: Sequence[EdgeRing], found: Iterable[Match], party: Party
) -> tuple[Mark, ...]:
    """The part's match marks: notches into its allowance, strokes inside where it has none."""
    marks = []
    for match in found:
        if party in match.parties:
            place = _place(rings, match.at, NEAR_MM)
            if place is not None:
                marks.append(Mark(MarkKind.MATCH, match.at, match.number, _stroke(place, match.at)))
    return tuple(marks)


def notch_marks(rings: Sequence[EdgeRing], notches: Iterable[Notch]) -> tuple[Mark, ...]:
    """The drawn notches that lie on the part's outline."""
    marks = []
    for notch in notches:
        place = _place(rings, notch.at, NOTCH_REACH_MM)
        if place is not None:
            marks.append(Mark(MarkKind.NOTCH, place.at, 0, _stroke(place, place.at)))
    return tuple(marks)


def on_the_cloth(marks: Iterable[Mark], cut: Area) -> tuple[Mark, ...]:
    """The marks, with strokes in an underlap that was cut back drawn on the cloth instead."""
    import shapely

    cloth = to_polygon(cut, _FLAT_MM).buffer(_ON_MM)
    return tuple(
        mark
        if mark.path is None or cloth.covers(shapely.LineString([mark.path.start, mark.path.end]))
        else replace(mark, path=_inwards(mark.at, mark.path))
        for mark in marks
    )


def _inwards(at: Point, stroke: Path) -> Path:
    (x0, y0), (x1, y1) = stroke.start, stroke.end
    length = math.dist(stroke.start, stroke.end)
    return _along(at, ((x0 - x1) / length, (y0 - y1) / length), 0.0, -NOTCH_MM)


def clip_marks(rings: Sequence[EdgeRing]) -> tuple[Mark, ...]:
    """Clips into the allowance of edges that are turned under: along inward curves, closer the
    tighter they are, and at inward corners.
    """
    marks: list[Mark] = []
    for ring in rings:
        for edge, after in zip(ring, (*ring[1:], ring[0]), strict=True):
            if _is_turned(edge):
                marks.extend(_edge_clips(edge))
                if _is_turned(after):
                    marks.extend(_corner_clip(edge, after))
    return tuple(marks)


def _is_turned(edge: Edge) -> bool:
    return is_turned(edge) and edge.allowance_mm > CLIP_SHORT_MM


def _place(rings: Sequence[EdgeRing], at: Point, within_mm: float) -> _Place | None:
    """The nearest place on the part's edges, if it is near enough."""
    best: tuple[float, Edge, Tape, float] | None = None
    for ring in rings:
        for edge in ring:
            if edge.kind is EdgeKind.FOLD:
                continue
            tape = tape_along(edge.path)
            foot = tape.foot(at)
            if best is None or foot.away_mm < best[0]:
                best = (foot.away_mm, edge, tape, foot.along_mm)
    if best is None or best[0] > within_mm:
        return None
    _, edge, tape, along = best
    point, (dx, dy) = tape.at(along)
    return _Place(point, (dy, -dx), edge.allowance_mm)


def _stroke(place: _Place, at: Point) -> Path:
    """From the cut line inwards: into the allowance, or into the cloth where there is none."""
    depth = min(NOTCH_MM, place.allowance_mm / 2.0) if place.allowance_mm > 0.0 else NOTCH_MM
    return _along(at, place.out, place.allowance_mm, place.allowance_mm - depth)


def _along(at: Point, out: Point, start_mm: float, end_mm: float) -> Path:
    return Path((Line(_beyond(at, out, start_mm), _beyond(at, out, end_mm)),), closed=False)


def _beyond(at: Point, out: Point, distance_mm: float) -> Point:
    return (round(at[0] + distance_mm * out[0], 4), round(at[1] + distance_mm * out[1], 4))


def _edge_clips(edge: Edge) -> Iterable[Mark]:
    """One clip for each stretch of inward curve that a clip serves."""
    tape = tape_along(edge.path)
    due, last = 0.5, 0.0
    for (along, turn), step in zip(tape.turns(), _steps(tape), strict=True):
        if turn <= -CORNER_RAD:
            yield _clip(edge, *tape.at(along))
            continue
        if turn >= 0.0 or step <= 0.0:
            last = along
            continue
        radius = step / -turn
        if radius > CLIP_RADIUS_MM:
            last = along
            continue
        spacing = min(CLIP_SPACING_MM, max(CLIP_CLOSEST_MM, radius / 3.0))
        due += (along - last) / spacing
        last = along
        if due >= 1.0:
            due -= 1.0
            yield _clip(edge, *tape.at(along))


def _steps(tape: Tape) -> list[float]:
    """The length of edge that each inner point stands for."""
    points = tape.points
    return [
        (math.dist(points[i - 1], points[i]) + math.dist(points[i], points[i + 1])) / 2.0
        for i in range(1, len(points) - 1)
    ]


def _corner_clip(edge: Edge, after: Edge) -> Iterable[Mark]:
    (ax, ay), (bx, by) = (
        end_direction(edge.path.segments[-1]),
        start_direction(after.path.segments[0]),
    )
    if math.atan2(ax * by - ay * bx, ax * bx + ay * by) <= -CORNER_RAD and path_length(edge.path):
        x, y = ax + bx, ay + by
        length = math.hypot(x, y)
        if length > 1e-9:
            yield _clip(edge, edge.path.end, (x / length, y / length))


def _clip(edge: Edge, at: Point, direction: Point) -> Mark:
    """From the cut line to just short of the finished line."""
    out = (direction[1], -direction[0])
    start = (round(at[0], 4), round(at[1], 4))
    return Mark(MarkKind.CLIP, start, 0, _along(at, out, edge.allowance_mm, CLIP_SHORT_MM))
