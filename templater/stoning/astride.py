"""Corners that stick into a zone: a stone on the corner, or a pair astride it where the row is tighter.

A stone there touches the corner's point alone; a pair touches both sides. Imported late.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from templater.geometry.chains import even_pitch
from templater.model.curves import Point
from templater.stoning.corners import Corner
from templater.stoning.strands import Marks, Span, Strand, first_reach, spans_between

_LOOSE = 1.03
"""Openings of a row up to this many pitches are left as they are."""


class Pair(NamedTuple):
    """The place of an inner corner, and those of the two stones astride it, along a strand."""

    corner_mm: float
    before_mm: float
    after_mm: float


def pairs_astride(
    strand: Strand, marks: Marks, pitch_mm: float, across: Sequence[Point]
) -> list[Pair]:
    """Inner corners whose stone opens the row beside it, where a pair a pitch apart opens it less.

    A corner that faces another zone's stone (`across`), or whose row runs on to another inner
    corner, keeps its stone: so each is judged by itself.
    """
    inner = [
        corner
        for corner in strand.corners
        if corner.turn_deg < 0.0 and corner.along_mm in marks.places
    ]
    found = []
    for corner in inner:
        at = strand.at(corner.along_mm)
        others = [strand.at(other.along_mm) for other in inner if other is not corner]
        beside = _beside(strand, marks, [at])
        if any(
            end in others for span in beside for end in (span.line.points[0], span.line.points[-1])
        ):
            continue
        if any(math.dist(at, place) <= pitch_mm for place in across):
            continue
        pinned = _opening(beside, pitch_mm)
        pair = _pair(strand, corner, pitch_mm)
        if pair is None or pinned <= _LOOSE * pitch_mm:
            continue
        ends = [strand.at(pair.before_mm), strand.at(pair.after_mm)]
        places = [place for place in marks.places if place != corner.along_mm]
        trial = Marks([*places, pair.before_mm, pair.after_mm], marks.tips, marks.shut)
        if _opening(_beside(strand, trial, ends), pitch_mm) <= pinned - (_LOOSE - 1.0) * pitch_mm:
            found.append(pair)
    return found


def _pair(strand: Strand, corner: Corner, pitch_mm: float) -> Pair | None:
    """Two places a pitch apart, as far along before the corner as after it; none near a strand's end."""
    if not strand.closed and not pitch_mm < corner.along_mm < strand.line.length_mm - pitch_mm:
        return None
    out = first_reach(strand.width_at(corner.along_mm), pitch_mm, pitch_mm)
    if out is None:
        return None
    return Pair(
        corner.along_mm,
        strand.along(corner.along_mm - out),
        strand.along(corner.along_mm + out),
    )


def _beside(strand: Strand, marks: Marks, ends: Sequence[Point]) -> list[Span]:
    """The spans that begin or end at one of the points and at no other of them."""
    return [
        span
        for span in spans_between(strand, marks)
        if (span.line.points[0] in ends) != (span.line.points[-1] in ends)
    ]


def _opening(spans: Sequence[Span], pitch_mm: float) -> float:
    """How far apart stones come to stand in the spans, at most."""
    widest = 0.0
    for span in spans:
        pitch = even_pitch(span.line, pitch_mm)
        ends = math.dist(span.line.points[0], span.line.points[-1])
        widest = max(widest, pitch if math.isfinite(pitch) else ends)
    return widest
