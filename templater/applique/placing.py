"""Where each appliqué is pinned: points measured from the garment's finished edges."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from string import ascii_uppercase

from templater.applique.dart_tape import runs_over_dart, taken_up_mm
from templater.applique.unfold import EdgeRing
from templater.geometry.smooth import end_direction, start_direction
from templater.geometry.walk import tape_along
from templater.model.curves import Point, Segment
from templater.model.ground import EdgeKind, Ground, Piece, Reference, Zone
from templater.model.parts import EdgeMeasure, PlacementPoint
from templater.model.problems import Problem, Problems, Severity

POINTS = 3
"""Points to an appliqué: two hold it, the third shows whether the tape slipped."""
MEASURES = 2
"""Edges each point is measured from, where there are as many."""

_CORNER_RAD = math.radians(30.0)
_SAMPLES = 48


def placement(ground: Ground) -> tuple[tuple[PlacementPoint, ...], Problems]:
    """At least three points of every zone's regions, the sharpest tip first, from below to above.

    A zone on a piece without named finished edges (`edge NAME`) has none, and a note says so.
    """
    points: list[PlacementPoint] = []
    problems: list[Problem] = []
    for zone in sorted(ground.zones, key=lambda zone: zone.level):
        found, more = zone_placement(ground, zone)
        points.extend(point for region in found for point in region)
        problems.extend(more)
    return tuple(points), tuple(problems)


def zone_placement(
    ground: Ground, zone: Zone
) -> tuple[tuple[tuple[PlacementPoint, ...], ...], Problems]:
    """The points of each of a zone's regions."""
    piece = ground.piece(zone.piece)
    references = [each for each in ground.references if each.piece == zone.piece]
    if not references:
        stands_alone = piece.area is None
        return ((),) * len(zone.regions), () if stands_alone else (_no_edges(zone),)
    points = tuple(
        tuple(
            PlacementPoint(
                zone.piece,
                zone.name,
                number,
                "tip" if index == 0 else ascii_uppercase[index % 26],
                at,
                tuple(_measures(at, references, piece)),
            )
            for index, at in enumerate(pinning_points(region.rings[0]))
        )
        for number, region in enumerate(zone.regions, start=1)
    )
    over = (
        point
        for region in points
        for point in region
        if runs_over_dart(point.measures[0].foot, point.at, piece.darts)
    )
    return points, tuple(_over_dart(zone, point) for point in over)[:1]


def pinning_points(ring: EdgeRing) -> tuple[Point, ...]:
    """The sharpest corner of an outline, then the places farthest from those already taken.

    Corners come before other places of the outline; without any the first point is the one
    farthest from the outline's middle.
    """
    corners = _corners(ring)
    around = _around(ring)
    if corners:
        chosen = [min(corners, key=lambda corner: (round(corner[0], 6), corner[1]))[1]]
    else:
        middle = (
            sum(x for x, _ in around) / len(around),
            sum(y for _, y in around) / len(around),
        )
        chosen = [_farthest(around, [middle])]
    at_corners = [at for _, at in corners if at not in chosen]
    while len(chosen) < POINTS:
        pool = at_corners or around
        found = _farthest(pool, chosen)
        at_corners = [at for at in at_corners if at != found]
        if all(math.dist(found, at) > 1e-3 for at in chosen):
            chosen.append(found)
        elif pool is around:
            break
    return tuple((round(x, 4) + 0.0, round(y, 4) + 0.0) for x, y in chosen)


def _farthest(pool: Sequence[Point], taken: Sequence[Point]) -> Point:
    return max(pool, key=lambda at: (round(min(math.dist(at, t) for t in taken), 6), at))


def _corners(ring: EdgeRing) -> list[tuple[float, Point]]:
    """(inner angle in radians, place) of the convex corners off the fold's ends."""
    edges: list[tuple[Segment, bool]] = [
        (segment, edge.kind is EdgeKind.FOLD) for edge in ring for segment in edge.path.segments
    ]
    found = []
    for (before, fold_before), (after, fold_after) in zip(
        edges, (*edges[1:], edges[0]), strict=True
    ):
        (ax, ay), (bx, by) = end_direction(before), start_direction(after)
        turn = math.atan2(ax * by - ay * bx, ax * bx + ay * by)
        if turn >= _CORNER_RAD and not (fold_before or fold_after):
            found.append((math.pi - turn, after.start))
    return found


