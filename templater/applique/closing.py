"""A zone's halves laid together over closed darts, where that lies flat.

A dart is closed by turning what lies on its one side about the tip until its legs meet. Halves that
lie wholly below the tip then join to one flat part; a zone that runs round the tip would be a cone,
and stays in two parts. Imports shapely inside functions.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from templater.applique.facing import LEAST_SHARE, SNAP_MM, dart_words, edges_at, sides_of
from templater.applique.stitching import TouchingEdges, joined_rings
from templater.applique.unfold import EdgeRing, rings_area, touches_fold
from templater.geometry.measure import area_mm2
from templater.geometry.moves import moved_area
from templater.geometry.polygons import to_polygon
from templater.model.curves import IDENTITY, Area, Point, Transform
from templater.model.ground import Dart, Edge, Piece, Zone
from templater.model.parts import Half
from templater.model.problems import Problem, Severity

_OVERLAP_MM = 0.25
_BESIDE_MM = 1.0
_FLAT_MM = 0.01


@dataclass(frozen=True, slots=True)
class Laid:
    """A part of a zone before its allowances: its rings with darts closed, of which regions."""

    rings: tuple[EdgeRing, ...]
    halves: tuple[Half, ...]
    closed: tuple[Dart, ...] = ()

    @property
    def number(self) -> int:
        return self.halves[0].region


def closed_at_darts(zone: Zone, piece: Piece) -> tuple[tuple[Laid, ...], list[Problem]]:
    """The zone's parts, each region in one of them, and at which darts it does not lie flat."""
    groups: list[dict[int, Transform]] = [{n: IDENTITY} for n in range(len(zone.regions))]
    pairs: list[TouchingEdges] = []
    closed: dict[int, list[Dart]] = {}
    problems: list[Problem] = []
    for dart in piece.darts:
        for left, right in _halves_at(zone, dart):
            one, other = (next(g for g in groups if n in g) for n in (left, right))
            if one is other:
                continue
            found = _meeting(zone, dart, left, right)
            if not found:
                continue
            merged = _merged(zone, dart, (left, one), (right, other))
            if _overlaps(zone, merged, one, other):
                problems.append(_not_flat(zone, dart))
                continue
            pairs += found
            groups[groups.index(one)] = merged
            groups.remove(other)
            closed[left] = [*closed.get(left, []), dart]
    laid = [
        Laid(
            joined_rings(
                {n: zone.regions[n].rings for n in group},
                group,
                [pair for pair in pairs if pair.first[0] in group],
                SNAP_MM,
            ),
            tuple(Half(n + 1, move) for n, move in group.items()),
            tuple(d for d in piece.darts if any(d in closed.get(n, ()) for n in group)),
        )
        if len(group) > 1
        else Laid(zone.regions[next(iter(group))].rings, (Half(next(iter(group)) + 1, IDENTITY),))
        for group in groups
    ]
    return tuple(sorted(laid, key=lambda each: min(h.region for h in each.halves))), problems


def closing_turn(dart: Dart) -> Transform:
    """The turn about the tip that lays the right leg on the left one."""
    (rx, ry), (lx, ly) = _unit(dart.tip, dart.right), _unit(dart.tip, dart.left)
    c, s = rx * lx + ry * ly, rx * ly - ry * lx
    tx, ty = dart.tip
    return Transform(c, s, -s, c, tx - c * tx + s * ty, ty - s * tx - c * ty)


def undone(turn: Transform) -> Transform:
    """The rigid move that takes back a turn and a shift."""
    a, b, e, f = turn.a, turn.b, turn.e, turn.f
    return Transform(a, -b, b, a, -(a * e + b * f), b * e - a * f)


def _halves_at(zone: Zone, dart: Dart) -> Iterator[tuple[int, int]]:
    """The regions that meet across a dart below its tip, left and right."""
    sides = [sides_of(zone, number, dart) for number in range(1, len(zone.regions) + 1)]
    for left, one in enumerate(sides):
        for right, other in enumerate(sides):
            if one == {"left"} and other == {"right"}:
                yield left, right


