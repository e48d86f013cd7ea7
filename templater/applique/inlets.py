"""Inlets of an outline too narrow for the allowances on their sides: told with their place.

The cut line leaves such an inlet whole (`geometry.offset`), or, beside an edge without allowance,
narrower than shears turn in; whoever cuts must know. Imports numpy and shapely inside functions.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from templater.applique.strokes import CLIP_SHORT_MM
from templater.applique.unfold import EdgeRing
from templater.applique.words import length_words
from templater.geometry.flatten import flatten
from templater.geometry.offset import SLIT_MM
from templater.geometry.polygons import polygons_in, sound, to_polygon, united, without
from templater.geometry.walk import tape_along
from templater.model.curves import Area, Point
from templater.model.ground import Edge, EdgeKind
from templater.model.problems import Problem, Severity, Source

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

SHORTEST_MM = 4.0
"""An inlet that is too narrow for less of its length needs no words."""
FACING_COS = math.cos(2.0 * math.asin(0.25))
"""Sides at less than 29° to each other make an inlet, as tips below 29° are trimmed; others make a
corner."""

_STEP_MM = 1.0
_OFF_MM = 0.05
_FLAT_MM = 0.02
_OWN = frozenset({EdgeKind.FREE, EdgeKind.EDGE, EdgeKind.SEAM, EdgeKind.PIECE, EdgeKind.DART})


@dataclass(frozen=True, slots=True)
class _Across:
    """From a place on one side of an inlet straight out to the other side."""

    start: Point
    end: Point
    allowance_mm: float
    facing_mm: float

    @property
    def middle(self) -> Point:
        return ((self.start[0] + self.end[0]) / 2.0, (self.start[1] + self.end[1]) / 2.0)

    @property
    def left_mm(self) -> float:
        """What both allowances leave between them; negative where they overlap."""
        return math.dist(self.start, self.end) - self.allowance_mm - self.facing_mm


def narrow_inlets(
    where: str,
    rings: Sequence[EdgeRing],
    finished: Area,
    cut: Area,
    source: Source | None,
    display: str,
) -> Iterator[Problem]:
    """A note for every inlet between allowances that is not cut out, or hardly beside a raw edge."""
    across = [each for each in _all_across(rings) if each.left_mm < SLIT_MM]
    if not across:
        return
    cloth, drawn = (sound(to_polygon(area, _FLAT_MM)) for area in (cut, finished))
    whole = [each for each in across if each.facing_mm > 0.0 and _covers(cloth, each.middle)]
    slits = [each for each in across if each.facing_mm == 0.0]
    for found in _together(whole, drawn):
        yield _uncut(where, found, source, display)
    for found in _together(slits, drawn):
        yield _beside_raw(where, found, source, display)


def _uncut(where: str, found: Sequence[_Across], source: Source | None, display: str) -> Problem:
    at = _amid(found)
    both = sorted((at.allowance_mm, at.facing_mm))
    named = " and ".join(dict.fromkeys(length_words(mm, display) for mm in both))
    room = length_words(sum(both) + SLIT_MM, display)
    return Problem(
        "inlet-uncut",
        Severity.NOTE,
        f"{where} has an inlet narrower than {room}, without room for allowances of {named} on its "
        f"sides and {length_words(SLIT_MM, display)} to cut between them: the cloth is left whole "
        "there",
        "slash it along its middle when its sides are turned or sewn, to "
        f"{length_words(CLIP_SHORT_MM, display)} before its end; each side then has half its width. "
        "Or lower the allowances",
        source,
        _rounded(at.middle),
    )


def _beside_raw(
    where: str, found: Sequence[_Across], source: Source | None, display: str
) -> Problem:
    at = min(found, key=lambda each: each.left_mm)
    allowance = length_words(at.allowance_mm, display)
    left = f"leaves {length_words(at.left_mm, display)} to cut" if at.left_mm > 0.0 else "covers"
    return Problem(
        "inlet-beside-raw-edge",
        Severity.NOTE,
        f"{where} has an inlet in which an allowance of {allowance} {left} beside an edge without "
        "allowance",
        "cut along the edge without allowance first, then trim the other side; or lower its "
        "allowance",
        source,
        _rounded(at.middle),
    )


def _all_across(rings: Sequence[EdgeRing]) -> Iterator[_Across]:
    """From every millimetre of the edges with an allowance to what they face, if that is near."""
    import numpy as np
    import shapely

    edges = [edge for ring in rings for edge in ring]
    chords, owners = _chords(edges)
    widest = max((edge.allowance_mm for edge in edges if edge.kind in _OWN), default=0.0)
    starts, ends, sources = _rays([edge for edge in edges if _has_room(edge)], widest)
    if not starts:
        return
    rays = shapely.linestrings(np.stack([starts, ends], axis=1))
    tree = shapely.STRtree(shapely.linestrings(np.asarray(chords)))
    near: dict[int, tuple[float, Point, int]] = {}
    for ray, chord in tree.query(rays, predicate="intersects").T.tolist():
        at = _crossing(starts[ray], ends[ray], chords[chord])
        away = math.dist(starts[ray], at)
        if ray not in near or away < near[ray][0]:
            near[ray] = (away, at, chord)
    for ray, (_, at, chord) in sorted(near.items()):
        edge, facing = sources[ray], owners[chord]
        if facing.kind in _OWN and _faces(starts[ray], ends[ray], chords[chord]):
            yield _Across(starts[ray], at, edge.allowance_mm, facing.allowance_mm)


def _has_room(edge: Edge) -> bool:
    return edge.kind in _OWN and edge.allowance_mm > 0.0


def _chords(edges: Sequence[Edge]) -> tuple[list[tuple[Point, Point]], list[Edge]]:
    chords: list[tuple[Point, Point]] = []
    owners: list[Edge] = []
    for edge in edges:
        points = flatten(edge.path, _FLAT_MM)
        pairs = list(pairwise((*points, points[0]) if edge.path.closed else points))
        chords += pairs
        owners += [edge] * len(pairs)
    return chords, owners


def _rays(edges: Sequence[Edge], widest_mm: float) -> tuple[list[Point], list[Point], list[Edge]]:
    """Square out of the edges, from just off them to as far as allowances and a slit may reach."""
    starts: list[Point] = []
    ends: list[Point] = []
    sources: list[Edge] = []
    for edge in edges:
        tape = tape_along(edge.path)
        count = max(1, round(tape.length_mm / _STEP_MM))
        reach = edge.allowance_mm + widest_mm + SLIT_MM
        for i in range(count):
            (x, y), (dx, dy) = tape.at(tape.length_mm * (i + 0.5) / count)
            starts.append((x + _OFF_MM * dy, y - _OFF_MM * dx))
            ends.append((x + reach * dy, y - reach * dx))
            sources.append(edge)
    return starts, ends, sources


def _crossing(start: Point, end: Point, chord: tuple[Point, Point]) -> Point:
    """Where a ray meets a chord that it is known to meet."""
    (x0, y0), (x1, y1) = chord
    ax, ay, bx, by = end[0] - start[0], end[1] - start[1], x1 - x0, y1 - y0
    cross = ax * by - ay * bx
    t = ((x0 - start[0]) * by - (y0 - start[1]) * bx) / cross if cross else 0.0
    return (start[0] + t * ax, start[1] + t * ay)


def _faces(start: Point, end: Point, chord: tuple[Point, Point]) -> bool:
    """Whether a ray meets the side opposite nearly square, from outside."""
    (x0, y0), (x1, y1) = chord
    ax, ay, bx, by = end[0] - start[0], end[1] - start[1], x1 - x0, y1 - y0
    against = ay * bx - ax * by
    return against >= FACING_COS * math.hypot(ax, ay) * math.hypot(bx, by)


def _covers(cloth: BaseGeometry, at: Point) -> bool:
    import shapely

    return bool(shapely.contains_xy(cloth, *at))


def _together(across: Sequence[_Across], drawn: BaseGeometry) -> Iterator[list[_Across]]:
    """Inlet by inlet, without those that are hardly longer than wide."""
    import shapely

    if not across:
        return
    strips = [shapely.LineString([each.start, each.end]).buffer(_STEP_MM) for each in across]
    for inlet in polygons_in(without(united(strips), drawn)):
        found = [each for each in across if _covers(inlet, each.middle)]
        sides = 2.0 if found and found[0].facing_mm > 0.0 else 1.0
        if len(found) * _STEP_MM >= sides * SHORTEST_MM:
            yield found


def _amid(found: Sequence[_Across]) -> _Across:
    """The one nearest to the middle of an inlet."""
    middles = [each.middle for each in found]
    mean = (sum(x for x, _ in middles) / len(found), sum(y for _, y in middles) / len(found))
    return min(found, key=lambda each: math.dist(each.middle, mean))


def _rounded(at: Point) -> Point:
    return (round(at[0], 2), round(at[1], 2))
