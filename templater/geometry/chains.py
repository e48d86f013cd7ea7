"""Polylines to walk along: by length, and by chords of one length, as stones are strung."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from templater.model.curves import Point


@dataclass(frozen=True, slots=True)
class Chain:
    """A polyline with the length up to each point. A closed one repeats its first point at the end."""

    points: tuple[Point, ...]
    lengths: tuple[float, ...]

    @property
    def length_mm(self) -> float:
        return self.lengths[-1]

    def at(self, distance_mm: float) -> Point:
        """The point at a distance along; beyond an end, that end."""
        if distance_mm <= 0.0:
            return self.points[0]
        if distance_mm >= self.lengths[-1]:
            return self.points[-1]
        k = bisect_right(self.lengths, distance_mm) - 1
        (x0, y0), (x1, y1) = self.points[k], self.points[k + 1]
        t = (distance_mm - self.lengths[k]) / (self.lengths[k + 1] - self.lengths[k])
        return (x0 + t * (x1 - x0), y0 + t * (y1 - y0))

    def turn_deg(self, distance_mm: float) -> float:
        """The direction at a distance along, in degrees in [0, 360)."""
        k = bisect_right(self.lengths, distance_mm) - 1
        k = min(max(k, 0), len(self.points) - 2)
        (x0, y0), (x1, y1) = self.points[k], self.points[k + 1]
        return math.degrees(math.atan2(y1 - y0, x1 - x0)) % 360.0

    def part(self, from_mm: float, to_mm: float) -> Chain:
        """The stretch between two distances, from_mm < to_mm."""
        first = bisect_right(self.lengths, from_mm)
        last = bisect_right(self.lengths, to_mm)
        return chain((self.at(from_mm), *self.points[first:last], self.at(to_mm)))

    def backwards(self) -> Chain:
        return chain(tuple(reversed(self.points)))


def chain(points: Sequence[Point]) -> Chain:
    """A chain through points; repeated ones are dropped. Raises ValueError for none."""
    if not points:
        raise ValueError("a chain needs a point")
    kept = [points[0]]
    lengths = [0.0]
    for point in points[1:]:
        step = math.dist(kept[-1], point)
        if step > 0.0:
            kept.append(point)
            lengths.append(lengths[-1] + step)
    if len(kept) == 1:
        kept.append(kept[0])
        lengths.append(0.0)
    return Chain(tuple(kept), tuple(lengths))


def next_by_chord(line: Chain, from_mm: float, chord_mm: float) -> float:
    """The distance along of the first later point a chord away; straight on beyond the end."""
    x, y = line.at(from_mm)
    points, lengths = line.points, line.lengths
    k = min(bisect_right(lengths, from_mm) - 1, len(points) - 2)
    squared = chord_mm * chord_mm
    while k < len(points) - 1:
        x1, y1 = points[k + 1]
        if (x1 - x) * (x1 - x) + (y1 - y) * (y1 - y) >= squared:
            return _on_bit(
                points[k], points[k + 1], (x, y), chord_mm, max(lengths[k], 0.0), lengths[k + 1]
            )
        k += 1
    return lengths[-1] + chord_mm - math.dist((x, y), points[-1])


def _on_bit(
    start: Point, end: Point, about: Point, chord_mm: float, length0: float, length1: float
) -> float:
    """Where a straight bit leaves the circle about a point: the larger root of a quadratic."""
    step = length1 - length0
    ux, uy = (end[0] - start[0]) / step, (end[1] - start[1]) / step
    px, py = start[0] - about[0], start[1] - about[1]
    along = px * ux + py * uy
    rest = along * along - (px * px + py * py - chord_mm * chord_mm)
    return length0 + min(step, max(0.0, -along + math.sqrt(max(rest, 0.0))))


def even_chords(line: Chain, pitch_mm: float) -> tuple[float, ...]:
    """Distances along for stones from end to end, even by chord, each chord at least the pitch.

    Both ends are among them where the ends are at least a pitch apart along the chain; otherwise
    the start alone. The chords are the shortest that are equal: with n of them on a straight or
    gently bent chain, at most pitch/n above the pitch.
    """
    total = line.length_mm
    at = 0.0
    count = 0
    while True:
        at = next_by_chord(line, at, pitch_mm)
        if at > total + 1e-9:
            break
        count += 1
    if count == 0:
        return (0.0,)
    # False position (Illinois): the last place grows with the chord, all but in step.
    low, high = pitch_mm, pitch_mm * (1.0 + 1.0 / count)
    short = _walk(line, low, count)[-1] - total
    over = _walk(line, high, count)[-1] - total
    while over < 0.0:
        high += pitch_mm / count
        over = _walk(line, high, count)[-1] - total
    places, side = _walk(line, low, count), 0
    for _ in range(80):
        if high - low < 1e-9 or short > -1e-9:
            break
        middle = low + (high - low) * short / (short - over)
        middle = min(max(middle, low), high)
        trial = _walk(line, middle, count)
        left = trial[-1] - total
        if left <= 0.0:
            places, low, short = trial, middle, left
            over = over / 2.0 if side < 0 else over
            side = -1
        else:
            high, over = middle, left
            short = short / 2.0 if side > 0 else short
            side = 1
    return (*places[:-1], total)


def even_pitch(line: Chain, pitch_mm: float) -> float:
    """The chord that `even_chords` comes to; infinite where not even one fits."""
    places = even_chords(line, pitch_mm)
    return math.dist(line.at(places[0]), line.at(places[1])) if len(places) > 1 else math.inf


def _walk(line: Chain, chord_mm: float, count: int) -> list[float]:
    places = [0.0]
    for _ in range(count):
        if places[-1] >= line.length_mm:
            places.append(places[-1] + chord_mm)
        else:
            places.append(next_by_chord(line, places[-1], chord_mm))
    return places


def turns_deg(line: Chain, closed: bool) -> list[float]:
    """The turn at each point in degrees, left above 0; at the ends of an open chain 0."""
    directions = [math.atan2(b[1] - a[1], b[0] - a[0]) for a, b in pairwise(line.points)]
    turns = [0.0] * len(line.points)
    for k in range(1, len(directions)):
        turns[k] = _turn(directions[k - 1], directions[k])
    if closed and directions:
        turns[0] = turns[-1] = _turn(directions[-1], directions[0])
    return turns


def _turn(before: float, after: float) -> float:
    turn = math.degrees(after - before) % 360.0
    return turn - 360.0 if turn > 180.0 else turn
