"""Going along an edge as a tape measure does: places by distance, and two edges side by side."""

from __future__ import annotations

import math
from bisect import bisect_left
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

from templater.geometry.flatten import flatten
from templater.geometry.measure import path_length
from templater.model.curves import Path, Point, Ring

_FINE_MM = 2e-4


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

    def at(self, along_mm: float) -> tuple[Point, Point]:
        """The point at a distance along, and the unit direction there. Ends hold beyond the ends."""
        along = min(max(along_mm, 0.0), self.length_mm)
        index = min(max(bisect_left(self._marks, along), 1), len(self.points) - 1)
        first, last = self._marks[index - 1], self._marks[index]
        t = (along - first) / (last - first) if last > first else 0.0
        (x0, y0), (x1, y1) = self.points[index - 1], self.points[index]
        chord = math.hypot(x1 - x0, y1 - y0)
        direction = ((x1 - x0) / chord, (y1 - y0) / chord) if chord > 0.0 else (1.0, 0.0)
        return (x0 + t * (x1 - x0), y0 + t * (y1 - y0)), direction

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
