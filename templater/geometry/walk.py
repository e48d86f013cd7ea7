"""Going along an edge as a tape measure does: places by distance, and two edges side by side."""

from __future__ import annotations

import math
from bisect import bisect_left
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

from templater.geometry.flatten import flatten
from templater.geometry.measure import path_length
from templater.model.curves import Line, Path, Point, Ring

_FINE_MM = 2e-4
_SMOOTH_RAD = math.radians(5.0)


@dataclass(frozen=True, slots=True)
class Foot:
    """The nearest place on an edge: how far along it, where, and how far away that is."""

    along_mm: float
    at: Point
    away_mm: float


class Tape:
    """A path with its distances. Lengths are exact for lines and arcs, within 1e-6 for Béziers."""

    def __init__(self, path: Path) -> None:
        points = flatten(path, _FINE_MM)
        self.points: Ring = (*points, points[0]) if path.closed else points
        self.length_mm = path_length(path)
        chords = [0.0]
        for start, end in pairwise(self.points):
            chords.append(chords[-1] + math.dist(start, end))
        scale = self.length_mm / chords[-1] if chords[-1] > 0.0 else 1.0
        self._marks = [chord * scale for chord in chords]
        self._turns = self._all_turns()

    def at(self, along_mm: float) -> tuple[Point, Point]:
        """The point at a distance along, and the unit direction there. Ends hold beyond the ends."""
        along = min(max(along_mm, 0.0), self.length_mm)
        index = min(max(bisect_left(self._marks, along), 1), len(self.points) - 1)
        first, last = self._marks[index - 1], self._marks[index]
        t = (along - first) / (last - first) if last > first else 0.0
        (x0, y0), (x1, y1) = self.points[index - 1], self.points[index]
        turned = (1.0 - t) * self._turn_into(index - 1) / 2.0 - t * self._turn_into(index) / 2.0
        angle = math.atan2(y1 - y0, x1 - x0) - turned
        return (x0 + t * (x1 - x0), y0 + t * (y1 - y0)), (math.cos(angle), math.sin(angle))

    def _turn_into(self, index: int) -> float:
        """The turn at a point of the tape where the path is smooth; 0 at corners.

        Half of it is what a chord's direction there differs from the path's own.
        """
        inner = min(max(index, 1), len(self.points) - 2)
        if inner < 1:
            return 0.0
        turn = self._turns[inner - 1][1]
        return turn if abs(turn) < _SMOOTH_RAD else 0.0

    @property
    def places(self) -> tuple[tuple[float, Point], ...]:
        """(distance along, point) of the tape's own points."""
        return tuple(zip(self._marks, self.points, strict=True))

    def foot(self, point: Point) -> Foot:
        """The nearest place to a point."""
        best = Foot(0.0, self.points[0], math.dist(point, self.points[0]))
        for i, ((x0, y0), (x1, y1)) in enumerate(pairwise(self.points)):
            dx, dy = x1 - x0, y1 - y0
            squared = dx * dx + dy * dy
            if squared == 0.0:
                continue
            t = min(1.0, max(0.0, ((point[0] - x0) * dx + (point[1] - y0) * dy) / squared))
            at = (x0 + t * dx, y0 + t * dy)
            away = math.dist(point, at)
            if away < best.away_mm:
                along = self._marks[i] + t * (self._marks[i + 1] - self._marks[i])
                best = Foot(along, at, away)
        return best

    def turns(self) -> tuple[tuple[float, float], ...]:
        """(distance along, signed turn in radians) at every inner point."""
        return self._turns

    def _all_turns(self) -> tuple[tuple[float, float], ...]:
        found = []
        for i in range(1, len(self.points) - 1):
            (x0, y0), (x1, y1), (x2, y2) = self.points[i - 1 : i + 2]
            ax, ay, bx, by = x1 - x0, y1 - y0, x2 - x1, y2 - y1
            found.append((self._marks[i], math.atan2(ax * by - ay * bx, ax * bx + ay * by)))
        return tuple(found)

    def corners(self, turn_rad: float) -> tuple[float, ...]:
        """Distances along at which the edge turns by at least that much at once."""
        return tuple(along for along, turn in self.turns() if abs(turn) >= turn_rad)


@lru_cache(maxsize=512)
def tape_along(path: Path) -> Tape:
    """The path's tape, kept for the next who asks."""
    return Tape(path)


def part_between(path: Path, from_mm: float, to_mm: float) -> Path:
    """The stretch of a path from one distance along it to another, as fine straight lines.

    On a closed path it runs on past the start if `to_mm` is the smaller; on an open one it then
    runs backwards. Lengths keep to about a millionth.
    """
    tape = tape_along(path)
    if to_mm < from_mm and not path.closed:
        forward = part_between(path, to_mm, from_mm)
        return Path(tuple(Line(s.end, s.start) for s in reversed(forward.segments)), closed=False)
    places = tape.places
    if to_mm >= from_mm:
        inner = [p for along, p in places if from_mm < along < to_mm]
    else:
        inner = [p for along, p in places if along > from_mm]
        inner += [p for along, p in places if along < to_mm]
    points = [tape.at(from_mm)[0], *inner, tape.at(to_mm)[0]]
    lines = tuple(Line(a, b) for a, b in pairwise(points) if a != b)
    return Path(lines or (Line(points[0], points[-1]),), closed=False)


@dataclass(frozen=True, slots=True)
class Walk:
    """Two edges walked from matching ends. `from_mm` to `to_mm` is where on the first edge most of
    the difference arises.
    """

    first_mm: float
    second_mm: float
    from_mm: float
    to_mm: float

    @property
    def difference_mm(self) -> float:
        """How much longer the first is."""
        return self.first_mm - self.second_mm

    @property
    def percent(self) -> float:
        """The difference in per cent of the shorter."""
        shorter = min(self.first_mm, self.second_mm)
        return 100.0 * self.difference_mm / shorter if shorter > 0.0 else math.inf


_SECTIONS = 10
_BESIDE_MM = 25.0


def walk(first: Path, second: Path) -> Walk:
    """Walks two edges that begin where they meet; pass one reversed if they run against each other.

    Edges that lie beside one another are compared place by place in ten sections, to tell where a
    difference arises; of others only the whole lengths are compared.
    """
    a, b = tape_along(first), tape_along(second)
    whole = Walk(a.length_mm, b.length_mm, 0.0, a.length_mm)
    places = [a.length_mm * i / _SECTIONS for i in range(_SECTIONS + 1)]
    feet = [b.foot(a.at(place)[0]) for place in places]
    if max(foot.away_mm for foot in feet) > _BESIDE_MM:
        return whole
    along = [0.0, *(foot.along_mm for foot in feet[1:-1]), b.length_mm]
    sections = [
        (abs((s1 - s0) - (t1 - t0)), s0, s1)
        for (s0, s1), (t0, t1) in zip(pairwise(places), pairwise(along), strict=True)
    ]
    _, start, end = max(sections, key=lambda section: (round(section[0], 6), -section[1]))
    return Walk(a.length_mm, b.length_mm, start, end)
