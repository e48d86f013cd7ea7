"""Zones and pieces as parts to be cut: one reference each, and how it lies on the wearer's sides.

A reversed part (web) has its lines in the same drawn reference as the others. Who lays it on a
sheet draws them mirrored, so that it is traced face down, and its words as they are.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, TypeVar

from templater.applique.even import evened
from templater.applique.flaws import outline_flaws
from templater.applique.labels import place_label
from templater.applique.matching import Match, Party, matches, meetings
from templater.applique.strokes import clip_marks, match_marks, notch_marks, without_allowances
from templater.applique.unfold import EdgeRing, rings_area, touches_fold, unfolded
from templater.applique.walking import walked
from templater.applique.words import allowance_words, face_words, side_words
from templater.geometry.offset import inset_region, offset_region
from templater.model.curves import Area, Point, Transform
from templater.model.ground import EdgeKind, Ground, Make, Notch, Piece, Side, SidePlacement, Zone
from templater.model.parts import CutPart, Label, Mark, MarkKind, PartKind
from templater.model.problems import Problem, Problems, Severity, Source

if TYPE_CHECKING:
    from templater.job.schema import Job

WEB_FABRIC = "fusible web"


@dataclass(frozen=True, slots=True)
class Shape:
    """The lines of a part, common to all its sides."""

    rings: tuple[EdgeRing, ...]
    cut: Area
    finished: Area
    sides: tuple[SidePlacement, ...]
    marks: tuple[Mark, ...]


def make_parts(ground: Ground, job: Job) -> tuple[tuple[CutPart, ...], Problems]:
    """Every part to cut: pieces, then zones from below to above, each with its web after it."""
    parts: list[CutPart] = []
    problems = list(walked(ground, job.display)[1])
    shared = matches(meetings(ground))
    for piece in ground.pieces:
        found, more = _piece_parts(ground, piece, shared, job)
        parts.extend(found)
        problems.extend(more)
    for zone in sorted(ground.zones, key=lambda zone: zone.level):
        found, more = _zone_parts(ground, zone, shared, job)
        parts.extend(found)
        problems.extend(more)
    return tuple(parts), tuple(problems)


def _piece_parts(
    ground: Ground, piece: Piece, shared: tuple[Match, ...], job: Job
) -> tuple[list[CutPart], list[Problem]]:
    if piece.area is None or not piece.rings:
        return [], []
    rings, sides, mirror = _opened(ground, piece, piece.rings)
    where = f'piece "{piece.name}"'
    drawn = rings_area(rings)
    inner = _deep_in(piece.rings)
    if piece.outline_is == "cut":
        insides = inset_region(rings, "mitre", tolerance_mm=job.tolerance)
        if not insides:
            return [], [_too_wide(where, piece.source, drawn)]
        cut, finished = drawn, _evened(insides[0], piece, mirror, inner)
        marked = without_allowances(rings)
    else:
        outsides = offset_region(rings, "mitre", tolerance_mm=job.tolerance)
        if not outsides:
            return [], [_no_area(where, piece.source)]
        cut, finished = _evened(outsides[0], piece, mirror, inner), drawn
        marked = rings
    marks = (
        *notch_marks(marked, _both(piece.notches, mirror)),
        *match_marks(marked, _both(shared, mirror), Party(piece.name, "", 0)),
        *(Mark(MarkKind.DRILL, at) for at in _both_points(piece.drills, mirror)),
    )
    shape = Shape(rings, cut, finished, sides, marks)
    problems = list(outline_flaws(where, rings, finished, cut, piece.source, job.display))
    if piece.make is Make.FOLD and mirror is None:
        problems.append(_fold_misses(piece))
    return [
        _part(piece, shape, placement, PartKind.PIECE, "", 0, "", job) for placement in sides
    ], problems


def _zone_parts(
    ground: Ground, zone: Zone, shared: tuple[Match, ...], job: Job
) -> tuple[list[CutPart], list[Problem]]:
    parts: list[CutPart] = []
    problems: list[Problem] = []
    table, piece = job.zone_table(zone.name), ground.piece(zone.piece)
    register = tuple(Mark(MarkKind.REGISTER, at) for at in zone.register)
    for number, region in enumerate(zone.regions, start=1):
        where = f'zone "{zone.name}"' + (f", part {number}" if len(zone.regions) > 1 else "")
        rings, sides, mirror = _opened(ground, piece, region.rings)
        outsides = offset_region(rings, table.corner, tolerance_mm=job.tolerance)
        if not outsides:
            problems.append(_no_area(where, zone.source))
            continue
        marks = (
            *register,
            *notch_marks(rings, _both(piece.notches, mirror)),
            *match_marks(rings, _both(shared, mirror), Party(zone.piece, zone.name, number)),
            *clip_marks(rings),
        )
        cut = _evened(outsides[0], piece, mirror, _deep_in(region.rings))
        shape = Shape(rings, cut, rings_area(rings), sides, marks)
        problems.extend(outline_flaws(where, rings, shape.finished, cut, zone.source, job.display))
        numbered = number if len(zone.regions) > 1 else 0
        kinds = (PartKind.APPLIQUE, PartKind.WEB) if table.web else (PartKind.APPLIQUE,)
        for placement in sides:
            for kind in kinds:
                fabric = WEB_FABRIC if kind is PartKind.WEB else table.fabric
                parts.append(_part(piece, shape, placement, kind, zone.name, numbered, fabric, job))
    return parts, problems


def _opened(
    ground: Ground, piece: Piece, rings: Sequence[EdgeRing]
) -> tuple[tuple[EdgeRing, ...], tuple[SidePlacement, ...], Transform | None]:
    """The rings as they are cut, the sides they are cut for, and the fold they were opened about.

    What touches the fold of a piece cut on the fold is one part over both sides.
    """
    surface = ground.surface(piece.name)
    if piece.make is Make.FOLD and piece.fold is not None and touches_fold(rings):
        drawn = next((each for each in surface.sides if each.side is piece.drawn), surface.sides[0])
        sides = (SidePlacement(Side.CENTRE, drawn.transform),)
        return unfolded(rings, piece.fold), sides, piece.fold.mirror
    return tuple(rings), surface.sides, None


def _deep_in(rings: Sequence[EdgeRing]) -> Point:
    """A point on the drawn side of the fold: the drawn outline's farthest from its fold edges."""
    ends = [edge.path.start for edge in rings[0]]
    folds = [edge.path.start for edge in rings[0] if edge.kind is EdgeKind.FOLD]
    return max(ends, key=lambda end: min((math.dist(end, f) for f in folds), default=0.0))


