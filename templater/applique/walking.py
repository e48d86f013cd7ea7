"""Edges that will meet, walked length against length before anything is cut."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import dist

from templater.applique.facing import dart_words
from templater.applique.matching import NEAR_MM, Party, meetings
from templater.applique.unfold import EdgeRing, ring_path
from templater.applique.words import length_words
from templater.geometry.beside import stretches_beside
from templater.geometry.moves import moved_path, reversed_path
from templater.geometry.walk import part_between, tape_along, walk
from templater.model.curves import Line, Path
from templater.model.ground import Dart, EdgeKind, Ground, Make, Piece, Zone
from templater.model.parts import Walked
from templater.model.problems import Problem, Problems, Severity, Source

TOLERANCE_MM = 1.5
"""What fitters accept at the stitch line: 1/16 in (Threads 200, 2018-19)."""


@dataclass(frozen=True, slots=True)
class _Pair:
    first: str
    second: str
    first_path: Path
    second_path: Path
    source: Source | None
    kind: str


def walked(ground: Ground, display: str = "mm") -> tuple[tuple[Walked, ...], Problems]:
    """Every pair of edges that will meet: zone and zone, zone and piece, seam and seam of the same
    name, side and side at the fold, the legs of a dart. Differences over 1.5 mm are warnings that say how much to ease in.
    """
    results: list[Walked] = []
    problems: list[Problem] = []
    for pair in _pairs(ground):
        found = walk(pair.first_path, _along_with(pair.first_path, pair.second_path))
        at = tape_along(pair.first_path).at((found.from_mm + found.to_mm) / 2.0)[0]
        result = Walked(
            pair.first,
            pair.second,
            round(found.first_mm, 3),
            round(found.second_mm, 3),
            round(found.from_mm, 2),
            round(found.to_mm, 2),
            (round(at[0], 4), round(at[1], 4)),
            pair.kind,
        )
        results.append(result)
        if abs(found.difference_mm) > TOLERANCE_MM:
            problems.append(_uneven(result, found.percent, display, pair.source))
    return tuple(results), tuple(problems)


def _pairs(ground: Ground) -> Iterator[_Pair]:
    for meeting in meetings(ground):
        one, two = meeting.parties
        first, second = _own_edge(ground, one, meeting.path), _own_edge(ground, two, meeting.path)
        if first is not None and second is not None:
            source = ground.zone(one.zone).source
            yield _Pair(_name(one), _name(two), first, second, source, "shared edge")
    for a, b in combinations(ground.pieces, 2):
        for first_seam in a.seams:
            for second_seam in b.seams:
                if first_seam.name == second_seam.name:
                    yield _Pair(
                        f'seam "{first_seam.name}" of piece "{a.name}"',
                        f'seam "{second_seam.name}" of piece "{b.name}"',
                        first_seam.path,
                        second_seam.path,
                        first_seam.source,
                        "seam",
                    )
    for piece in ground.pieces:
        yield from _sides(piece, [zone for zone in ground.zones if zone.piece == piece.name])
        for number, dart in enumerate(piece.darts, start=1):
            called = dart_words([dart]) if dart.name else f"dart {number}"
            name = f'leg of the {called} on piece "{piece.name}"'
            yield _Pair(
                f"the left {name}", f"the right {name}", *_legs(dart), dart.source, "dart legs"
            )


def _sides(piece: Piece, zones: Sequence[Zone]) -> Iterator[_Pair]:
    """Of two cloths the edges along the fold, where each is sewn to its own mirror image; of one
    cloth its left against its right, if both were drawn.
    """
    if piece.fold is None:
        return
    fold = piece.fold
    if piece.make is Make.FOLD:
        if piece.drawn_whole is not None:
            halves = [
                stretches_beside(piece.drawn_whole, fold.start, fold.end, way) for way in (1, -1)
            ]
            if all(len(half) == 1 for half in halves):
                (one,), (other,) = halves
                mirrored = moved_path(other, fold.mirror)
                name = f'of the fold, piece "{piece.name}"'
                yield _Pair(f"left {name}", f"right {name}", one, mirrored, piece.source, "sides")
        return
    owners = [(f'piece "{piece.name}"', piece.rings, piece.source)]
    owners += [
        (_name(Party(piece.name, zone.name, number)), region.rings, zone.source)
        for zone in zones
        for number, region in enumerate(zone.regions, start=1)
    ]
    for name, rings, source in owners:
        for edge in (edge for ring in rings for edge in ring if edge.kind is EdgeKind.FOLD):
            mirrored = moved_path(edge.path, fold.mirror)
            yield _Pair(
                f"{name}, left", f"{name}, right", edge.path, mirrored, source, "at the fold"
            )


def _legs(dart: Dart) -> tuple[Path, Path]:
    return (
        Path((Line(dart.tip, dart.left),), closed=False),
        Path((Line(dart.tip, dart.right),), closed=False),
    )


def _name(party: Party) -> str:
    if not party.zone:
        return f'piece "{party.piece}"'
    return f'zone "{party.zone}"' + (f", part {party.region}" if party.region > 1 else "")


def _own_edge(ground: Ground, party: Party, shared: Path) -> Path | None:
    """The stretch of the party's own outline that runs along a shared edge."""
    rings: tuple[EdgeRing, ...] = (
        ground.zone(party.zone).regions[party.region - 1].rings
        if party.zone
        else ground.piece(party.piece).rings
    )
    tape = tape_along(shared)
    middle = tape.at(tape.length_mm / 2.0)[0]
    outlines = [ring_path(ring) for ring in rings]
    outline = min(outlines, key=lambda path: tape_along(path).foot(middle).away_mm)
    around = tape_along(outline)
    start, end = around.foot(shared.start).along_mm, around.foot(shared.end).along_mm
    if dist(shared.start, shared.end) < NEAR_MM:
        return shared
    stretches = (part_between(outline, start, end), part_between(outline, end, start))
    return min(stretches, key=lambda path: tape_along(path).foot(middle).away_mm)


def _along_with(first: Path, second: Path) -> Path:
    """The second edge run the way the first is, by which of its ends lies nearer the first's start."""
    if dist(second.start, first.start) <= dist(second.end, first.start):
        return second
    return reversed_path(second)


def _uneven(result: Walked, percent: float, display: str, source: Source | None) -> Problem:
    difference = result.first_mm - result.second_mm
    longer, shorter = (
        (result.first, result.second) if difference > 0.0 else (result.second, result.first)
    )
    ease = length_words(abs(difference), display)
    lengths = (result.first_mm, result.second_mm)
    return Problem(
        "edges-differ-in-length",
        Severity.WARNING,
        f"{longer} is {ease} ({abs(percent):.1f} %) longer than {shorter} ("
        f"{length_words(max(lengths), display)} against {length_words(min(lengths), display)}), "
        "most of it between "
        f"{length_words(result.from_mm, display)} and {length_words(result.to_mm, display)} "
        f"along {result.first}",
        f"ease in {ease} there when sewing, or redraw one of the two lines",
        source,
        result.at,
    )
