"""Marks: match marks that meet, register marks by which a turned or flipped sheet is noticed."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Sequence
from itertools import permutations

from templater.checks.findings import capped, error
from templater.checks.flat import inverse
from templater.checks.holes import stem
from templater.checks.made import Made
from templater.model.curves import Point
from templater.model.ground import Dart, Side
from templater.model.parts import CutPart, Mark, MarkKind, PartKind
from templater.model.problems import Problem, Problems

MEET_MM = 0.02
TELL_MM = 1.0
"""Marks a turned sheet brings nearer than this to others would be taken for them."""
FEWEST = 3


def match_marks_meet(made: Made) -> Problems:
    """Marks with one number lie on one place of the garment, each on two zones or more, or on a
    zone and its piece. A part over both sides bears a mark on either, a part of one side on its own.
    Marks at a dart lie on both its legs, equally far from the tip; beyond it, on one place.
    """
    return capped(_match(made))


def _match(made: Made) -> Iterator[Problem]:
    groups: defaultdict[tuple[str, int], list[tuple[CutPart, Mark]]] = defaultdict(list)
    for part in made.plan.parts:
        for mark in part.marks:
            if mark.kind is MarkKind.MATCH and part.kind is not PartKind.WEB:
                groups[part.piece, mark.number].append((part, mark))
    for (piece, number), marks in sorted(groups.items(), key=lambda item: item[0]):
        for part, mark in marks:
            if not _moved_with_its_half(made, part, mark):
                yield error(
                    "match-mark-moved",
                    f"match mark {number} of {piece} on part {part.id} does not lie where its "
                    "half of the part is laid",
                    at=mark.at,
                )
            others = [
                (p, m)
                for p, m in marks
                if m.dart == mark.dart
                and (p.zone != part.zone or (mark.dart and p.region != part.region))
                and _meet(p, part)
            ]
            if not others or number == 0:
                yield error(
                    "match-mark-alone",
                    f"match mark {number} of {piece} is only on part {part.id}",
                    at=mark.at,
                )
                continue
            darts = made.plan.ground.piece(piece).darts
            dart = next((each for each in darts if each.name == mark.dart), None)
            off, nearest = min((_apart((part, mark), other, dart), other[0].id) for other in others)
            if off > MEET_MM:
                yield error(
                    "match-marks-miss",
                    f"match mark {number} of {piece}: the marks of {part.id} and {nearest} are "
                    f"{off:.3f} mm apart on the garment",
                    at=mark.at,
                )


def _meet(one: CutPart, other: CutPart) -> bool:
    """Whether two parts come together on the garment: on one side, or one over both."""
    return one.side is other.side or Side.CENTRE in {one.side, other.side}


def _apart(one: tuple[CutPart, Mark], other: tuple[CutPart, Mark], dart: Dart | None) -> float:
    """How far apart two marks are on the garment; at a dart, when it is closed."""
    places = [part.to_side.apply(_drawn_at(mark)) for part, mark in (one, other)]
    off = math.dist(*places)
    if dart is None or off <= MEET_MM:
        return off
    best = off
    for part in (one[0], other[0]):
        tip, left, right = (part.to_side.apply(p) for p in (dart.tip, dart.left, dart.right))
        for a, b in ((left, right), (right, left)):
            shares = (math.dist(tip, places[0]) / math.dist(tip, end) for end in (a, b))
            mine, theirs = (
                (tip[0] + share * (end[0] - tip[0]), tip[1] + share * (end[1] - tip[1]))
                for share, end in zip(shares, (a, b), strict=True)
            )
            best = min(best, max(math.dist(mine, places[0]), math.dist(theirs, places[1])))
    return best


def _drawn_at(mark: Mark) -> Point:
    return mark.at if mark.drawn_at is None else mark.drawn_at


def _moved_with_its_half(made: Made, part: CutPart, mark: Mark) -> bool:
    """Whether a mark of a part with closed darts lies where one of its halves takes it."""
    if mark.drawn_at is None:
        return not part.halves
    moves = [half.to_part for half in part.halves]
    fold = made.plan.ground.piece(part.piece).fold
    if part.side is Side.CENTRE and fold is not None:
        moves += [fold.mirror.then(move).then(fold.mirror) for move in moves]
    return any(math.dist(move.apply(mark.drawn_at), mark.at) <= MEET_MM for move in moves)


def register_marks_tell_turned_sheets(made: Made) -> Problems:
    """At least three marks a sheet and pass, which match in no way but the right one."""
    return capped(_register(made))


def _register(made: Made) -> Iterator[Problem]:
    with_parts = {placed.sheet for placed in made.plan.placed}
    sets = [(f"zone {zone.name}", zone.register) for zone in made.plan.ground.zones]
    sets += [(each.template, each.register) for each in made.plan.passes]
    sets += [(s.name, s.register) for s in made.plan.sheets if s.register or s.name in with_parts]
    for name, register in sets:
        if len(register) < FEWEST:
            yield error(
                "register-too-few",
                f"{name} has {len(register)} register marks; {FEWEST} are needed",
            )
        elif _matches_itself(register):
            yield error(
                "register-ambiguous",
                f"{name}: its register marks also match when the sheet is turned or flipped",
                at=register[0],
            )


def _matches_itself(points: Sequence[Point]) -> bool:
    """Whether any move but none, or any flip, brings every mark within `TELL_MM` of a mark.

    Two marks as far apart as any fix the move; each pair as far apart is tried, both ways over.
    """
    spots = [complex(*point) for point in points]
    a, b = max(permutations(spots, 2), key=lambda pair: abs(pair[0] - pair[1]))
    if abs(b - a) <= 2 * TELL_MM:
        return True
    for c, d in permutations(spots, 2):
        if abs(abs(d - c) - abs(b - a)) > 2 * TELL_MM:
            continue
        turn = (d - c) / (b - a) * abs(b - a) / abs(d - c)
        middle_from, middle_to = (a + b) / 2, (c + d) / 2
        turned = [(p - middle_from) * turn + middle_to for p in spots]
        line = (b - a) / abs(b - a)
        flipped = [((p - middle_from) / line).conjugate() * line * turn + middle_to for p in spots]
        if (c, d) != (a, b) and _all_meet(turned, spots):
            return True
        if _all_meet(flipped, spots):
            return True
    return False


def _all_meet(moved: Sequence[complex], spots: Sequence[complex]) -> bool:
    return all(min(abs(one - other) for other in spots) <= TELL_MM for one in moved)


def passes_share_their_marks(made: Made) -> Problems:
    """All passes of one zone, side and panel have their register marks at the same places of it."""
    return capped(_shared(made))


def _shared(made: Made) -> Iterator[Problem]:
    groups: defaultdict[tuple[str, str, str], list[tuple[str, list[Point]]]] = defaultdict(list)
    for each in made.plan.passes:
        back = inverse(each.to_sheet)
        places = [back.apply(point) for point in each.register]
        groups[each.zone, str(each.side), each.panel].append((stem(each.template), places))
    for _, members in sorted(groups.items(), key=lambda item: item[0]):
        first_name, first = members[0]
        for name, places in members[1:]:
            lost = [p for p in places if all(math.dist(p, q) > MEET_MM for q in first)]
            if lost or len(places) != len(first):
                yield error(
                    "register-not-shared",
                    f"{name} and {first_name} do not have their register marks at the same places",
                    at=lost[0] if lost else None,
                )
