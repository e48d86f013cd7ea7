"""Outline rows: a stone exactly at each corner that can take one, evenly strung between.

Imported late (numpy, shapely). Positions are snapped to 0.0001 mm and keep every distance.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from templater.geometry.chains import Chain, chain, even_chords, even_pitch, next_by_chord
from templater.model.curves import Point
from templater.model.ground import Fold
from templater.model.stones import Field, Size
from templater.stoning.astride import pairs_astride
from templater.stoning.corners import CORNER_DEG
from templater.stoning.facing import facing_places
from templater.stoning.seats import (
    SPARE_MM,
    SPARE_PITCH_MM,
    Ledger,
    Seat,
    fold_capsules,
    sound,
)
from templater.stoning.strands import (
    FoldEnd,
    Marks,
    Span,
    Strand,
    cut,
    first_reach,
    free_parts,
    onto_fold,
    side_of,
    spans_between,
    strands,
)

_PUSHED = 1.02
"""Neighbours of a corner stone count as pushed out where they stand this many pitches away."""
_POINT_MM = 30.0
"""Smaller stones step in no farther than this from the row's own corner stone."""


def outline_seats(
    field: Field,
    size: Size,
    gap_mm: float,
    *,
    rows: int = 1,
    smaller: Sequence[Size] = (),
    across: Sequence[Point] = (),
) -> list[Seat]:
    """The seats of one or more outline rows, from the boundary inwards.

    `smaller` sizes step into sharp points where the row's own size does not fit. `across`: stones of
    other zones' rows that the first row is to face (see facing.corners_across).
    """
    setter = _Setter(field, size, gap_mm, across)
    for row in range(rows):
        setter.set_row(row)
    for small in sorted(smaller, key=lambda s: -s.width_mm):
        if small.width_mm < size.width_mm:
            setter.step_into_points(small)
    return sound(field, setter.ledger.seats, gap_mm)


