"""The lines along which centres of an outline row run, and the corners on them. Imported late."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from dataclasses import field as made
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from templater.geometry.chains import Chain, chain
from templater.geometry.clearance import free_stretches
from templater.geometry.parallel import free_parallels, raw_parallel
from templater.model.curves import Point, Ring
from templater.model.ground import Fold
from templater.model.stones import Field, Size
from templater.stoning.corners import (
    Corner,
    blunt_merged,
    inner_corners,
    kinks,
    places_on,
    rounded_ends,
)
from templater.stoning.seats import SPARE_MM, SPARE_PITCH_MM, lie_within, wall_capsules

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

_ON_FOLD_MM = 1e-3
ROW_SPARE_MM = 1e-3
"""Kept beyond a pitch between two rows: arcs are drawn a little outside, so that no inner row is
cut up by grazing the stones of the outer.
"""


@dataclass(frozen=True, slots=True)
class Strand:
    """One line for centres, its corners in order along it, and whether its ends lie on the fold."""

    line: Chain
    closed: bool
    corners: tuple[Corner, ...]
    starts_on_fold: bool = False
    ends_on_fold: bool = False

    def along(self, distance_mm: float) -> float:
        """A distance along, brought round on a closed strand."""
        return distance_mm % self.line.length_mm if self.closed else distance_mm

    def at(self, distance_mm: float) -> Point:
        return self.line.at(self.along(distance_mm))

    def room_about(self, place_mm: float, places: Sequence[float]) -> float:
        """How far both ways along a place is free of other places and ends."""
        total = self.line.length_mm
        if not self.closed:
            return min(
                [abs(p - place_mm) for p in places if p != place_mm] + [place_mm, total - place_mm]
            )
        apart = [abs(p - place_mm) for p in places if p != place_mm]
        return min([min(a, total - a) for a in apart] + [total / 2.0])

    def width_at(self, place_mm: float) -> Callable[[float], float]:
        """How far apart the two sides are, as a function of the distance along from a place."""
        return lambda s: math.dist(self.at(place_mm - s), self.at(place_mm + s))

    def fold_ends(self) -> tuple[FoldEnd, ...]:
        return (FoldEnd(at_start=True),) * self.starts_on_fold + (
            FoldEnd(at_start=False),
        ) * self.ends_on_fold


class FoldEnd(NamedTuple):
    """The end of a strand that lies on the fold; distances are counted from it."""

    at_start: bool

    def along(self, distance_mm: float, strand: Strand) -> float:
        return distance_mm if self.at_start else strand.line.length_mm - distance_mm

    def stretch(self, low: float, high: float, strand: Strand) -> tuple[float, float]:
        a, b = self.along(low, strand), self.along(high, strand)
        return (min(a, b), max(a, b))


@dataclass(slots=True)
class Marks:
    """Places along a strand that have their seat, the tips among them, and stretches to leave."""

    places: list[float] = made(default_factory=list)
    tips: list[Corner] = made(default_factory=list)
    shut: list[tuple[float, float]] = made(default_factory=list)


class Span(NamedTuple):
    """A stretch to string stones along, and which of its ends have theirs."""

    line: Chain
    starts_taken: bool
    ends_taken: bool


def spans_between(strand: Strand, marks: Marks) -> list[Span]:
    """The stretches between the places taken, those shut left out."""
    line, total = strand.line, strand.line.length_mm
    taken = {strand.along(place) for place in marks.places}
    cuts = sorted(taken | {strand.along(end) for stretch in marks.shut for end in stretch})
    if strand.closed:
        if not cuts:
            return [Span(_from_farthest(line), starts_taken=False, ends_taken=True)]
        bounds = [*pairwise(cuts), (cuts[-1], cuts[0] + total)]
    else:
        bounds = list(pairwise([0.0, *cuts, total]))
    spans: list[Span] = []
    for low, high in bounds:
        if high - low <= 1e-9 or _is_shut((low + high) / 2.0, marks.shut, total, strand.closed):
            continue
        if high <= total:
            part = line.part(low, high)
        elif high - total <= 1e-9:
            part = line.part(low, total)
        else:
            part = chain((*line.part(low, total).points, *line.part(0.0, high - total).points))
        ends = cuts[0] if high > total or (strand.closed and high == total + cuts[0]) else high
        spans.append(Span(part, low in taken, ends in taken))
    return spans


def first_reach(value: Callable[[float], float], reach: float, room: float) -> float | None:
    """The first s up to `room` at which a value that begins below reaches it."""
    step = 0.25
    low, high = 0.0, min(step, room)
    while value(high) < reach:
        if high >= room:
            return None
        low, high = high, min(high + step, room)
    for _ in range(50):
        middle = (low + high) / 2.0
        if value(middle) < reach:
            low = middle
        else:
            high = middle
    return high


def _is_shut(at: float, shut: Sequence[tuple[float, float]], total: float, closed: bool) -> bool:
    rounds = (-total, 0.0, total) if closed else (0.0,)
    return any(low <= at + r <= high for low, high in shut for r in rounds)


def _from_farthest(line: Chain) -> Chain:
    """A closed chain begun at its point farthest from its middle, as an eye would."""
    xs, ys = zip(*line.points, strict=True)
    middle = ((min(xs) + max(xs)) / 2.0, (min(ys) + max(ys)) / 2.0)
    far = max(
        range(len(line.points) - 1), key=lambda k: (round(math.dist(line.points[k], middle), 4), -k)
    )
    ring = line.points[:-1]
    turned = (*ring[far:], *ring[:far])
    return chain((*turned, turned[0]))


def _begun_at(strand: Strand, start: float) -> Strand:
    """A closed strand begun at another place, as an open one that ends where it begins."""
    line, total = strand.line, strand.line.length_mm
    turned = chain((*line.part(start, total).points, *line.part(0.0, start).points))
    corners = sorted(Corner((c.along_mm - start) % total, c.turn_deg) for c in strand.corners)
    return Strand(turned, False, tuple(corners))


def cut(strand: Strand, capsules: Floats, *, keep_fold_ends: bool = False) -> list[Strand]:
    """A strand less what lies inside capsules; ends on the fold may keep their way to it."""
    line, total = strand.line, strand.line.length_mm
    parts = free_parts(line, capsules)
    if parts == [(0.0, total)]:
        return [strand]
    if strand.closed and len(parts) > 1 and parts[0][0] == 0.0 and parts[-1][1] == total:
        # Begun inside a free stretch: begin again where the last one begins.
        return cut(_begun_at(strand, parts[-1][0]), capsules)
    if keep_fold_ends and strand.starts_on_fold:
        parts = [(0.0, parts[0][1]), *parts[1:]] if parts else [(0.0, total)]
    if keep_fold_ends and strand.ends_on_fold:
        parts = [*parts[:-1], (parts[-1][0], total)] if parts else [(0.0, total)]
    return [
        Strand(
            line.part(low, high),
            False,
            tuple(
                Corner(c.along_mm - low, c.turn_deg)
                for c in strand.corners
                if low < c.along_mm < high
            ),
            strand.starts_on_fold and low == 0.0,
            strand.ends_on_fold and high == total,
        )
        for low, high in parts
        if high - low > 1e-9
    ]


def strands(field: Field, size: Size, gap_mm: float, row: int = 0) -> list[Strand]:
    """Every line on which stones of a size touch the boundary that carries a row.

    `row` counts rows inwards from 0. The fold does not cut the lines (they end on it); all other
    walls and obstacles do.
    """
    pitch = size.width_mm + gap_mm
    extra = row * (pitch + SPARE_PITCH_MM + ROW_SPARE_MM)
    deeper = _deeper(field, extra)
    clearances = {wall[:4]: wall.clearance_mm for wall in field.walls if not wall.is_fold}
    raws: list[list[tuple[Point, Point]]] = []
    inner: list[tuple[Point, float]] = []
    for line, closed in field.row_lines:
        reaches = [
            size.width_mm / 2.0 + clearances[key] + extra + SPARE_MM for key in _bits(line, closed)
        ]
        raw = raw_parallel(
            line,
            reaches,
            closed=closed,
            cap_start=not closed and _on_fold(field.fold, line[0]),
            cap_end=not closed and _on_fold(field.fold, line[-1]),
        )
        if field.fold is not None:
            raw = _on_side(raw, field.fold, field.rings)
        raws.append(raw)
        inner += inner_corners(line, reaches, closed=closed)
    capsules = wall_capsules(field, size, gap_mm, deeper)
    free = [
        (chain((*points, points[0]) if closed else points), closed)
        for points, closed in free_parallels(raws, capsules)
    ]
    within = lie_within(field, [_middle(centres) for centres, _ in free], size)
    found: list[Strand] = []
    for (centres, closed), inside in zip(free, within, strict=True):
        if centres.length_mm <= 0.0 or not inside:
            continue
        points = centres.points
        found.append(
            Strand(
                centres,
                closed,
                _corners(centres, inner, pitch, closed=closed),
                not closed and _on_fold(field.fold, points[0]),
                not closed and _on_fold(field.fold, points[-1]),
            )
        )
    return found


def _middle(line: Chain) -> Point:
    (x0, y0), (x1, y1) = line.points[0], line.points[1]
    return ((x0 + x1) / 2.0, (y0 + y1) / 2.0)


def _bits(line: Ring, closed: bool) -> list[tuple[float, float, float, float]]:
    ends = [*line[1:], line[0]] if closed else list(line[1:])
    return [(*start, *end) for start, end in zip(line[: len(ends)], ends, strict=True)]


def _deeper(field: Field, extra_mm: float) -> dict[tuple[float, ...], float]:
    if extra_mm == 0.0:
        return {}
    return {key: extra_mm for line, closed in field.row_lines for key in _bits(line, closed)}


def _corners(
    line: Chain, inner: Sequence[tuple[Point, float]], pitch: float, *, closed: bool
) -> tuple[Corner, ...]:
    sharp = blunt_merged(kinks(line, closed=closed), line, pitch, closed=closed)
    places = places_on(line, [at for at, _ in inner], 2e-3)
    sharp += [
        Corner(along, turn)
        for along, (_, turn) in zip(places, inner, strict=True)
        if along is not None
    ]
    total = line.length_mm
    for bend in rounded_ends(line, pitch, closed=closed):
        apart = [abs(bend.along_mm - other.along_mm) for other in sharp]
        if closed:
            apart = [min(a, total - a) for a in apart]
        if all(a > pitch for a in apart):
            sharp.append(bend)
    return tuple(sorted(sharp))


def _on_fold(fold: Fold | None, at: Point) -> bool:
    return fold is not None and abs(side_of(fold, at)) <= _ON_FOLD_MM


def side_of(fold: Fold, at: Point) -> float:
    """The distance in mm from the fold line, above 0 on its left."""
    (fx, fy), (ex, ey) = fold.start, fold.end
    return ((ex - fx) * (at[1] - fy) - (ey - fy) * (at[0] - fx)) / math.dist(fold.start, fold.end)


def onto_fold(fold: Fold, at: Point) -> Point:
    """The point of the fold line nearest to a point."""
    (fx, fy), (ex, ey) = fold.start, fold.end
    t = ((at[0] - fx) * (ex - fx) + (at[1] - fy) * (ey - fy)) / ((ex - fx) ** 2 + (ey - fy) ** 2)
    return (fx + t * (ex - fx), fy + t * (ey - fy))


def _on_side(
    raw: Sequence[tuple[Point, Point]], fold: Fold, rings: Sequence[Ring]
) -> list[tuple[Point, Point]]:
    """The bits cut at the fold; what lies beyond it, seen from the zone, is dropped."""
    far = max((side_of(fold, p) for ring in rings for p in ring), key=abs)
    sign = 1.0 if far >= 0.0 else -1.0
    kept: list[tuple[Point, Point]] = []
    for start, end in raw:
        a, b = sign * side_of(fold, start), sign * side_of(fold, end)
        if a >= 0.0 and b >= 0.0:
            kept.append((start, end))
        elif a > 0.0 or b > 0.0:
            t = a / (a - b)
            cut = onto_fold(
                fold, (start[0] + t * (end[0] - start[0]), start[1] + t * (end[1] - start[1]))
            )
            kept.append((start, cut) if a > 0.0 else (cut, end))
    return kept


def free_parts(line: Chain, capsules: Floats) -> list[tuple[float, float]]:
    """The stretches of a chain outside capsules, as distances along it, in order."""
    rows = np.array([(*a, *b) for a, b in pairwise(line.points)], dtype=float).reshape(-1, 4)
    pieces, owners = free_stretches(rows, capsules)
    parts: list[tuple[float, float]] = []
    for (x0, y0, x1, y1), k in zip(pieces.tolist(), owners.tolist(), strict=True):
        start = line.lengths[k] + math.dist(line.points[k], (x0, y0))
        end = line.lengths[k] + math.dist(line.points[k], (x1, y1))
        if parts and start - parts[-1][1] <= 1e-9:
            parts[-1] = (parts[-1][0], end)
        else:
            parts.append((start, end))
    return parts
