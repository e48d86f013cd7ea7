"""Zones and pieces as parts to be cut: one reference each, and how it lies on the wearer's sides.

A reversed part (web) has its lines in the same drawn reference as the others. Who lays it on a
sheet draws them mirrored, so that it is traced face down, and its words as they are.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from templater.applique.beneath import covers_of, cut_areas, lying_over
from templater.applique.closing import closed_at_darts, covers_when_closed, dart_label
from templater.applique.dart_laps import dart_gaps
from templater.applique.dart_marks import (
    DartMark,
    dart_matches,
    dart_misses,
    frame_marks,
    part_marks,
)
from templater.applique.flaws import in_pieces, outline_flaws, underlap_trimmed
from templater.applique.inlets import narrow_inlets
from templater.applique.labels import place_label
from templater.applique.matching import Match, Party, matches, meetings
from templater.applique.opening import opened
from templater.applique.placing import zone_placement
from templater.applique.strokes import (
    clip_marks,
    match_marks,
    notch_marks,
    on_the_cloth,
    without_allowances,
)
from templater.applique.unfold import rings_area
from templater.applique.walking import walked
from templater.applique.web import web_lines
from templater.applique.words import allowance_words, copies_words, label_groups, label_layouts
from templater.geometry.offset import SLIT_MM, inset_region, offset_region
from templater.model.curves import Area
from templater.model.ground import Ground, Make, Piece, SidePlacement, Zone
from templater.model.parts import CutPart, Half, Mark, MarkKind, PartKind, PlacementPoint
from templater.model.problems import Problem, Problems, Severity, Source

if TYPE_CHECKING:
    from templater.job.schema import Job

WEB_FABRIC = "fusible web"


@dataclass(frozen=True, slots=True)
class Shape:
    """The lines and marks of a part, common to all its sides, and what its label adds."""

    cut: Area
    finished: Area
    marks: tuple[Mark, ...]
    words: tuple[str, ...]
    placing: tuple[PlacementPoint, ...] = ()
    halves: tuple[Half, ...] = ()


@dataclass(frozen=True, slots=True)
class _Kind:
    """What a part is, apart from its lines."""

    kind: PartKind
    piece: Piece
    zone: str
    number: int
    fabric: str
    web: bool


def make_parts(ground: Ground, job: Job) -> tuple[tuple[CutPart, ...], Problems]:
    """Every part to cut: pieces, then zones from below to above, each with its web after it."""
    parts: list[CutPart] = []
    problems = list(walked(ground, job.display)[1])
    shared = matches(meetings(ground))
    at_darts = dart_matches(ground, len(shared) + 1)
    problems.extend(dart_misses(ground, job.display))
    underlaps = {zone.name: job.zone_table(zone.name).underlap for zone in ground.zones}
    problems.extend(dart_gaps(ground, underlaps, job.display))
    for piece in ground.pieces:
        found, more = _piece_parts(ground, piece, shared, job)
        parts.extend(found)
        problems.extend(more)
    for zone in sorted(ground.zones, key=lambda zone: zone.level):
        found, more = _zone_parts(ground, zone, shared, at_darts, job)
        parts.extend(found)
        problems.extend(more)
    return tuple(parts), tuple(problems)


def _piece_parts(
    ground: Ground, piece: Piece, shared: tuple[Match, ...], job: Job
) -> tuple[list[CutPart], list[Problem]]:
    if piece.area is None or not piece.rings:
        return [], []
    part = opened(ground, piece, piece.rings)
    where = f'piece "{piece.name}"'
    drawn = rings_area(part.rings)
    if piece.outline_is == "cut":
        found = inset_region(part.rings, "mitre", tolerance_mm=job.tolerance)
        if not found:
            return [], [_too_wide(where, piece.source, drawn)]
        cut, finished = drawn, part.even(found[0])
        marked = without_allowances(part.rings)
    else:
        found = offset_region(part.rings, "mitre", tolerance_mm=job.tolerance, inlet_mm=SLIT_MM)
        if not found:
            return [], [_no_area(where, piece.source)]
        cut, finished = part.even(found[0]), drawn
        marked = part.rings
    marks = (
        *notch_marks(marked, part.notches(piece.notches)),
        *match_marks(marked, part.matches(shared), Party(piece.name, "", 0)),
        *(Mark(MarkKind.DRILL, at) for at in part.points(piece.drills)),
    )
    shape = Shape(cut, finished, marks, allowance_words(part.rings, job.display))
    problems = [
        *in_pieces(where, found, piece.source),
        *outline_flaws(where, part.rings, finished, cut, piece.source, job.display),
    ]
    if piece.outline_is == "seam":
        problems += narrow_inlets(where, part.rings, finished, cut, piece.source, job.display)
    if piece.make is Make.FOLD and part.fold is None:
        problems.append(_fold_misses(piece))
    kind = _Kind(PartKind.PIECE, piece, "", 0, "", web=False)
    return [_part(kind, shape, side, job) for side in part.sides], problems


def _zone_parts(
    ground: Ground,
    zone: Zone,
    shared: tuple[Match, ...],
    at_darts: tuple[DartMark, ...],
    job: Job,
) -> tuple[list[CutPart], list[Problem]]:
    parts: list[CutPart] = []
    table, piece = job.zone_table(zone.name), ground.piece(zone.piece)
    all_laid, problems = closed_at_darts(zone, piece)
    several = len(all_laid) > 1
    covers = covers_of(ground, zone, job.tolerance)
    placing, unplaced = zone_placement(ground, zone)
    problems += unplaced
    for laid in all_laid:
        number = laid.number
        where = f'zone "{zone.name}"' + (f", part {number}" if several else "")
        part = opened(ground, piece, lying_over(laid.rings, ground, zone))
        above = covers_when_closed(covers, zone, laid)
        outsides = cut_areas(part, above, table.corner, job.tolerance)
        if not outsides:
            problems.append(_no_area(where, zone.source))
            continue
        cut, finished = part.even(outsides[0]), rings_area(part.rings)
        marks = (
            *frame_marks(zone, laid, cut),
            *on_the_cloth(part_marks(part, laid, zone, piece, shared, at_darts), cut),
            *clip_marks(part.rings),
        )
        problems += [
            *in_pieces(where, outsides, zone.source),
            *outline_flaws(where, part.rings, finished, cut, zone.source, job.display),
            *narrow_inlets(where, part.rings, finished, cut, zone.source, job.display),
            *underlap_trimmed(where, part.rings, cut, zone.source, job.display),
        ]
        halves = laid.halves if laid.closed else ()
        pinned = tuple(point for half in laid.halves for point in placing[half.region - 1])
        said = allowance_words(part.rings, job.display)
        words = (*dart_label(zone, laid, piece), *said)
        shapes = {PartKind.APPLIQUE: Shape(cut, finished, marks, words, pinned, halves)}
        if table.web:
            web = web_lines(part, cut, above, table.corner, job.tolerance, job.display)
            if web is None:
                problems.append(_no_web(where, zone.source))
            else:
                lines = (part.even(web.cut), part.even(web.finished))
                backed = on_the_cloth(marks, lines[0])
                shapes[PartKind.WEB] = Shape(*lines, backed, web.words, halves=halves)
        for side in part.sides:
            for kind, shape in shapes.items():
                fabric = WEB_FABRIC if kind is PartKind.WEB else table.fabric
                what = _Kind(kind, piece, zone.name, number if several else 0, fabric, table.web)
                parts.append(_part(what, shape, side, job))
    return parts, problems


def _part(what: _Kind, shape: Shape, placement: SidePlacement, job: Job) -> CutPart:
    name = what.zone or what.piece.name
    numbered = f"{name}.{what.number}" if what.number else name
    doubled = job.templates.cloth.folded
    copies = copies_words(placement.side, what.kind, web=what.web, doubled=doubled)
    names = (what.piece.name, what.zone)
    groups = label_groups(
        job.name, names, placement.side, what.kind, what.fabric, copies, shape.words
    )
    avoid = [mark.at for mark in shape.marks if mark.kind is not MarkKind.CLIP]
    return CutPart(
        id=f"{what.kind.value}-{numbered}-{placement.side.value}",
        kind=what.kind,
        piece=what.piece.name,
        zone=what.zone,
        region=max(what.number, 1),
        side=placement.side,
        to_side=placement.transform,
        cut=shape.cut,
        finished=shape.finished,
        marks=shape.marks,
        label=place_label(shape.finished, shape.cut, label_layouts(groups), avoid),
        fabric=what.fabric,
        copies=1,
        reversed=what.kind is PartKind.WEB,
        grain_deg=None if what.kind is PartKind.WEB else _grain_deg(what.piece),
        placing=shape.placing,
        halves=shape.halves,
    )


def _grain_deg(piece: Piece) -> float | None:
    if piece.grain is None:
        return None
    (x0, y0), (x1, y1) = piece.grain
    return round(math.degrees(math.atan2(y1 - y0, x1 - x0)) % 360.0, 6)


def _no_web(where: str, source: Source | None) -> Problem:
    return Problem(
        "no-room-for-web",
        Severity.WARNING,
        f"{where} is too narrow for web behind it: its edges are turned under all round",
        "say web = false for this zone",
        source,
    )


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
