"""Where match marks go: the same places on both parts of every edge that will meet again.

A place is worked out once, on one of the two edges, and given to both.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

from templater.applique.unfold import ring_path
from templater.geometry.measure import path_box, path_length
from templater.geometry.walk import Tape, tape_along
from templater.model.curves import Path, Point
from templater.model.ground import Edge, EdgeKind, Ground, Zone

MARK_WIDTH_MM = 5.0
"""A mark keeps at least this far from corners and from its neighbours (common practice)."""
SPACING_MM = 90.0
"""About one mark in this length of straight edge (common practice: a hand's width)."""
TURN_RAD = math.radians(60.0)
"""And one more for every such turn of the edge, where easing one part to the other is hardest."""
CORNER_RAD = math.radians(30.0)
NEAR_MM = 0.3
"""How near two edges run to be one: a little over what `ground` takes for one line."""

_LEAST_EDGE_MM = 4.0 * MARK_WIDTH_MM
_UNEVEN_MM = 4.0
_LEANS = (0.14, -0.14, 0.2, -0.2, 0.08, 0.26, -0.26, 0.3)
_LONE_SHARES = (0.36, 0.64, 0.28, 0.72)


class Party(NamedTuple):
    """A region of a zone (counted from 1), or a piece's outline (region 0, zone empty)."""

    piece: str
    zone: str
    region: int


@dataclass(frozen=True, slots=True)
class Match:
    """A numbered place shared by two parties."""

    number: int
    at: Point
    parties: tuple[Party, Party]


@dataclass(frozen=True, slots=True)
class Meeting:
    """Two parties' edges that lie on one line. `path` is the first party's edge."""

    path: Path
    parties: tuple[Party, Party]


def meetings(ground: Ground) -> tuple[Meeting, ...]:
    """Every shared edge once, zone against zone from below, then zone against piece."""
    zones = sorted(ground.zones, key=lambda zone: zone.level)
    found: list[Meeting] = []
    for index, zone in enumerate(zones):
        for party, edge in _edges(zone):
            if edge.kind is EdgeKind.NEIGHBOUR:
                others = [other for other in zones[index + 1 :] if other.name == edge.name]
                found.extend(_with_zones(party, edge, others))
    for zone in zones:
        for party, edge in _edges(zone):
            if edge.kind in {EdgeKind.PIECE, EdgeKind.SEAM, EdgeKind.EDGE}:
                found.extend(_with_piece(ground, party, edge))
    return tuple(found)


def _edges(zone: Zone) -> Iterable[tuple[Party, Edge]]:
    for number, region in enumerate(zone.regions, start=1):
        for ring in region.rings:
            for edge in ring:
                yield Party(zone.piece, zone.name, number), edge


def _with_zones(party: Party, edge: Edge, others: Sequence[Zone]) -> Iterable[Meeting]:
    for other in others:
        for partner, theirs in _edges(other):
            if theirs.kind is EdgeKind.NEIGHBOUR and theirs.name == party.zone:
                shared = _shared(edge.path, theirs.path)
                if shared is not None:
                    yield Meeting(shared, (party, partner))


def _with_piece(ground: Ground, party: Party, edge: Edge) -> Iterable[Meeting]:
    piece = ground.piece(party.piece)
    for ring in piece.rings:
        if _lies_on(edge.path, ring_path(ring)):
            yield Meeting(edge.path, (party, Party(piece.name, "", 0)))


def _shared(first: Path, second: Path) -> Path | None:
    """The shorter of two edges if it lies on the other all along, else None."""
    if not _boxes_touch(first, second):
        return None
    short, long = (first, second) if path_length(first) <= path_length(second) else (second, first)
    return short if _lies_on(short, long) else None


def _lies_on(short: Path, long: Path) -> bool:
    a, b = tape_along(short), tape_along(long)
    places = [a.length_mm * i / 8.0 for i in range(9)]
    return all(b.foot(a.at(place)[0]).away_mm <= NEAR_MM for place in places)


def _boxes_touch(first: Path, second: Path) -> bool:
    ax0, ay0, ax1, ay1 = path_box(first)
    bx0, by0, bx1, by1 = path_box(second)
    near = NEAR_MM
    return ax0 <= bx1 + near and bx0 <= ax1 + near and ay0 <= by1 + near and by0 <= ay1 + near


def matches(found: Sequence[Meeting]) -> tuple[Match, ...]:
    """The numbered places along all meetings, numbered through in their order."""
    placed: list[Match] = []
    for meeting in found:
        first = len(placed) + 1
        placed.extend(
            Match(number, at, meeting.parties)
            for number, at in enumerate(places_along(meeting.path), start=first)
        )
    return tuple(placed)


def places_along(path: Path) -> tuple[Point, ...]:
    """Places for marks along an edge: more where it bends, none near a corner, never symmetric.

    An edge under 20 mm gets none; the places are uneven by at least 4 mm, so that a part turned
    end for end cannot match.
    """
    tape = tape_along(path)
    length = tape.length_mm
    if length < _LEAST_EDGE_MM:
        return ()
    stops = (0.0, *tape.corners(CORNER_RAD), length)
    weighted = _weights(tape)
    count = max(1, round(weighted[-1][1]))
    for tries in range(count, 0, -1):
        for lean in _LEANS:
            places = [_where(weighted, (i + 0.5 + lean) / tries) for i in range(tries)]
            if _keeps_off(places, stops) and _uneven(places, length):
                return tuple(_snapped(tape.at(place)[0]) for place in places)
    for share in _LONE_SHARES:  # a bend in the middle draws all marks there: one beside it will do
        if _keeps_off([share * length], stops):
            return (_snapped(tape.at(share * length)[0]),)
    return ()


def _weights(tape: Tape) -> tuple[tuple[float, float], ...]:
    """(distance along, marks due by there): by length, and by every turn that is no corner."""
    found = [(0.0, 0.0)]
    turned = 0.0
    for along, turn in tape.turns():
        if abs(turn) < CORNER_RAD:
            turned += abs(turn)
        found.append((along, along / SPACING_MM + turned / TURN_RAD))
    found.append((tape.length_mm, tape.length_mm / SPACING_MM + turned / TURN_RAD))
    return tuple(found)


def _where(weights: Sequence[tuple[float, float]], share: float) -> float:
    """The distance along at which a share of all marks is due."""
    due = share * weights[-1][1]
    for (s0, w0), (s1, w1) in pairwise(weights):
        if due <= w1:
            return s0 + (s1 - s0) * ((due - w0) / (w1 - w0) if w1 > w0 else 0.0)
    return weights[-1][0]


def _keeps_off(places: Sequence[float], stops: Sequence[float]) -> bool:
    apart = all(b - a >= 2.0 * MARK_WIDTH_MM for a, b in pairwise(places))
    return apart and all(abs(place - stop) >= MARK_WIDTH_MM for place in places for stop in stops)


def _uneven(places: Sequence[float], length: float) -> bool:
    """Whether the places, counted from the other end, are others."""
    turned = [length - place for place in reversed(places)]
    return max(abs(a - b) for a, b in zip(places, turned, strict=True)) >= _UNEVEN_MM


def _snapped(point: Point) -> Point:
    return (round(point[0], 4) + 0.0, round(point[1], 4) + 0.0)