def _evened(area: Area, piece: Piece, mirror: Transform | None, drawn_at: Point) -> Area:
    if mirror is None or piece.fold is None:
        return area
    return evened(area, piece.fold, drawn_at)


Placed = TypeVar("Placed", Match, Notch)


def _both(found: Sequence[Placed], mirror: Transform | None) -> tuple[Placed, ...]:
    """Places of the drawn half, and their mirror images on a part opened at the fold."""
    both = list(found)
    if mirror is not None:
        move = mirror.apply
        both.extend(replace(each, at=move(each.at)) for each in found)
    return tuple(both)


def _both_points(found: Sequence[Point], mirror: Transform | None) -> tuple[Point, ...]:
    return tuple(found) if mirror is None else (*found, *(mirror.apply(at) for at in found))


def _part(
    piece: Piece,
    shape: Shape,
    placement: SidePlacement,
    kind: PartKind,
    zone: str,
    number: int,
    fabric: str,
    job: Job,
) -> CutPart:
    name = zone or piece.name
    words = _words(piece, zone, kind, placement.side, fabric, shape, job)
    return CutPart(
        id="-".join((kind.value, f"{name}.{number}" if number else name, placement.side.value)),
        kind=kind,
        piece=piece.name,
        zone=zone,
        region=max(number, 1),
        side=placement.side,
        to_side=placement.transform,
        cut=shape.cut,
        finished=shape.finished,
        marks=shape.marks,
        label=_label(shape, words),
        fabric=fabric,
        copies=1,
        reversed=kind is PartKind.WEB,
        grain_deg=None if kind is PartKind.WEB else _grain_deg(piece),
    )


def _grain_deg(piece: Piece) -> float | None:
    if piece.grain is None:
        return None
    (x0, y0), (x1, y1) = piece.grain
    return round(math.degrees(math.atan2(y1 - y0, x1 - x0)) % 360.0, 6)


def _words(
    piece: Piece, zone: str, kind: PartKind, side: Side, fabric: str, shape: Shape, job: Job
) -> tuple[tuple[str, ...], ...]:
    """The label's words in groups; a group may share a line."""
    groups = (
        (job.name,),
        (piece.name, zone),
        (side_words(side), face_words(kind)),
        (fabric, "cut 1"),
        *((words,) for words in allowance_words(shape.rings, job.display)),
    )
    kept = (tuple(word for word in group if word) for group in groups)
    return tuple(group for group in kept if group)


def _label(shape: Shape, words: tuple[tuple[str, ...], ...]) -> Label:
    avoid = [mark.at for mark in shape.marks if mark.kind is not MarkKind.CLIP]
    return place_label(shape.finished, shape.cut, tuple(_layouts(words)), avoid)


def _layouts(words: tuple[tuple[str, ...], ...]) -> Iterator[tuple[str, ...]]:
    """A line a group; every word its own line; two groups a line."""
    grouped = [" · ".join(group) for group in words]
    yield tuple(grouped)
    yield tuple(word for group in words for word in group)
    yield tuple(" · ".join(grouped[i : i + 2]) for i in range(0, len(grouped), 2))


def _no_area(where: str, source: Source | None) -> Problem:
    return Problem(
        "part-without-area",
        Severity.ERROR,
        f"{where} has no area to cut",
        "draw it as a closed outline that encloses some cloth",
        source,
    )


def _fold_misses(piece: Piece) -> Problem:
    return Problem(
        "fold-misses-piece",
        Severity.ERROR,
        f'piece "{piece.name}" is to be cut on the fold, but its outline does not run along it',
        'draw the outline up to the "fold" line, or say make = "pair"',
        piece.source,
        None if piece.fold is None else piece.fold.start,
    )


def _too_wide(where: str, source: Source | None, drawn: Area) -> Problem:
    return Problem(
        "allowance-too-wide",
        Severity.ERROR,
        f"{where}: the allowances are wider than the piece: nothing is left inside them",
        'lower the allowances, or say outline = "seam" if the seam line was drawn',
        source,
        drawn.outline.start,
    )
