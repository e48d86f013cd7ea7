"""Stones along drawn lines: round or shaped, graduated, fanned, kept apart by their true shapes.

Imported late (numpy, shapely). Turns are reckoned from the line's direction: `along` is 0,
`across` 90; two turns fan from the line's start to its end.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from templater.geometry.chains import Chain, chain
from templater.geometry.flatten import flatten
from templater.geometry.polygons import overlap
from templater.model.ground import Row
from templater.model.stones import Size
from templater.stoning.bodies import Body
from templater.stoning.corners import CORNER_DEG
from templater.stoning.flat_bits import FLAT_MM
from templater.stoning.row_ground import RowGround
from templater.stoning.row_spacing import spaced
from templater.stoning.seats import snapped
from templater.stoning.strands import onto_fold, side_of

Turn = Literal["along", "across"] | float | tuple[float, float]

_SPARE_MM = 1.5e-4
_NEAR_MM = 0.3
"""Directions are taken between two points this far before and after."""
_ON_FOLD_MM = 0.01


@dataclass(frozen=True, slots=True)
class RowBodies:
    """A row's stones, and whether it lies on the fold (each stone centred, counted once)."""

    bodies: tuple[Body, ...]
    on_fold: bool


def set_bodies(
    row: Row,
    sizes: Sequence[Size],
    turn: Turn,
    gaps_mm: tuple[float, float],
    ground: RowGround,
) -> RowBodies:
    """The stones of one row, evenly spaced by true shape from end to end of each free stretch.

    `gaps_mm`: the gap where the line begins and where it ends; between, it changes evenly. Several
    sizes graduate: each takes its equal part of the line. Stones stay within the line's
    ends; rounds sit exactly at its corners, shaped ones to both sides of them.
    """
    points = flatten(row.path, FLAT_MM)
    line = chain((*points, points[0]) if row.path.closed else points)
    fold = ground.fold
    on_fold = fold is not None and all(abs(side_of(fold, p)) <= _ON_FOLD_MM for p in line.points)
    setter = _RowSetter(line, row.path.closed, sizes, turn, gaps_mm, ground, on_fold)
    bodies = setter.set_all()
    return RowBodies(tuple(bodies), on_fold)


def mirrors_itself(body: Body, ground: RowGround) -> bool:
    """Whether a stone centred on the fold looks the same on both sides of it."""
    fold = ground.fold
    if fold is None:
        return False
    if body.size.is_round:
        return True
    from shapely import Polygon

    twin = Polygon([fold.mirror.apply(corner) for corner in body.ring])
    return bool(overlap(twin, body.shape).area >= 0.99 * twin.area)


