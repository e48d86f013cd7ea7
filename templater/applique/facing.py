"""What runs along a dart's two legs, and what comes to lie on what there when it is closed."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from templater.applique.matching import Party
from templater.applique.words import length_words
from templater.model.curves import Point
from templater.model.ground import Dart, Edge, EdgeKind, Region, Zone
from templater.model.problems import Problem, Severity

SNAP_MM = 0.05
"""Ends this near to each other are one point when a dart is closed."""
TOLERANCE_MM = 1.5
"""What fitters accept at the stitch line: 1/16 in (Threads 200, 2018-19)."""
LEAST_SHARE = 0.5
"""Two edges meet across a dart if this much of the shorter one lies beside the other."""

_SHORT_MM = 0.3
_JOINT_MM = 0.3
_NEAR_MISS_MM = 5.0
"""Two zones whose edges part by more than this across a dart were drawn to do so."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """What of one region runs along one leg, or along the middle line beyond the tip.

    `side`: left, right or beyond. `near_mm` and `far_mm` are counted from the tip.
    """

    party: Party
    side: str
    near_mm: float
    far_mm: float

    @property
    def length_mm(self) -> float:
        return self.far_mm - self.near_mm

    def common_mm(self, other: Stretch) -> float:
        """How far the two run beside each other when the dart is closed."""
        return min(self.far_mm, other.far_mm) - max(self.near_mm, other.near_mm)


def edges_at(region: Region, dart: Dart) -> tuple[Edge, ...]:
    """A region's edges along a dart."""
    return tuple(
        edge
        for ring in region.rings
        for edge in ring
        if edge.kind is EdgeKind.DART and edge.name == dart.name
    )


def stretches(zone: Zone, number: int, dart: Dart) -> tuple[Stretch, ...]:
    """The stretches of a zone's region (counted from 1) along a dart, none shorter than 0.3 mm."""
    party = Party(zone.piece, zone.name, number)
    found: list[Stretch] = []
    for edge in edges_at(zone.regions[number - 1], dart):
        own: list[Stretch] = []
        for segment in edge.path.segments:
            ends = sorted(math.dist(dart.tip, at) for at in (segment.start, segment.end))
            if ends[1] - ends[0] <= _SHORT_MM:
                continue
            side = side_at(dart, _middle(segment.start, segment.end))
            if own and own[-1].side == side:
                last = own.pop()
                ends = [min(last.near_mm, ends[0]), max(last.far_mm, ends[1])]
            own.append(Stretch(party, side, ends[0], ends[1]))
        found += own
    return tuple(found)


def sides_of(zone: Zone, number: int, dart: Dart) -> frozenset[str]:
    """On which of left, right and beyond the tip a region lies."""
    return frozenset(stretch.side for stretch in stretches(zone, number, dart))


def facing(zones: Sequence[Zone], dart: Dart) -> Iterator[tuple[Stretch, Stretch]]:
    """Stretches that come to lie on each other when the dart is closed, left before right; and
    those of one zone that is parted beyond the tip, there.
    """
    along = [
        stretch
        for zone in zones
        for number in range(1, len(zone.regions) + 1)
        for stretch in stretches(zone, number, dart)
    ]
    for k, one in enumerate(along):
        for m, other in enumerate(along):
            across = (one.side, other.side) == ("left", "right")
            beyond = one.side == other.side == "beyond" and k < m
            same = one.party.zone == other.party.zone
            meet = (across or (beyond and same)) and one.party != other.party
            if meet and one.common_mm(other) > SNAP_MM:
                yield one, other


def place_on(dart: Dart, side: str, from_tip_mm: float) -> Point:
    """The place on a leg, or on the middle line beyond the tip, so far from the tip."""
    ways = {"left": _unit(dart.tip, dart.left), "right": _unit(dart.tip, dart.right)}
    if side == "beyond":
        (ax, ay), (bx, by) = ways["left"], ways["right"]
        way = _unit((ax + bx, ay + by), (0.0, 0.0))
    else:
        way = ways[side]
    x, y = dart.tip[0] + from_tip_mm * way[0], dart.tip[1] + from_tip_mm * way[1]
    return (round(x, 4) + 0.0, round(y, 4) + 0.0)