def _meeting(zone: Zone, dart: Dart, left: int, right: int) -> list[TouchingEdges]:
    """The edges of two regions that lie on each other when the dart is closed."""
    pairs: list[TouchingEdges] = []
    others = list(edges_at(zone.regions[right], dart))
    for edge in edges_at(zone.regions[left], dart):
        best = max(others, key=lambda each: _common(dart, edge, each), default=None)
        if best is None:
            continue
        shorter = min(_length(dart, edge), _length(dart, best))
        if _common(dart, edge, best) < LEAST_SHARE * shorter:
            continue
        others.remove(best)
        pairs.append(TouchingEdges((left, edge), (right, best)))
    return pairs


def _from_tip(dart: Dart, at: Point) -> float:
    return math.dist(dart.tip, at)


def _length(dart: Dart, edge: Edge) -> float:
    return abs(_from_tip(dart, edge.path.start) - _from_tip(dart, edge.path.end))


def _common(dart: Dart, one: Edge, other: Edge) -> float:
    """How far two edges run beside each other when the dart is closed, in mm."""
    a = sorted(_from_tip(dart, end) for end in (one.path.start, one.path.end))
    b = sorted(_from_tip(dart, end) for end in (other.path.start, other.path.end))
    return min(a[1], b[1]) - max(a[0], b[0])


def _merged(
    zone: Zone,
    dart: Dart,
    left: tuple[int, Mapping[int, Transform]],
    right: tuple[int, Mapping[int, Transform]],
) -> dict[int, Transform]:
    """Two groups as one: the one at the fold, else the larger, stays; the other is turned onto it."""
    turn = closing_turn(dart)
    if _weight(zone, left[1]) >= _weight(zone, right[1]):
        (stays, kept), (comes, turned), move = left, right, turn
    else:
        (stays, kept), (comes, turned), move = right, left, undone(turn)
    onto = undone(turned[comes]).then(move).then(kept[stays])
    return {**kept, **{n: own.then(onto) for n, own in turned.items()}}


def _weight(zone: Zone, group: Mapping[int, Transform]) -> tuple[bool, float]:
    regions = [zone.regions[n] for n in group]
    at_fold = any(touches_fold(region.rings) for region in regions)
    return at_fold, round(sum(area_mm2(region.area) for region in regions), 3)


def _overlaps(
    zone: Zone,
    merged: Mapping[int, Transform],
    one: Mapping[int, Transform],
    other: Mapping[int, Transform],
) -> bool:
    """Whether the two groups would lie over each other when the dart is closed."""
    from shapely import union_all

    first, second = (
        union_all(
            [
                to_polygon(moved_area(rings_area(zone.regions[n].rings), merged[n]), _FLAT_MM)
                for n in group
            ]
        )
        for group in (one, other)
    )
    return not first.intersection(second).buffer(-_OVERLAP_MM / 2.0).is_empty


def _unit(start: Point, end: Point) -> Point:
    length = math.dist(start, end)
    return ((end[0] - start[0]) / length, (end[1] - start[1]) / length)


def covers_when_closed(covers: Sequence[Area], zone: Zone, laid: Laid) -> tuple[Area, ...]:
    """What covers a part's underlap, moved with the halves it lies beside."""
    import shapely

    if not laid.closed:
        return tuple(covers)
    found = []
    for half in laid.halves:
        own = to_polygon(zone.regions[half.region - 1].area, _FLAT_MM)
        found += [
            moved_area(cover, half.to_part)
            for cover in covers
            if shapely.distance(to_polygon(cover, _FLAT_MM), own) <= _BESIDE_MM
        ]
    return tuple(found)


def dart_label(zone: Zone, laid: Laid, piece: Piece) -> tuple[str, ...]:
    """What a part's label says of darts."""
    if len(zone.regions) == 1:
        return ()
    if laid.closed:
        return (f"{dart_words(laid.closed)} closed: lay over the sewn dart",)
    darts = [
        dart
        for dart in piece.darts
        for half in laid.halves
        if any(not edge.visible for edge in edges_at(zone.regions[half.region - 1], dart))
    ]
    return (f"meets its other part at {dart_words(darts)}",) if darts else ()


def _not_flat(zone: Zone, dart: Dart) -> Problem:
    return Problem(
        "dart-not-flat",
        Severity.NOTE,
        f'zone "{zone.name}" would lie over itself when the {dart_words([dart])} is closed, and is '
        "cut in two parts that meet there",
        "",
        zone.source,
        dart.tip,
    )
