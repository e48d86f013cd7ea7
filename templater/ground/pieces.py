"""Pieces: their outline and make, with the fold, seams and marks that lie on them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from templater.ground.edges import cut_ring
from templater.ground.features import line_features
from templater.ground.folding import drawn_half
from templater.ground.marks import Marks
from templater.ground.shapes import Sorted, closed_areas
from templater.ground.sites import MAIN, sites_of
from templater.job.locate import in_job
from templater.model.curves import Area
from templater.model.ground import Edge, Fold, Make, Piece, Reference, Side
from templater.model.names import plain_name
from templater.model.problems import Problem, Problems, Severity, Source
from templater.model.roles import Role

if TYPE_CHECKING:
    from templater.job.schema import Job, PieceTable


def read_pieces(
    shapes: Sorted, job: Job
) -> tuple[tuple[Piece, ...], tuple[Reference, ...], Problems]:
    """The pieces with all their marks, and the finished edges that placement is measured from."""
    areas, problems = closed_areas(shapes.of(Role.PIECE), "piece")
    areas, twice = _one_outline_each(areas)
    problems += twice
    if has_open(problems):
        return (), (), problems
    sites = sites_of([(name, area) for name, area, _ in areas])
    marks = Marks.read(shapes, sites)
    problems += marks.problems
    tables = {plain_name(name): table for name, table in job.pieces.items()}
    pieces: list[Piece] = []
    outlined: list[tuple[str, Area | None, Source | None]] = [*areas] or [(MAIN, None, None)]
    for name, area, source in outlined:
        half = name in shapes.halves
        piece, found = _piece(name, area, source, tables.get(name), marks, half=half)
        pieces.append(piece)
        problems += found
    return tuple(pieces), marks.references, problems


def has_open(problems: Problems) -> bool:
    return any(problem.code == "open-outline" for problem in problems)


def _one_outline_each(
    areas: list[tuple[str, Area, Source]],
) -> tuple[list[tuple[str, Area, Source]], Problems]:
    kept: dict[str, tuple[str, Area, Source]] = {}
    problems: list[Problem] = []
    for name, area, source in areas:
        if name in kept:
            problems.append(
                Problem(
                    "piece-twice",
                    Severity.ERROR,
                    f'the piece "{name}" has more than one outline',
                    "Give every piece a layer of its own, named piece and its name.",
                    source,
                    area.outline.start,
                )
            )
        kept.setdefault(name, (name, area, source))
    return list(kept.values()), tuple(problems)


def _piece(
    name: str,
    area: Area | None,
    source: Source | None,
    table: PieceTable | None,
    marks: Marks,
    *,
    half: bool,
) -> tuple[Piece, Problems]:
    from templater.job.schema import PieceTable

    said = table or PieceTable()
    fold = marks.folds.get(name)
    problems: Problems = ()
    make = Make(said.make) if said.make else _own_make(area, half=half and fold is not None)
    if make is Make.FOLD and fold is None:
        problems += (
            Problem(
                "no-fold",
                Severity.ERROR,
                f'the piece "{name}" is made on the fold, but no fold is drawn on it',
                'Draw its mirror line on a layer named "fold", or write make = "pair".',
                in_job("pieces", name, "make"),
            ),
        )
        make = Make.SINGLE
    if fold is not None and make is Make.PAIR and said.make is None:
        problems += (
            Problem(
                "fold-not-used",
                Severity.NOTE,
                f'the piece "{name}" has a fold, but is cut as a pair of two cloths unless the job'
                ' says make = "fold"',
                f'For one cloth write make = "fold" under [pieces.{name}], as templater start does; '
                'for two, make = "pair".',
                source,
                fold.start,
            ),
        )
    drawn = area
    if make is Make.FOLD and fold is not None and area is not None:
        area, cut = drawn_half(area, fold, f'piece "{name}"', source)
        problems += cut
    rings = () if area is None else _rings(area, name, fold, said, marks)
    unknown = sorted(
        {plain_name(edge) for edge in said.edges}
        - {seam.name for seam in marks.seams.get(name, ())}
        - {reference.name for reference in marks.references if reference.piece == name}
    )
    problems += tuple(_unknown_edge(name, edge) for edge in unknown)
    piece = Piece(
        name=name,
        area=area,
        make=make,
        drawn=Side.SINGLE if make is Make.SINGLE else Side(said.drawn),
        outline_is=said.outline,
        allowance_mm=said.allowance,
        rings=rings,
        fold=fold,
        grain=marks.grains.get(name),
        seams=marks.seams.get(name, ()),
        creases=marks.creases.get(name, ()),
        darts=marks.darts.get(name, ()),
        notches=marks.notches.get(name, ()),
        drills=marks.drills.get(name, ()),
        source=source,
        drawn_whole=None if drawn is None or drawn is area else drawn.outline,
    )
    return piece, problems


def _own_make(area: Area | None, *, half: bool) -> Make:
    """How a piece is made when the job does not say. A half piece with its mirror line is one cloth."""
    if area is None:
        return Make.SINGLE
    return Make.FOLD if half else Make.PAIR


def _unknown_edge(piece: str, edge: str) -> Problem:
    return Problem(
        "unknown-edge",
        Severity.ERROR,
        f'the piece "{piece}" has no edge or seam "{edge}" in the drawing',
        f'Draw it on a layer named "edge {edge}" or "seam {edge}", or take it out of the job.',
        in_job("pieces", piece, "edges", edge),
    )


def _rings(
    area: Area, name: str, fold: Fold | None, said: PieceTable, marks: Marks
) -> tuple[tuple[Edge, ...], ...]:
    features = line_features(
        name, fold, marks.seams.get(name, ()), marks.references, said.edges, said.allowance
    )
    return tuple(cut_ring(path, features, said.allowance) for path in (area.outline, *area.holes))
