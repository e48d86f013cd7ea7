"""Zones and pieces as parts to be cut: one reference each, and how it lies on the wearer's sides.

A reversed part (web) has its lines in the same drawn reference as the others. Who lays it on a
sheet draws them mirrored, so that it is traced face down, and its words as they are.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from templater.applique.labels import place_label
from templater.applique.unfold import EdgeRing, rings_area, touches_fold, unfolded
from templater.applique.words import allowance_words, face_words, side_words
from templater.geometry.offset import inset_region, offset_region
from templater.model.curves import Area, Point
from templater.model.ground import Ground, Make, Piece, Side, SidePlacement, Zone
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


def make_parts(ground: Ground, job: Job) -> tuple[tuple[CutPart, ...], Problems]:
    """Every part to cut: pieces, then zones from below to above, each with its web after it."""
    parts: list[CutPart] = []
    problems: list[Problem] = []
    for piece in ground.pieces:
        found, more = _piece_parts(ground, piece, job)
        parts.extend(found)
        problems.extend(more)
    for zone in sorted(ground.zones, key=lambda zone: zone.level):
        found, more = _zone_parts(ground, zone, job)
        parts.extend(found)
        problems.extend(more)
    return tuple(parts), tuple(problems)


def _piece_parts(ground: Ground, piece: Piece, job: Job) -> tuple[list[CutPart], list[Problem]]:
    if piece.area is None or not piece.rings:
        return [], []
    rings, sides = _opened(ground, piece, piece.rings)
    where = f'piece "{piece.name}"'
    drawn = rings_area(rings)
    if piece.outline_is == "cut":
        insides = inset_region(rings, "mitre", tolerance_mm=job.tolerance)
        if not insides:
            return [], [_too_wide(where, piece.source, drawn)]
        shape = Shape(rings, drawn, insides[0], sides)
    else:
        outsides = offset_region(rings, "mitre", tolerance_mm=job.tolerance)
        if not outsides:
            return [], [_no_area(where, piece.source)]
        shape = Shape(rings, outsides[0], drawn, sides)
    marks = _piece_marks(piece)
    return [
        _part(piece, shape, placement, PartKind.PIECE, "", 0, marks, "", job) for placement in sides
    ], []


def _piece_marks(piece: Piece) -> tuple[Mark, ...]:
    notches = tuple(Mark(MarkKind.NOTCH, notch.at) for notch in piece.notches)
    return (*notches, *(Mark(MarkKind.DRILL, at) for at in piece.drills))


def _zone_parts(ground: Ground, zone: Zone, job: Job) -> tuple[list[CutPart], list[Problem]]:
    parts: list[CutPart] = []
    problems: list[Problem] = []
    table, piece = job.zone_table(zone.name), ground.piece(zone.piece)
    register = tuple(Mark(MarkKind.REGISTER, at) for at in zone.register)
    for number, region in enumerate(zone.regions, start=1):
        where = f'zone "{zone.name}"' + (f", part {number}" if len(zone.regions) > 1 else "")
        rings, sides = _opened(ground, piece, region.rings)
        outsides = offset_region(rings, table.corner, tolerance_mm=job.tolerance)
        if not outsides:
            problems.append(_no_area(where, zone.source))
            continue
        shape = Shape(rings, outsides[0], rings_area(rings), sides)
        numbered = number if len(zone.regions) > 1 else 0
        for placement in sides:
            kinds = (PartKind.APPLIQUE, PartKind.WEB) if table.web else (PartKind.APPLIQUE,)
            parts.extend(
                _part(
                    piece,
                    shape,
                    placement,
                    kind,
                    zone.name,
                    numbered,
                    register,
                    WEB_FABRIC if kind is PartKind.WEB else table.fabric,
                    job,
                )
                for kind in kinds
            )
    return parts, problems


def _opened(
    ground: Ground, piece: Piece, rings: Sequence[EdgeRing]
) -> tuple[tuple[EdgeRing, ...], tuple[SidePlacement, ...]]:
    """The rings as they are cut, and the sides they are cut for.

    What touches the fold of a piece cut on the fold is one part over both sides.
    """
    surface = ground.surface(piece.name)
    if piece.make is Make.FOLD and piece.fold is not None and touches_fold(rings):
        drawn = next((each for each in surface.sides if each.side is piece.drawn), surface.sides[0])
        return unfolded(rings, piece.fold), (SidePlacement(Side.CENTRE, drawn.transform),)
    return tuple(rings), surface.sides


def _part(
    piece: Piece,
    shape: Shape,
    placement: SidePlacement,
    kind: PartKind,
    zone: str,
    number: int,
    marks: tuple[Mark, ...],
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
        marks=marks,
        label=_label(shape, words, (mark.at for mark in marks)),
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
        allowance_words(shape.rings, job.display),
    )
    kept = (tuple(word for word in group if word) for group in groups)
    return tuple(group for group in kept if group)


def _label(shape: Shape, words: tuple[tuple[str, ...], ...], avoid: Iterable[Point]) -> Label:
    return place_label(shape.finished, shape.cut, tuple(_layouts(words)), avoid)


def _layouts(words: tuple[tuple[str, ...], ...]) -> Iterator[tuple[str, ...]]:
    """Every word its own line; a line a group; two groups a line."""
    grouped = [" · ".join(group) for group in words]
    yield tuple(word for group in words for word in group)
    yield tuple(grouped)
    yield tuple(" · ".join(grouped[i : i + 2]) for i in range(0, len(grouped), 2))


def _no_area(where: str, source: Source | None) -> Problem:
    return Problem(
        "part-without-area",
        Severity.ERROR,
        f"{where} has no area to cut",
        "draw it as a closed outline that encloses some cloth",
        source,
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