def side_at(dart: Dart, at: Point) -> str:
    """Of a place along a dart: left or right leg, or the line beyond its tip."""
    toward = {"left": _unit(dart.tip, dart.left), "right": _unit(dart.tip, dart.right)}
    dx, dy = at[0] - dart.tip[0], at[1] - dart.tip[1]
    along = {side: ux * dx + uy * dy for side, (ux, uy) in toward.items()}
    if max(along.values()) <= 0.0:
        return "beyond"
    away = {side: abs(ux * dy - uy * dx) for side, (ux, uy) in toward.items()}
    return "left" if away["left"] <= away["right"] else "right"


def dart_words(darts: Sequence[Dart]) -> str:
    """The darts as a label or message calls them: "dart bust", "dart", "dart-2"."""
    names = [d.name if d.name.startswith("dart") else f"dart {d.name}".strip() for d in darts]
    return " and ".join(names)


def misses(zones: Sequence[Zone], dart: Dart, display: str) -> Iterator[Problem]:
    """Where outlines that go on across a closed dart meet its legs unequally far from the tip.

    Not where a third edge meets the dart just there: then a border between zones ends at the leg.
    """
    named = {zone.name: zone for zone in zones}
    pairs = [pair for pair in facing(zones, dart) if pair[0].side == "left"]
    everything = {stretch for pair in pairs for stretch in pair}
    for one, other in pairs:
        if one.common_mm(other) < LEAST_SHARE * min(one.length_mm, other.length_mm):
            continue
        for mine, theirs, end in (
            (one.near_mm, other.near_mm, "near"),
            (one.far_mm, other.far_mm, "far"),
        ):
            step = abs(mine - theirs)
            apart = one.party.zone != other.party.zone
            if step <= SNAP_MM or (apart and step > _NEAR_MISS_MM):
                continue
            shorter = one if (mine < theirs) == (end == "far") else other
            if not _goes_on(shorter, end, everything):
                yield _miss(named[one.party.zone], dart, (one, mine), (other, theirs), display)


def _goes_on(stretch: Stretch, end: str, others: set[Stretch]) -> bool:
    """Whether another zone's edge takes over on the same leg where this one ends."""
    for other in others:
        if other.side == stretch.side and other.party != stretch.party:
            gap = other.near_mm - stretch.far_mm if end == "far" else stretch.near_mm - other.far_mm
            if abs(gap) <= _JOINT_MM:
                return True
    return False


def _miss(
    zone: Zone,
    dart: Dart,
    left: tuple[Stretch, float],
    right: tuple[Stretch, float],
    display: str,
) -> Problem:
    (one, mine), (other, theirs) = left, right
    step = abs(mine - theirs)
    by = length_words(step, display)
    mine_words, theirs_words = length_words(mine, display), length_words(theirs, display)
    if one.party.zone == other.party.zone:
        said = (
            f'zone "{zone.name}": when the {dart_words([dart])} is closed, its halves miss each '
            f"other by {by}: its edge meets the left leg {mine_words} from the tip, and the right "
            f"leg {theirs_words}"
        )
    else:
        said = (
            f'when the {dart_words([dart])} is closed, the zones "{one.party.zone}" and '
            f'"{other.party.zone}" miss each other by {by}: the edge of "{one.party.zone}" meets '
            f'the left leg {mine_words} from the tip, that of "{other.party.zone}" the right leg '
            f"{theirs_words}"
        )
    return Problem(
        "dart-halves-miss",
        Severity.WARNING if step > TOLERANCE_MM else Severity.NOTE,
        said,
        "fold the dart closed on paper and redraw the edge across it, so that it meets both legs "
        "equally far from the tip; a step under 1.5 mm can be trimmed by eye",
        zone.source,
        place_on(dart, "left", mine),
    )


def _unit(start: Point, end: Point) -> Point:
    length = math.dist(start, end)
    return ((end[0] - start[0]) / length, (end[1] - start[1]) / length)


def _middle(a: Point, b: Point) -> Point:
    return ((a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0)