class _Setter:
    """Sets the rows of one zone; holds the seats taken so far."""

    def __init__(self, field: Field, size: Size, gap_mm: float, across: Sequence[Point]) -> None:
        self.field, self.size, self.gap, self.across = field, size, gap_mm, across
        self.pitch = size.width_mm + gap_mm + SPARE_PITCH_MM
        self.band = (size.width_mm + gap_mm) / 2.0 + SPARE_MM
        self.ledger = Ledger(gap_mm)
        self.sharp: list[Point] = []

    def set_row(self, row: int) -> None:
        found = strands(self.field, self.size, self.gap, row)
        fold = fold_capsules(self.field, self.size)
        found = [part for strand in found for part in cut(strand, fold, keep_fold_ends=True)]
        if row > 0:
            found = [
                part
                for strand in found
                for part in cut(strand, self.ledger.capsules(self.size, strand.line.points))
            ]
        marks = [self._take_corners(strand) for strand in found]
        for strand, mark in zip(found, marks, strict=True):
            self._take_fold_ends(strand, mark)
        for strand, mark in zip(found, marks, strict=True):
            self._push_neighbours(strand, mark)
        for strand, mark in zip(found, marks, strict=True):
            self._part_at_inner_corners(strand, mark)
        for strand, mark in zip(found, marks, strict=True) if row == 0 and self.across else ():
            for place in facing_places(strand, mark, self.across, self.pitch):
                if self._take(strand.at(place)):
                    mark.places.append(place)
        for strand, mark in zip(found, marks, strict=True):
            for span in spans_between(strand, mark):
                self._string(span)

    def _take(self, at: Point, *, on_fold: bool = False) -> bool:
        """Takes a seat if it is free."""
        free = self._is_free(at, on_fold=on_fold)
        if free:
            self.ledger.add(Seat(*at, self.size, on_fold))
        return free

    def _is_free(self, at: Point, *, on_fold: bool = False) -> bool:
        fold = self.field.fold
        if fold is not None and not on_fold and abs(side_of(fold, at)) < self.band - 1e-5:
            return False
        return self.ledger.is_free(at, self.size)

    def _take_corners(self, strand: Strand) -> Marks:
        """Seats at the corners, the sharpest first, then at open ends."""
        marks = Marks()
        for corner in sorted(
            strand.corners, key=lambda c: (-round(abs(c.turn_deg), 3), c.along_mm)
        ):
            if self._take(strand.at(corner.along_mm)):
                marks.places.append(corner.along_mm)
                if corner.turn_deg > 0.0:
                    marks.tips.append(corner)
        if not strand.closed:
            for along, on_fold in (
                (0.0, strand.starts_on_fold),
                (strand.line.length_mm, strand.ends_on_fold),
            ):
                if not on_fold and self._take(strand.at(along)):
                    marks.places.append(along)
        return marks

    def _push_neighbours(self, strand: Strand, marks: Marks) -> None:
        """At acute tips the neighbours go where the two sides are a pitch apart, a file between."""
        for tip in marks.tips:
            room = strand.room_about(tip.along_mm, marks.places)
            width = first_reach(strand.width_at(tip.along_mm), self.pitch, room)
            at = strand.at(tip.along_mm)
            out = room if width is None else width
            if math.dist(at, strand.at(tip.along_mm + out)) <= _PUSHED * self.pitch:
                continue
            middle = [
                _between(strand.at(tip.along_mm - s), strand.at(tip.along_mm + s))
                for s in _steps(out)
            ]
            self.sharp.append(at)
            if width is not None:
                for along in (tip.along_mm - out, tip.along_mm + out):
                    if self._take(strand.at(along)):
                        marks.places.append(strand.along(along))
            marks.shut.append((tip.along_mm - out, tip.along_mm + out))
            self._string(Span(chain(middle), starts_taken=True, ends_taken=False))

    def _part_at_inner_corners(self, strand: Strand, marks: Marks) -> None:
        """Two stones for one at inner corners where the row is tighter for it."""
        for pair in pairs_astride(strand, marks, self.pitch, self.across):
            seat = self.ledger.taken_out(strand.at(pair.corner_mm))
            ends = (pair.before_mm, pair.after_mm)
            if all(self._is_free(strand.at(end)) for end in ends):
                marks.places.remove(pair.corner_mm)
                marks.places += [end for end in ends if self._take(strand.at(end))]
            else:
                self.ledger.add(seat)

    def _string(self, span: Span) -> None:
        """Seats evenly along a span; around seats taken already, each free stretch for itself."""
        line = span.line
        own = [line.points[0]] * span.starts_taken + [line.points[-1]] * span.ends_taken
        parts = free_parts(line, self.ledger.capsules(self.size, line.points))
        others = free_parts(line, self.ledger.capsules(self.size, line.points, own))
        for low, high in self._beyond_ends(others, span):
            inner = [(a, b) for a, b in parts if low <= (a + b) / 2.0 <= high]
            starts = span.starts_taken and low == 0.0
            closes = span.ends_taken and high == line.length_mm
            roomy = len(inner) == 1 and inner[0][1] - inner[0][0] >= self.pitch
            if len(inner) <= 1 and ((starts and closes) or (roomy and (starts or closes))):
                # Nothing but its own ends is near: they count as seats of the stretch.
                first = low if starts else inner[0][0]
                last = high if closes else inner[0][1]
                part = line.part(first, last)
                self._string_free(part, starts_taken=starts, ends_taken=closes)
                continue
            for a, b in inner:
                self._string_free(line.part(a, b), starts_taken=False, ends_taken=False)

    def _beyond_ends(
        self, parts: list[tuple[float, float]], span: Span
    ) -> list[tuple[float, float]]:
        """Free stretches of a span, joined over what is taken only where no stone would go anyway:
        nearer than a pitch to a seat at the span's own end.
        """
        line, total = span.line, span.line.length_mm
        first = next_by_chord(line, 0.0, self.pitch) if span.starts_taken else -1.0
        last = total - next_by_chord(line.backwards(), 0.0, self.pitch)
        head = [part for part in parts if part[0] <= first]
        if head:
            parts = [(0.0, head[-1][1]), *parts[len(head) :]]
        tail = [part for part in parts if part[1] >= last] if span.ends_taken else []
        if tail:
            parts = [*parts[: -len(tail)], (tail[0][0], total)]
        return parts

    def _string_free(self, line: Chain, *, starts_taken: bool, ends_taken: bool) -> None:
        places = even_chords(line, self.pitch)
        if len(places) == 1:
            if not starts_taken and not ends_taken:
                self._take(line.at(line.length_mm / 2.0))
            elif starts_taken != ends_taken:
                self._take(line.points[0] if ends_taken else line.points[-1])
            return
        for k, along in enumerate(places):
            if (k == 0 and starts_taken) or (k == len(places) - 1 and ends_taken):
                continue
            self._take(line.at(along))

    def _take_fold_ends(self, strand: Strand, marks: Marks) -> None:
        """Where a strand meets the fold: a stone centred on it, or a pair that clears it evenly."""
        fold = self.field.fold
        if fold is None:
            return
        for end in strand.fold_ends():
            self._take_fold_end(strand, end, fold, marks)

    def _take_fold_end(self, strand: Strand, end: FoldEnd, fold: Fold, marks: Marks) -> None:
        away = strand.line if end.at_start else strand.line.backwards()
        room = away.length_mm
        others = [p if end.at_start else room - p for p in marks.places]
        room = min([p for p in others if p > 0.0], default=room)
        centre = onto_fold(fold, away.points[0])
        out = first_reach(lambda s: abs(side_of(fold, away.at(s))), self.band, room)
        if out is None:
            self._take(centre, on_fold=True)
            marks.shut.append(end.stretch(0.0, room, strand))
            return
        if math.dist(centre, away.at(out)) > _PUSHED * self.pitch:
            self._fold_tip(strand, end, away, out, marks)
            return
        turn = abs(180.0 - 2.0 * _angle_to_fold(fold, away))
        if turn >= CORNER_DEG and self._take(centre, on_fold=True):
            marks.places.append(end.along(0.0, strand))
            return
        centred = even_pitch(away.part(0.0, room), self.pitch)
        paired, start = self._paired(away, room, fold, out)
        if centred <= paired and self._take(centre, on_fold=True):
            marks.places.append(end.along(0.0, strand))
        elif self._take(away.at(start)):
            marks.places.append(end.along(start, strand))
            marks.shut.append(end.stretch(0.0, start, strand))

    def _fold_tip(
        self, strand: Strand, end: FoldEnd, away: Chain, out: float, marks: Marks
    ) -> None:
        """A tip that lies on the fold: its stone, a file along the fold, the pair pushed out."""
        fold = self.field.fold
        assert fold is not None
        centre = onto_fold(fold, away.points[0])
        self._take(centre, on_fold=True)
        if self._take(away.at(out)):
            marks.places.append(end.along(out, strand))
        marks.shut.append(end.stretch(0.0, out, strand))
        middle = chain([onto_fold(fold, away.at(s)) for s in _steps(out)])
        taken = self.ledger.capsules(self.size, middle.points, [centre])
        for low, high in free_parts(middle, taken):
            part = middle.part(low, high)
            for along in even_chords(part, self.pitch)[1 if low == 0.0 else 0 :]:
                self._take(part.at(along), on_fold=True)

    def _paired(self, away: Chain, room: float, fold: Fold, out: float) -> tuple[float, float]:
        """The even pitch if the first stone stands half of it from the fold, and where it stands."""
        pitch, start = self.pitch, out
        for _ in range(8):
            pitch = even_pitch(away.part(start, room), self.pitch) if room - start > 1e-6 else pitch
            found = first_reach(
                lambda s: abs(side_of(fold, away.at(s))), max(pitch / 2.0, self.band), room
            )
            if found is None:
                return math.inf, out
            if abs(found - start) < 1e-7:
                break
            start = found
        return pitch, start

    def step_into_points(self, small: Size) -> None:
        """A smaller stone in each sharp point, as far in as it fits."""
        for strand in strands(self.field, small, self.gap):
            for corner in strand.corners:
                at = strand.at(corner.along_mm)
                near = any(math.dist(at, tip) <= _POINT_MM for tip in self.sharp)
                fold = self.field.fold
                band = (small.width_mm + self.gap) / 2.0 + SPARE_MM
                off_fold = fold is None or abs(side_of(fold, at)) >= band
                if corner.turn_deg > 0.0 and near and off_fold and self.ledger.is_free(at, small):
                    self.ledger.add(Seat(*at, small))


def _steps(length: float) -> list[float]:
    count = max(2, math.ceil(length / 0.5))
    return [length * k / count for k in range(count + 1)]


def _between(a: Point, b: Point) -> Point:
    return ((a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0)


def _angle_to_fold(fold: Fold, away: Chain) -> float:
    """The angle in degrees between a line leaving the fold and the fold, at most 90 or beyond."""
    (x0, y0), (x1, y1) = away.points[0], away.at(min(0.5, away.length_mm))
    ax, ay = x1 - x0, y1 - y0
    fx, fy = fold.end[0] - fold.start[0], fold.end[1] - fold.start[1]
    return math.degrees(
        math.acos(min(1.0, abs(ax * fx + ay * fy) / (math.hypot(ax, ay) * math.hypot(fx, fy))))
    )