def _around(ring: EdgeRing) -> list[Point]:
    """Places along the outline, the fold left out."""
    places: list[Point] = []
    for edge in ring:
        if edge.kind is not EdgeKind.FOLD:
            tape = tape_along(edge.path)
            places.extend(tape.at(tape.length_mm * i / _SAMPLES)[0] for i in range(_SAMPLES))
    return places


def _measures(at: Point, references: Iterable[Reference], piece: Piece) -> list[EdgeMeasure]:
    """From the nearest edges that the point lies square to. Beyond an edge's ends the tape has
    nothing to lie on, and across a sewn dart it does not lie as on the pattern: such a measure is
    given only where there is no better one.
    """
    found = []
    for reference in references:
        beyond, measure = _measure(at, reference, piece)
        poor = 2 * runs_over_dart(measure.foot, at, piece.darts) + beyond
        found.append((poor, measure.square_mm, measure.edge, measure))
    found.sort(key=lambda each: each[:3])
    sound = [measure for poor, _, _, measure in found if not poor]
    return sound[:MEASURES] or [found[0][3]]


def _measure(at: Point, reference: Reference, piece: Piece) -> tuple[bool, EdgeMeasure]:
    """Whether the point lies beyond the edge's ends, and its measure."""
    tape = tape_along(reference.path)
    foot = tape.foot(at)
    along, place, beyond = foot.along_mm, foot.at, False
    if foot.along_mm <= 1e-6 or foot.along_mm >= tape.length_mm - 1e-6:
        end, (dx, dy) = tape.at(foot.along_mm)
        ahead = (at[0] - end[0]) * dx + (at[1] - end[1]) * dy
        along, place = foot.along_mm + ahead, (end[0] + ahead * dx, end[1] + ahead * dy)
        beyond = abs(ahead) > 1e-3
    start, end = tape.points[0], tape.points[-1]
    from_end = _from_end(start, end, piece)
    first = tape.length_mm if from_end else 0.0
    taken = taken_up_mm(reference.path, first, foot.along_mm, piece.darts)
    if from_end:
        along, start = tape.length_mm - along, end
    square = math.dist(at, place)
    return beyond, EdgeMeasure(
        reference.name,
        round(along - taken, 2) + 0.0,
        round(square, 2) + 0.0,
        (round(place[0], 4), round(place[1], 4)),
        (round(start[0], 4), round(start[1], 4)),
    )


def _from_end(start: Point, end: Point, piece: Piece) -> bool:
    """Whether to measure from the drawn end: from the fold, which can be found on the garment."""
    if piece.fold is None:
        return False
    (x0, y0), (x1, y1) = piece.fold.start, piece.fold.end
    length = math.dist(piece.fold.start, piece.fold.end)

    def away(point: Point) -> float:
        return abs((x1 - x0) * (point[1] - y0) - (y1 - y0) * (point[0] - x0)) / length

    return away(end) < away(start) - 1e-6


def _over_dart(zone: Zone, point: PlacementPoint) -> Problem:
    return Problem(
        "measured-over-dart",
        Severity.WARNING,
        f'zone "{zone.name}": point {point.name} can be measured from the edge '
        f'"{point.measures[0].edge}" only across a dart, where the distance is that of the flat '
        "pattern and not of the garment",
        'draw a finished edge on that side of the dart too, on a layer such as "edge side"',
        zone.source,
        point.at,
    )


def _no_edges(zone: Zone) -> Problem:
    return Problem(
        "no-edge-to-measure-from",
        Severity.NOTE,
        f'zone "{zone.name}" cannot be given placing distances: its piece has no finished edges',
        'draw the garment\'s finished edges on layers such as "edge top" and "edge hem"',
        zone.source,
    )
