"""Marks of parts at darts: numbered alike on both legs where a zone stays in two parts, and moved
with their half where a dart is closed.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from templater.applique.closing import Laid, closed_at_darts
from templater.applique.facing import Stretch, facing, misses, place_on
from templater.applique.matching import MARK_WIDTH_MM, Match, Party, places_along
from templater.applique.opening import Opened
from templater.applique.strokes import match_marks, notch_marks
from templater.geometry.polygons import to_polygon
from templater.model.curves import Area, Line, Path, Point
from templater.model.ground import Ground, Notch, Piece, Zone
from templater.model.parts import Half, Mark, MarkKind
from templater.model.problems import Problem

_LONE_SHARE = 0.36
_FEWEST = 3
_MARK_ROOM_MM = 5.0
"""What a register mark takes round its middle."""
_FLAT_MM = 0.01


@dataclass(frozen=True, slots=True)
class DartMark:
    """One of the two places, on the drawn reference, that come together when a dart is closed."""

    number: int
    dart: str
    party: Party
    at: Point


def dart_matches(ground: Ground, first_number: int) -> tuple[DartMark, ...]:
    """Places along every dart that is not closed in a part, each twice: on the left and the right.

    Also where two zones meet across a dart.
    """
    found: list[DartMark] = []
    number = first_number
    for piece in ground.pieces:
        zones = zones_on(ground, piece)
        part_of = {
            Party(piece.name, zone.name, half.region): (zone.name, n)
            for zone in zones
            for n, laid in enumerate(closed_at_darts(zone, piece)[0])
            for half in laid.halves
        }
        for index, dart in enumerate(piece.darts):
            for one, other in facing(zones, dart):
                if part_of[one.party] == part_of[other.party]:
                    continue
                for away_mm in _places(one, other, from_far=index % 2 == 1):
                    for each in (one, other):
                        at = place_on(dart, each.side, away_mm)
                        found.append(DartMark(number, dart.name, each.party, at))
                    number += 1
    return tuple(found)


def dart_misses(ground: Ground, display: str) -> tuple[Problem, ...]:
    """Where edges that go on across a dart do not meet when it is closed."""
    return tuple(
        problem
        for piece in ground.pieces
        for dart in piece.darts
        for problem in misses(zones_on(ground, piece), dart, display)
    )


def zones_on(ground: Ground, piece: Piece) -> tuple[Zone, ...]:
    """A piece's zones from below to above."""
    own = (zone for zone in ground.zones if zone.piece == piece.name)
    return tuple(sorted(own, key=lambda zone: zone.level))


def part_marks(
    part: Opened,
    laid: Laid,
    zone: Zone,
    piece: Piece,
    shared: Sequence[Match],
    at_darts: Sequence[DartMark],
) -> tuple[Mark, ...]:
    """Notches and match marks of a part, each laid where its half lies."""
    marks: list[Mark] = []
    for half in laid.halves:
        party = Party(zone.piece, zone.name, half.region)
        notches = tuple(notch for notch in piece.notches if _bears(zone, half, notch))
        for notch in notches:
            marks += notch_marks(part.rings, part.notches((_moved(notch, half),)))
    for half in laid.halves:
        party = Party(zone.piece, zone.name, half.region)
        for match in shared:
            if party in match.parties:
                marks += _matched(part, laid, half, match, "")
        for each in at_darts:
            if each.party == party:
                match = Match(each.number, each.at, (party, party))
                marks += _matched(part, laid, half, match, each.dart)
    return tuple(marks)


def frame_marks(zone: Zone, laid: Laid, cut: Area) -> tuple[Mark, ...]:
    """The register marks of the zone's templates, on a part with closed darts once for each half,
    laid as the half is: by them a template is laid on one half after the other.

    There those that would lie on the cloth are left out; none at all where a half would have fewer
    than three.
    """
    from shapely import Point as At

    if not laid.closed:
        return tuple(Mark(MarkKind.REGISTER, at) for at in zone.register)
    cloth = to_polygon(cut, _FLAT_MM)
    marks: list[Mark] = []
    for half in laid.halves:
        moved = [(_snapped(half.to_part.apply(at)), at) for at in zone.register]
        clear = [
            Mark(MarkKind.REGISTER, at, drawn_at=drawn)
            for at, drawn in moved
            if cloth.distance(At(at)) >= _MARK_ROOM_MM
            and all(math.dist(at, mark.at) >= 2.0 * _MARK_ROOM_MM for mark in marks)
        ]
        if len(clear) < _FEWEST:
            return ()
        marks += clear
    return tuple(marks)


def _matched(part: Opened, laid: Laid, half: Half, match: Match, dart: str) -> Iterable[Mark]:
    """The mark on the part, and its mirror image on one over both sides."""
    at = _snapped(half.to_part.apply(match.at))
    drawn = part.matches((match,))
    for moved, own in zip(part.matches((replace(match, at=at),)), drawn, strict=True):
        for mark in match_marks(part.rings, (moved,), match.parties[0]):
            yield replace(mark, drawn_at=own.at if len(laid.halves) > 1 else None, dart=dart)


def _places(one: Stretch, other: Stretch, *, from_far: bool) -> tuple[float, ...]:
    """Distances from the tip, as along any edge; on a short one a single mark off its middle.

    `from_far`: counted from the other end, so that two darts with a common mouth are not marked
    alike.
    """
    near, length = max(one.near_mm, other.near_mm), one.common_mm(other)
    if length < 2.0 * MARK_WIDTH_MM:
        return ()
    line = Path((Line((0.0, 0.0), (length, 0.0)),), closed=False)
    along = tuple(x for x, _ in places_along(line)) or (_LONE_SHARE * length,)
    return tuple(near + (length - x if from_far else x) for x in along)


def _bears(zone: Zone, half: Half, notch: Notch) -> bool:
    return bool(notch_marks(zone.regions[half.region - 1].rings, (notch,)))


def _moved(notch: Notch, half: Half) -> Notch:
    return replace(notch, at=half.to_part.apply(notch.at))


def _snapped(at: Point) -> Point:
    return (round(at[0], 4) + 0.0, round(at[1], 4) + 0.0)