class _RowSetter:
    def __init__(
        self,
        line: Chain,
        closed: bool,
        sizes: Sequence[Size],
        turn: Turn,
        gaps_mm: tuple[float, float],
        ground: RowGround,
        on_fold: bool,
    ) -> None:
        self.line, self.closed, self.sizes = line, closed, sizes
        self.turn, self.ground, self.on_fold = turn, ground, on_fold
        self.gap = min(gaps_mm) + _SPARE_MM
        self.opening = (gaps_mm[0] - min(gaps_mm), gaps_mm[1] - min(gaps_mm))
        self.all_round = all(size.is_round for size in sizes)

    def body(self, along: float, leg: tuple[float, float] | None = None) -> Body:
        """The stone at a distance along; directions look no farther than the leg it is on."""
        total = self.line.length_mm
        share = min(max(along / total, 0.0), 1.0)
        size = self.sizes[min(int(share * len(self.sizes)), len(self.sizes) - 1)]
        at = self._at(along)
        if self.on_fold and self.ground.fold is not None:
            at = onto_fold(self.ground.fold, at)
        if size.is_round:
            return Body(at, 0.0, size)
        low, high = leg or ((-total, 2.0 * total) if self.closed else (0.0, total))
        a, b = self._at(max(along - _NEAR_MM, low)), self._at(min(along + _NEAR_MM, high))
        direction = math.degrees(math.atan2(b[1] - a[1], b[0] - a[0]))
        return Body(at, (direction + self._turn(share)) % 360.0, size)

    def _at(self, along: float) -> tuple[float, float]:
        """The point at a distance along; an open line goes straight on beyond its ends."""
        total = self.line.length_mm
        if self.closed:
            return self.line.at(along % total)
        if 0.0 <= along <= total:
            return self.line.at(along)
        end, beyond = (0.0, along) if along < 0.0 else (total, along - total)
        (x, y), turn = self.line.at(end), math.radians(self.line.turn_deg(end))
        return (x + beyond * math.cos(turn), y + beyond * math.sin(turn))

    def _turn(self, share: float) -> float:
        match self.turn:
            case "along":
                return 0.0
            case "across":
                return 90.0
            case (first, last):
                return float(first) + share * (float(last) - float(first))
            case fixed:
                return float(fixed)

    def corners(self) -> list[float]:
        """Where the line itself turns by 30° or more."""
        points, lengths = self.line.points, self.line.lengths
        directions = [math.atan2(b[1] - a[1], b[0] - a[0]) for a, b in pairwise(points)]
        found = [
            lengths[k]
            for k in range(1, len(directions))
            if _turned(directions[k - 1], directions[k]) >= CORNER_DEG - 1e-6
        ]
        if self.closed and _turned(directions[-1], directions[0]) >= CORNER_DEG - 1e-6:
            found.insert(0, 0.0)
        return found

    def set_all(self) -> list[Body]:
        total = self.line.length_mm
        corners = self.corners()
        if self.closed and not corners:
            return self._finish(self._loop())
        if self.closed and corners[0] > 0.0:
            # Begin at a corner, so that every leg lies between two of them.
            start = corners[0]
            self.line = chain(
                (*self.line.part(start, total).points, *self.line.part(0.0, start).points)
            )
            corners = [c - start for c in corners]
        bounds = [*corners, total] if self.closed else [0.0, *corners, total]
        legs = [(low, high) for low, high in pairwise(bounds) if high - low > 1e-6]
        around = self.closed and len(legs) > 1
        places = [(c, self.body(c)) for c in corners if self.all_round and self._allowed(c, None)]
        for k, leg in enumerate(legs):
            before = legs[k - 1] if k > 0 or around else None
            after = legs[(k + 1) % len(legs)] if k + 1 < len(legs) or around else None
            low = self._leg_end(leg, before, forwards=True)
            high = self._leg_end(leg, after, forwards=False)
            for a, b in self._free(low, high, leg) if low <= high else []:
                places += self._section(a, b, leg)
        return self._finish(places)

    def _finish(self, places: Sequence[tuple[float, Body]]) -> list[Body]:
        """Snapped, in order along, and a last look that no two are nearer than their gap."""
        kept: list[tuple[float, Body]] = []
        most = max(size.length_mm for size in self.sizes) * 2.0 + self.gap
        for along, body in places:
            placed = Body(snapped(body.at), round(body.turn_deg, 4) % 360.0, body.size)
            clash = any(
                math.dist(placed.at, other.at) < most
                and placed.gap_to(other) < self.gap - _SPARE_MM - 1e-6
                for _, other in kept
            )
            if not clash:
                kept.append((along, placed))
        return [body for _, body in sorted(kept, key=lambda one: one[0])]

    def _loop(self) -> list[tuple[float, Body]]:
        total = self.line.length_mm
        free = self._free(0.0, total, None)
        if free == [(0.0, total)]:
            places = spaced(self._gap_between(None), 0.0, total, self.gap, self._most())
            # The last is the first again.
            return [(along, self.body(along)) for along in places[:-1] or [0.0]]
        if len(free) > 1 and free[0][0] == 0.0 and free[-1][1] == total:
            free = [*free[1:-1], (free[-1][0], total + free[0][1])]
        return [place for low, high in free for place in self._section(low, high, None)]

    def _leg_end(
        self, leg: tuple[float, float], beside: tuple[float, float] | None, *, forwards: bool
    ) -> float:
        """Where the first (or last) stone of a leg may stand: its body within the leg's end, clear
        of the leg beside it, clear of its own mirror image at a fold.
        """
        end = leg[0] if forwards else leg[1]
        sign = 1.0 if forwards else -1.0
        if beside is not None and self.all_round:
            return self._round_corner(leg, beside, end, sign)
        body = self.body(end, leg)
        a, b = self._at(end), self._at(end + sign * min(_NEAR_MM, leg[1] - leg[0]))
        back = math.degrees(math.atan2(a[1] - b[1], a[0] - b[0]))
        reach = body.reach(back)
        length = leg[1] - leg[0]
        fold = self.ground.fold
        if fold is not None and not self.on_fold and abs(side_of(fold, a)) < _ON_FOLD_MM:
            # Its mirror image goes on beyond the fold: the line does not end here.
            return end + sign * _least(
                lambda more: self.ground.fold_room(self.body(end + sign * more, leg)) - _SPARE_MM,
                length,
            )
        if beside is None:
            return end + sign * reach
        other = beside[1] if forwards else beside[0]

        def clear(more: float) -> float:
            mine = self.body(end + sign * (reach + more), leg)
            its = self.body(other - sign * (reach + more), beside)
            return mine.gap_to(its) - self.gap

        room = min(length, beside[1] - beside[0])
        more = _least(clear, room)
        # In a hairpin the two legs never clear each other: the later gives way, stone by stone.
        inset = reach + (more if reach + more < room / 2.0 else 0.0)
        return end + sign * inset

    def _round_corner(
        self, leg: tuple[float, float], beside: tuple[float, float], end: float, sign: float
    ) -> float:
        """A round sits on the corner itself. At an acute one its neighbours are pushed out to
        where they clear each other; otherwise the leg begins with the corner's stone.
        """
        other = beside[1] if sign > 0.0 else beside[0]

        def clear(out: float) -> float:
            mine, its = self.body(end + sign * out, leg), self.body(other - sign * out, beside)
            return mine.gap_to(its) - self.gap

        pitch = self.body(end).size.width_mm + self.gap
        if clear(pitch) >= -1e-6:
            return end
        return end + sign * (pitch + _least(lambda more: clear(pitch + more), leg[1] - leg[0]))

    def _free(
        self, low: float, high: float, leg: tuple[float, float] | None
    ) -> list[tuple[float, float]]:
        """The stretches of centres where the piece allows a stone."""
        if self.ground.is_open:
            return [(low, high)]
        count = max(1, math.ceil((high - low) / 0.5))
        steps = [low + (high - low) * k / count for k in range(count + 1)]

        def allowed(along: float) -> bool:
            return self._allowed(along, leg)

        flags = [allowed(s) for s in steps]
        parts: list[tuple[float, float]] = []
        start: float | None = low if flags[0] else None
        for (s, was), (t, now) in pairwise(zip(steps, flags, strict=True)):
            if was and not now:
                assert start is not None
                parts.append((start, _limit(allowed, s, t)))
                start = None
            elif now and not was:
                start = _limit(allowed, t, s)
        if start is not None:
            parts.append((start, high))
        return parts

    def _allowed(self, along: float, leg: tuple[float, float] | None) -> bool:
        return self.ground.allows(self.body(along, leg), on_fold=self.on_fold)

    def _gap_between(self, leg: tuple[float, float] | None) -> Callable[[float, float], float]:
        """The gap between two stones, less what it is to open to at that place."""
        first, last = self.opening

        def gap(s: float, t: float) -> float:
            share = min(max((s + t) / 2.0 / self.line.length_mm, 0.0), 1.0)
            opened = first + share * (last - first)
            return self.body(s, leg).gap_to(self.body(t, leg)) - opened

        return gap

    def _most(self) -> float:
        return max(size.length_mm for size in self.sizes) + self.gap + max(self.opening)

    def _section(
        self, low: float, high: float, leg: tuple[float, float] | None
    ) -> list[tuple[float, Body]]:
        places = spaced(self._gap_between(leg), low, high, self.gap, self._most())
        return [(along, self.body(along, leg)) for along in places]


def _turned(before: float, after: float) -> float:
    return abs(math.degrees(math.remainder(after - before, 2.0 * math.pi)))


def _least(room: Callable[[float], float], most: float) -> float:
    """The least step at which there is room, by bisection; `most` where there is none before."""
    if room(0.0) >= 0.0:
        return 0.0
    step = 0.25
    while room(step) < 0.0:
        step *= 1.5
        if step > most:
            return most
    low, high = 0.0, step
    for _ in range(40):
        middle = (low + high) / 2.0
        if room(middle) < 0.0:
            low = middle
        else:
            high = middle
    return high


def _limit(allowed: Callable[[float], bool], good: float, bad: float) -> float:
    """The last allowed place between one that is and one that is not."""
    for _ in range(30):
        middle = (good + bad) / 2.0
        if allowed(middle):
            good = middle
        else:
            bad = middle
    return good
