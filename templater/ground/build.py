"""Drawing + Job -> Ground: the one interpreter of layers."""

from __future__ import annotations

import difflib
from collections.abc import Collection, Sequence
from typing import TYPE_CHECKING

from templater.geometry.measure import join_boxes, path_box
from templater.ground.borders import shared_borders
from templater.ground.crowding import overlapping_pieces
from templater.ground.dart_shapes import with_sound_darts, zones_beside_darts
from templater.ground.darts import rows_keep_off
from templater.ground.keeping import keep_clear_of, lows_of, misplaced
from templater.ground.measured import to_measure
from templater.ground.pieces import has_open, read_pieces
from templater.ground.proposals import Proposal, hinted, propose
from templater.ground.shapes import closed_areas, sort_shapes
from templater.ground.showing import shows_through
from templater.ground.sites import sites_of
from templater.ground.zones import read_rows, read_zones
from templater.job.borders import with_borders
from templater.job.locate import in_job
from templater.model.curves import IDENTITY, Transform, mirror_about
from templater.model.drawing import Drawing
from templater.model.ground import Ground, Make, Piece, Side, SidePlacement, Surface, Zone
from templater.model.names import plain_name
from templater.model.problems import Problem, Problems, Severity, Source
from templater.model.roles import Role

if TYPE_CHECKING:
    from templater.job.schema import Job

_MOST_HINTS = 4


def build_ground(drawing: Drawing, job: Job) -> tuple[Ground, Problems]:
    """What the drawing means under the job, and every problem found; empty where an error forbids more.

    Names are told in one spelling: lower case, words joined by hyphens.
    """
    drawing, problems = to_measure(drawing, job)
    shapes = sort_shapes(drawing, job.layers)
    proposals = propose(drawing, job.layers)
    problems += hinted(shapes.problems, proposals) + misplaced(shapes)
    pieces, references, said = read_pieces(shapes, job)
    problems += said
    if not pieces:
        _, said = closed_areas(shapes.of(Role.ZONE), "zone")
        return _empty(drawing), problems + said
    pieces, said = with_sound_darts(pieces)
    problems += said
    sites = sites_of([(piece.name, piece.area) for piece in pieces if piece.area])
    zones, said = read_zones(shapes, pieces, references, sites, job)
    problems += said
    problems += zones_beside_darts(zones, pieces)
    problems += overlapping_pieces(pieces, zones) + shows_through(zones, job)
    rows, said = read_rows(shapes, sites)
    problems += said
    zones, borders, said = shared_borders(zones, pieces, rows, job)
    problems += said
    rows, job = rows + borders, with_borders(job, borders)
    lows, said = lows_of(shapes, sites, job)
    problems += said
    if not zones and not has_open(problems) and not shapes.of(Role.ZONE):
        problems += (_no_zones(drawing, proposals),)
    problems += _unknown_names(job, pieces, zones, {row.name for row in rows})
    ground = Ground(
        size_mm=drawing.size_mm,
        pieces=pieces,
        zones=zones,
        rows=rows,
        surfaces=tuple(_surface(piece, zones) for piece in pieces),
        keep_clear=keep_clear_of(shapes, sites, job) + rows_keep_off(pieces, rows, job),
        lows=lows,
        references=references,
    )
    return ground, problems


def _empty(drawing: Drawing) -> Ground:
    return Ground(drawing.size_mm, (), (), (), (), (), (), ())


def _no_zones(drawing: Drawing, proposals: Sequence[Proposal]) -> Problem:
    zones = [proposal.setting for proposal in proposals if proposal.role is Role.ZONE]
    hint = f" What may be a zone: {', '.join(zones[:_MOST_HINTS])}." if zones else ""
    names = ", ".join(f'"{layer.name}"' for layer in drawing.layers if layer.name) or "none"
    return Problem(
        "no-zones",
        Severity.ERROR,
        f"the drawing has no zones (its layers: {names})",
        'Put each coloured area on a layer named "zone" and a name, such as "zone frond", '
        f"or say which layer is a zone under [layers] in the job.{hint}",
        Source(drawing.file),
    )


