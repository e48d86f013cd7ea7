"""The marks drawn on pieces: folds, grain, seams, creases, darts, notches, drills, finished edges."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from templater.ground.dart_shapes import darts_of
from templater.ground.shapes import Sorted, lines_of, points_of
from templater.ground.sites import Site, line_geometry, site_for
from templater.model.curves import Path, Point
from templater.model.ground import Dart, Fold, Notch, Reference, SeamLine
from templater.model.problems import Problem, Problems, Severity, Source
from templater.model.roles import Role


@dataclass(frozen=True, slots=True)
class Marks:
    """Every mark of the drawing with the piece it belongs to."""

    folds: Mapping[str, Fold]
    grains: Mapping[str, tuple[Point, Point]]
    seams: Mapping[str, tuple[SeamLine, ...]]
    creases: Mapping[str, tuple[Path, ...]]
    darts: Mapping[str, tuple[Dart, ...]]
    notches: Mapping[str, tuple[Notch, ...]]
    drills: Mapping[str, tuple[Point, ...]]
    references: tuple[Reference, ...]
    problems: Problems

    @classmethod
    def read(cls, shapes: Sorted, sites: Sequence[Site]) -> Marks:
        from shapely import Point as At

        problems: list[Problem] = []

        def home(path: Path) -> str:
            return site_for(sites, line_geometry(path))[0]

        def by_point(at: Point) -> str:
            return site_for(sites, At(at).buffer(0.01))[0]

        folds: dict[str, Fold] = {}
        for _, path, source in lines_of(shapes.of(Role.FOLD)):
            fold, said = _fold(path, source)
            problems.extend(said)
            if fold is not None and home(path) in folds:
                problems.append(_second_fold(home(path), source, path.start))
            elif fold is not None:
                folds[home(path)] = fold
        grains = {
            home(path): (path.start, path.end)
            for _, path, _ in reversed(lines_of(shapes.of(Role.GRAIN)))
            if path.start != path.end
        }
        seams: dict[str, tuple[SeamLine, ...]] = {}
        for name, path, source in lines_of(shapes.of(Role.SEAM)):
            seams[home(path)] = (*seams.get(home(path), ()), SeamLine(name, path, source))
        creases: dict[str, tuple[Path, ...]] = {}
        for _, path, _ in lines_of(shapes.of(Role.CREASE)):
            creases[home(path)] = (*creases.get(home(path), ()), path)
        darts: dict[str, tuple[Dart, ...]] = {}
        for name, path, source in lines_of(shapes.of(Role.DART)):
            found, said = darts_of(path, source, name)
            problems.extend(said)
            darts[home(path)] = (*darts.get(home(path), ()), *found)
        notches: dict[str, tuple[Notch, ...]] = {}
        for at, source in points_of(shapes.of(Role.NOTCH)):
            notches[by_point(at)] = (*notches.get(by_point(at), ()), Notch(at, source))
        drills: dict[str, tuple[Point, ...]] = {}
        for at, _ in points_of(shapes.of(Role.DRILL)):
            drills[by_point(at)] = (*drills.get(by_point(at), ()), at)
        references = tuple(
            Reference(name, home(path), path, source)
            for name, path, source in lines_of(shapes.of(Role.EDGE))
        )
        return cls(
            folds, grains, seams, creases, darts, notches, drills, references, tuple(problems)
        )


_STRAIGHT_WITHIN_MM = 0.1


def _fold(path: Path, source: Source) -> tuple[Fold | None, Problems]:
    """A straight line, however many points it was drawn with."""
    from templater.geometry.flatten import flatten

    (x0, y0), (x1, y1) = path.start, path.end
    length = math.hypot(x1 - x0, y1 - y0)
    points = flatten(path, 0.01)
    bow = (
        max(
            (abs((x1 - x0) * (y - y0) - (y1 - y0) * (x - x0)) / length for x, y in points),
            default=0.0,
        )
        if length > 0.0
        else math.inf
    )
    if path.closed or bow > _STRAIGHT_WITHIN_MM:
        return None, (
            Problem(
                "fold-not-straight",
                Severity.ERROR,
                "the fold is not one straight line",
                "Draw the fold as a single straight line from end to end of the piece.",
                source,
                path.start,
            ),
        )
    return Fold(path.start, path.end), ()


def _second_fold(piece: str, source: Source, at: Point) -> Problem:
    return Problem(
        "second-fold",
        Severity.ERROR,
        f'the piece "{piece}" has a second fold',
        "A piece has one mirror line; draw other turned lines on a crease layer.",
        source,
        at,
    )
