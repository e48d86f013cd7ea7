"""Darts: halves of a closed part meet, and stones on both legs keep apart when it is closed.

Imported late: numpy.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from templater.checks.findings import EDITED, capped, error
from templater.checks.flat import (
    Points,
    Segments,
    area_segments,
    joined,
    moved,
    moved_segments,
    path_segments,
    shortened,
)
from templater.checks.made import SHAPED_TOL_MM, TOL_MM, Made
from templater.checks.nearby import Indices, Lines, inside, near_pairs
from templater.checks.outlines import convex_distance
from templater.model.curves import IDENTITY, Point, Transform
from templater.model.ground import Dart, Edge, EdgeKind, Piece, Side, Zone
from templater.model.parts import CutPart, Half, PartKind
from templater.model.problems import Problem, Problems

MEET_MM = 0.05
"""How far apart the ends of two halves may be put together."""
_ARM_MM = 100.0
_STEP_MM = 1.0


def closed_parts_are_whole(made: Made) -> Problems:
    """A part with closed darts is its halves, each turned about a tip until leg lies on leg."""
    return capped(_whole(made))


def _whole(made: Made) -> Iterator[Problem]:
    zones = {zone.name: zone for zone in made.plan.ground.zones}
    for part in made.plan.parts:
        if not part.halves:
            continue
        zone, piece = zones.get(part.zone), made.plan.ground.piece(part.piece)
        numbers = [half.region for half in part.halves]
        if (
            zone is None
            or len(set(numbers)) < len(numbers)
            or not all(1 <= n <= len(zone.regions) for n in numbers)
        ):
            yield error("dart-halves-unknown", f"part {part.id} names halves that are not there")
            continue
        yield from _joined(part, zone, piece)
        if part.kind is PartKind.APPLIQUE:
            yield from _covered(part, zone, piece)


def _joined(part: CutPart, zone: Zone, piece: Piece) -> Iterator[Problem]:
    """Each half but the first lies leg to leg with one that is joined already."""
    first, *left = part.halves
    if first.to_part != IDENTITY:
        yield error("dart-not-closed", f"part {part.id}: its first half is not as it was drawn")
    fast = [first]
    while left:
        found = next(
            (half for half in left if any(_leg_to_leg(half, each, zone, piece) for each in fast)),
            None,
        )
        if found is None:
            yield error(
                "dart-not-closed",
                f"part {part.id}: region {left[0].region} is not turned about a dart's tip so that "
                "its leg lies on the other",
            )
            return
        fast.append(found)
        left.remove(found)


def _leg_to_leg(one: Half, other: Half, zone: Zone, piece: Piece) -> bool:
    for dart in piece.darts:
        if not (_edges(zone, one.region, dart) and _edges(zone, other.region, dart)):
            continue
        left, right = _arm(dart, dart.left), _arm(dart, dart.right)
        for mine, theirs in ((left, right), (right, left)):
            legs = math.dist(one.to_part.apply(mine), other.to_part.apply(theirs))
            tips = math.dist(one.to_part.apply(dart.tip), other.to_part.apply(dart.tip))
            if max(legs, tips) <= TOL_MM:
                return True
    return False


def _edges(zone: Zone, region: int, dart: Dart) -> list[Edge]:
    return [
        edge
        for ring in zone.regions[region - 1].rings
        for edge in ring
        if edge.kind is EdgeKind.DART and edge.name == dart.name
    ]


def _arm(dart: Dart, end: Point) -> Point:
    """A place on a leg's line, as far from the tip as on the other's."""
    share = _ARM_MM / math.dist(dart.tip, end)
    (tx, ty), (ex, ey) = dart.tip, end
    return (tx + share * (ex - tx), ty + share * (ey - ty))


def _covered(part: CutPart, zone: Zone, piece: Piece) -> Iterator[Problem]:
    """The halves' area is the part's, and no rim of a half lies outside it."""
    whole = area_segments(part.finished)
    halves = [
        moved_segments(area_segments(zone.regions[half.region - 1].area), half.to_part)
        for half in part.halves
    ]
    if part.side is Side.CENTRE and piece.fold is not None:
        halves += [moved_segments(each, piece.fold.mirror) for each in halves]
    seams = joined(
        path_segments(edge.path)
        for half in part.halves
        for dart in piece.darts
        for edge in _edges(zone, half.region, dart)
    )
    length = float(np.hypot(seams[:, 2] - seams[:, 0], seams[:, 3] - seams[:, 1]).sum())
    off = abs(_area(whole) - sum(abs(_area(each)) for each in halves))
    if off > MEET_MM * (length + 2.0 * MEET_MM):
        yield error(
            "dart-halves-differ",
            f"part {part.id}: its halves and itself differ by {off:.2f} mm² of finished area",
        )
    rim = np.concatenate([shortened(each, _STEP_MM)[0][:, :2] for each in halves])
    out = rim[~inside(rim, whole)]
    if len(out):
        far = np.minimum(Lines(whole).distance(out, 2.0), 2.0)
        worst = int(np.argmax(far))
        if far[worst] > MEET_MM + TOL_MM:
            yield error(
                "dart-halves-differ",
                f"part {part.id}: a half reaches {far[worst]:.2f} mm or more beyond it",
                at=out[worst],
            )


def _area(segments: Segments) -> float:
    x0, y0, x1, y1 = segments.T
    return float((x0 * y1 - x1 * y0).sum()) / 2.0


def stones_keep_apart_over_darts(made: Made) -> Problems:
    """When a dart is closed, the stones beside its legs keep apart; none lies in it."""
    return capped(_over_darts(made))


def _over_darts(made: Made) -> Iterator[Problem]:
    for (piece_name, _), stones in made.halves().items():
        for dart in made.plan.ground.piece(piece_name).darts:
            yield from _in_wedge(made, dart, stones)
            yield from _beside_legs(made, dart, stones)


def _in_wedge(made: Made, dart: Dart, stones: Indices) -> Iterator[Problem]:
    corners = [dart.tip, dart.left, dart.right]
    wedge = np.array([[*a, *b] for a, b in zip(corners, [*corners[1:], corners[0]], strict=True)])
    for index in stones[inside(made.laid.at[stones], wedge)]:
        yield error(
            "stone-in-dart",
            f"{made.laid.name(int(index))} lies in a dart, which is folded away",
            EDITED,
            at=_written(made, int(index)),
        )


def _beside_legs(made: Made, dart: Dart, stones: Indices) -> Iterator[Problem]:
    laid = made.laid
    if not len(stones):
        return
    reach = 2 * float(laid.radius[stones].max()) + float(laid.gap[stones].max())
    left = _beside(made, dart, (dart.left, dart.right), stones, reach)
    right = _beside(made, dart, (dart.right, dart.left), stones, reach)
    turn = _turn(dart)
    turned = moved(laid.at[right], turn)
    i, j = near_pairs(laid.at[left], turned, reach)
    for a, b, at in zip(left[i].tolist(), right[j].tolist(), turned[j], strict=True):
        needed = (laid.gap[a] + laid.gap[b]) / 2
        both_round = bool(laid.is_round[a] and laid.is_round[b])
        far = float(np.hypot(*(laid.at[a] - at))) - laid.radius[a] - laid.radius[b]
        if far < needed and not both_round:
            far = _shaped_distance(made, a, b, turn)
        if far < needed - (TOL_MM if both_round else SHAPED_TOL_MM):
            yield error(
                "stones-too-near-over-dart",
                f"{laid.name(a)} and {laid.name(b)} are {far:.3f} mm apart when the dart between "
                f"them is closed; their gaps ask for {needed:.3f} mm",
                EDITED,
                at=_written(made, a),
            )


def _beside(
    made: Made, dart: Dart, legs: tuple[Point, Point], stones: Indices, reach: float
) -> Indices:
    """The stones beside the first of two legs, on the side where the wedge is not."""
    (tx, ty), (ex, ey), (ox, oy) = dart.tip, *legs
    length = math.hypot(ex - tx, ey - ty)
    ux, uy = (ex - tx) / length, (ey - ty) / length
    wedge = math.copysign(1.0, ux * (oy - ty) - uy * (ox - tx))
    at = made.laid.at[stones] - np.array(dart.tip)
    along = at[:, 0] * ux + at[:, 1] * uy
    out = -wedge * (ux * at[:, 1] - uy * at[:, 0])
    near: Indices = stones[(out > 0.0) & (out <= reach) & (along >= 0.0) & (along <= length)]
    return near


def _turn(dart: Dart) -> Transform:
    """The turn about the tip that lays the right leg on the left one."""
    (tx, ty), (lx, ly), (rx, ry) = dart.tip, dart.left, dart.right
    turn = math.atan2(ly - ty, lx - tx) - math.atan2(ry - ty, rx - tx)
    c, s = math.cos(turn), math.sin(turn)
    return Transform(c, s, -s, c, tx - c * tx + s * ty, ty - s * tx - c * ty)


def _shaped_distance(made: Made, one: int, other: int, turn: Transform) -> float:
    """Between the outlines of two stones of which one or both are shaped, the second turned."""
    laid = made.laid
    shapes = []
    for index, move in ((one, IDENTITY), (other, turn)):
        points: Points = laid.at[index : index + 1]
        if not laid.is_round[index]:
            points = made.outline(index)[0]
        shapes.append(moved(points, move)[None])
    if laid.is_round[one]:
        return float(convex_distance(shapes[1], shapes[0])[0]) - float(laid.radius[one])
    off = float(laid.radius[other]) if laid.is_round[other] else 0.0
    return float(convex_distance(shapes[0], shapes[1])[0]) - off


def _written(made: Made, index: int) -> Point:
    return (made.laid.rows[index].x_mm, made.laid.rows[index].y_mm)