def _surface(piece: Piece, zones: tuple[Zone, ...]) -> Surface:
    """The sides of a piece. A pair without a fold is mirrored about its largest x."""
    if piece.make is Make.SINGLE:
        return Surface(piece.name, (SidePlacement(Side.SINGLE, IDENTITY),), joined_at_fold=False)
    mirror = piece.fold.mirror if piece.fold is not None else _about_largest_x(piece, zones)
    other = Side.RIGHT if piece.drawn is Side.LEFT else Side.LEFT
    return Surface(
        piece.name,
        (SidePlacement(piece.drawn, IDENTITY), SidePlacement(other, mirror)),
        joined_at_fold=piece.make is Make.FOLD,
    )


def _about_largest_x(piece: Piece, zones: tuple[Zone, ...]) -> Transform:
    outlines = (
        [piece.area.outline]
        if piece.area is not None
        else [
            region.area.outline
            for zone in zones
            if zone.piece == piece.name
            for region in zone.regions
        ]
    )
    x = join_boxes(path_box(outline) for outline in outlines)[2] if outlines else 0.0
    x = round(x, 4)
    return mirror_about((x, 0.0), (x, 1.0))


def _unknown_names(
    job: Job, pieces: tuple[Piece, ...], zones: tuple[Zone, ...], rows: set[str]
) -> Problems:
    """What the job speaks of must be in the drawing, or a misspelt word would go unheard."""
    there = {
        "pieces": {piece.name for piece in pieces},
        "zones": {zone.name for zone in zones},
        "rows": rows,
    }
    spoken: dict[str, Collection[str]] = {
        "pieces": job.pieces,
        "zones": job.zones,
        "rows": job.rows,
    }
    problems = tuple(
        Problem(
            f"unknown-{table.removesuffix('s')}",
            Severity.ERROR,
            f'the drawing has no {table.removesuffix("s")} "{name}"',
            f"{_meant(name, there[table])}It has: {', '.join(sorted(there[table])) or 'none'}.",
            in_job(table, name),
        )
        for table, names in spoken.items()
        for name in names
        if plain_name(name) not in there[table] and zones
    )
    return problems + _unheard_stonings(job, there["zones"], rows)


def _unheard_stonings(job: Job, zones: Collection[str], rows: Collection[str]) -> Problems:
    """Stonings that are asked for but not there, and there but not asked for.

    That is an error where nothing else would set a stone: the pack would be one of nothing.
    """
    asked = {plain_name(table.stoning): name for name, table in job.zones.items() if table.stoning}
    stonings = {plain_name(name) for name in job.stoning}
    missing = tuple(
        Problem(
            "unknown-stoning",
            Severity.ERROR,
            f"there is no [stoning.{stoning}]",
            f"{_meant(stoning, stonings)}The job has: {', '.join(sorted(job.stoning)) or 'none'}.",
            in_job("zones", zone, "stoning"),
        )
        for stoning, zone in asked.items()
        if stoning not in stonings
    )
    used = {*asked, *zones}
    nothing = not rows and not stonings & used
    return missing + tuple(
        Problem(
            "stoning-not-used",
            Severity.ERROR if nothing else Severity.WARNING,
            "no zone uses this stoning" + (", and no other sets a stone" if nothing else ""),
            f"{_meant(name, zones)}Name it after a zone, or write stoning = "
            f'"{name}" under that zone. Zones: {", ".join(sorted(zones)) or "none"}.',
            in_job("stoning", name),
        )
        for name in job.stoning
        if plain_name(name) not in used
    )


def _meant(name: str, known: Collection[str]) -> str:
    near = difflib.get_close_matches(plain_name(name), sorted(known), n=1)
    return f'Did you mean "{near[0]}"? ' if near else ""
