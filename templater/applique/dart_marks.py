"""Marks of parts at darts: numbered alike on both legs where a zone stays in two parts, and moved
with their half where a dart is closed.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from templater.applique.closing import Laid, closed_at_darts, legs_of, side_at
from templater.applique.matching import MARK_WIDTH_MM, NEAR_MM, Match, Party, places_along
from templater.applique.opening import Opened
from templater.applique.strokes import match_marks, notch_marks
from templater.geometry.measure import path_length
from templater.geometry.walk import tape_along
from templater.model.curves import Point
from templater.model.ground import Dart, Edge, Ground, Notch, Piece, Zone
from templater.model.parts import Half, Mark

_LONE_SHARE = 0.36


@dataclass(frozen=True, slots=True)
class DartMark:
    """One of the two places, on the drawn reference, that come together when a dart is closed."""

    number: int
    dart: str
    party: Party
    at: Point


def dart_matches(ground: Ground, first_number: int) -> tuple[DartMark, ...]:
    """Places along every dart that is not closed in a part, each twice: on the left and the right."""
    found: list[DartMark] = []
    number = first_number
    for zone in sorted(ground.zones, key=lambda zone: zone.level):
        piece = ground.piece(zone.piece)
        laid, _ = closed_at_darts(zone, piece, "mm")
        for dart in piece.darts:
            for left, right in _apart(zone, dart, laid):
                parties = [Party(piece.name, zone.name, n + 1) for n in (left, right)]
                mine = legs_of(zone.regions[left], dart).edges
                theirs = legs_of(zone.regions[right], dart).edges
                for edge in mine:
                    for at in _places(edge):
                        other = _across(dart, at)
                        if _lies_along(theirs, other):
                            found.append(DartMark(number, dart.name, parties[0], at))
                            found.append(DartMark(number, dart.name, parties[1], other))
                            number += 1
    return tuple(found)


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


def _matched(part: Opened, laid: Laid, half: Half, match: Match, dart: str) -> Iterable[Mark]:
    """The mark on the part, and its mirror image on one over both sides."""
    at = _snapped(half.to_part.apply(match.at))
    drawn = part.matches((match,))
    for moved, own in zip(part.matches((replace(match, at=at),)), drawn, strict=True):
        for mark in match_marks(part.rings, (moved,), match.parties[0]):
            yield replace(mark, drawn_at=own.at if len(laid.halves) > 1 else None, dart=dart)


def _apart(zone: Zone, dart: Dart, laid: Sequence[Laid]) -> list[tuple[int, int]]:
    """The regions on a dart's left and right that are not joined in one part."""
    part_of = {half.region - 1: n for n, each in enumerate(laid) for half in each.halves}
    sides = [legs_of(region, dart).sides for region in zone.regions]
    return [
        (left, right)
        for left, one in enumerate(sides)
        for right, other in enumerate(sides)
        if "left" in one
        and "right" not in one
        and "right" in other
        and "left" not in other
        and part_of[left] != part_of[right]
    ]


def _places(edge: Edge) -> tuple[Point, ...]:
    """As along any edge; on a short one a single mark off its middle."""
    places = places_along(edge.path)
    length = path_length(edge.path)
    if places or length < 2.0 * MARK_WIDTH_MM:
        return places
    at, _ = tape_along(edge.path).at(_LONE_SHARE * length)
    return (_snapped(at),)


def _across(dart: Dart, at: Point) -> Point:
    """Where a place on the left leg comes to lie on the right one; beyond the tip it stays."""
    if side_at(dart, at) == "beyond":
        return at
    share = math.dist(dart.tip, at) / math.dist(dart.tip, dart.right)
    (tx, ty), (rx, ry) = dart.tip, dart.right
    return _snapped((tx + share * (rx - tx), ty + share * (ry - ty)))


def _lies_along(edges: Iterable[Edge], at: Point) -> bool:
    return any(tape_along(edge.path).foot(at).away_mm <= NEAR_MM / 3.0 for edge in edges)


def _bears(zone: Zone, half: Half, notch: Notch) -> bool:
    return bool(notch_marks(zone.regions[half.region - 1].rings, (notch,)))


def _moved(notch: Notch, half: Half) -> Notch:
    return replace(notch, at=half.to_part.apply(notch.at))


def _snapped(at: Point) -> Point:
    return (round(at[0], 4) + 0.0, round(at[1], 4) + 0.0)
