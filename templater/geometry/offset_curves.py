"""An outline taken apart for offsetting: every edge's strip, every corner's wedge, as curves.

Each curve is a line or an arc known exactly, and knows whether it stands for a Bézier.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from templater.geometry.flatten import arc_centre, flatten
from templater.geometry.offset_corners import Corner, Joint, beside, wedge
from templater.geometry.smooth import arcs_of_segment, end_direction, start_direction
from templater.model.curves import Arc, Cubic, Line, Path, Point, Ring

_SMOOTH_RAD = 1e-4
"""Below this turn a joint counts as smooth: 12 mm of allowance move by 0.0006 mm."""

Band = tuple[Path, float]
"""An open path and the width of cloth to its right, in mm."""


@dataclass(frozen=True, slots=True)
class Curve:
    """A line or arc of the result's making. `bend`: the number of its Bézier, −1 for none."""

    segment: Line | Arc
    bend: int = -1
    wall: bool = False


@dataclass(frozen=True, slots=True)
class Bend:
    """A Bézier of the source and the allowance beside it."""

    cubic: Cubic
    width_mm: float


@dataclass(frozen=True, slots=True)
class Piecework:
    """The source, the strips that are added to it and those that are taken off, as polygons over
    `curves`. `cuts` are taken from the strips first, `taken_cuts` from those taken off.
    """

    curves: tuple[Curve, ...]
    bends: tuple[Bend, ...]
    source: tuple[Ring, ...]
    strips: tuple[Ring, ...]
    cuts: tuple[Ring, ...]
    taken: tuple[Ring, ...] = ()
    taken_cuts: tuple[Ring, ...] = ()


@dataclass(frozen=True, slots=True)
class _Step:
    segment: Line | Arc
    width_mm: float
    bend: int
    arriving: Point
    leaving: Point


def piecework(
    rings: Sequence[Sequence[Band]],
    corner: Corner,
    mitre_limit: float,
    fit_mm: float,
    flat_mm: float,
) -> Piecework:
    """Takes rings of bands apart. Béziers become arcs within `fit_mm`, points are `flat_mm` apart.

    Segments shorter than 1e-9 mm are left out.
    """
    curves: list[Curve] = []
    source: list[Ring] = []
    strips: list[Ring] = []
    cuts: list[Ring] = []
    bends: list[Bend] = []
    for ring in rings:
        steps = _steps(ring, fit_mm, bends)
        if len(steps) < 2:
            continue
        points: list[Point] = []
        for step in steps:
            curves.append(Curve(step.segment, step.bend))
            points.extend(_points(step.segment, flat_mm)[:-1])
        source.append(tuple(points))
        strips.extend(_strip(step, curves, flat_mm) for step in steps if step.width_mm > 0.0)
        for before, after in zip(steps, (*steps[1:], steps[0]), strict=True):
            joint = Joint(
                before.segment.end, before.leaving, after.arriving, before.width_mm, after.width_mm
            )
            found = wedge(joint, corner, mitre_limit)
            if found is None:
                continue
            if found.cut:
                cuts.append(found.cut)
                around = (*found.cut, found.cut[0])
                curves.extend(Curve(Line(a, b), wall=True) for a, b in pairwise(around))
            if not found.outer:
                continue
            curves.extend(Curve(line) for line in found.outer)
            curves.append(Curve(Line(joint.at, found.outer[0].start), wall=True))
            curves.append(Curve(Line(joint.at, found.outer[-1].end), wall=True))
            outer = [found.outer[0].start]
            for line in found.outer:
                outer.extend(_points(line, flat_mm)[1:])
            strips.append((joint.at, *outer))
    return Piecework(tuple(curves), tuple(bends), tuple(source), tuple(strips), tuple(cuts))


def inwards(work: Piecework) -> Piecework:
    """The piecework of rings run the other way: its strips lie inside and are taken off."""
    return replace(work, strips=(), cuts=(), taken=work.strips, taken_cuts=work.cuts)


def both_ways(added: Piecework, taken: Piecework) -> Piecework:
    """What is added along a ring and what is taken off along the same ring run the other way."""
    curves, bends = together((added, taken))
    return replace(added, curves=curves, bends=bends, taken=taken.strips, taken_cuts=taken.cuts)


def together(works: Sequence[Piecework]) -> tuple[tuple[Curve, ...], tuple[Bend, ...]]:
    """All curves of several pieceworks, numbered through, and all their Béziers."""
    curves: list[Curve] = []
    bends: list[Bend] = []
    for work in works:
        shift = len(bends)
        curves.extend(
            replace(curve, bend=curve.bend + shift) if curve.bend >= 0 else curve
            for curve in work.curves
        )
        bends.extend(work.bends)
    return tuple(curves), tuple(bends)


def _steps(ring: Sequence[Band], fit_mm: float, bends: list[Bend]) -> list[_Step]:
    found: list[tuple[Line | Arc, float, int]] = []
    for path, width in ring:
        for segment in path.segments:
            bend = -1
            if isinstance(segment, Cubic):
                bend = len(bends)
                bends.append(Bend(segment, width))
            found.extend(
                (part, width, bend)
                for part in arcs_of_segment(segment, fit_mm)
                if math.dist(part.start, part.end) > 1e-9
            )
    found = _joined(found)
    count = len(found)
    arriving = [start_direction(part) for part, _, _ in found]
    leaving = [end_direction(part) for part, _, _ in found]
    for i in range(count):
        j = (i + 1) % count
        (ax, ay), (bx, by) = leaving[i], arriving[j]
        if abs(math.atan2(ax * by - ay * bx, ax * bx + ay * by)) < _SMOOTH_RAD:
            length = math.hypot(ax + bx, ay + by)
            leaving[i] = arriving[j] = ((ax + bx) / length, (ay + by) / length)
    return [
        _Step(part, width, bend, arriving[i], leaving[i])
        for i, (part, width, bend) in enumerate(found)
    ]


def _joined(found: list[tuple[Line | Arc, float, int]]) -> list[tuple[Line | Arc, float, int]]:
    """Each end put exactly on the next start, so that neighbours share their points to the bit."""
    result = []
    for i, (part, width, bend) in enumerate(found):
        end = found[(i + 1) % len(found)][0].start
        moved: Line | Arc
        if isinstance(part, Arc):
            moved = Arc(part.start, end, part.bulge)
        else:
            moved = Line(part.start, end)
        result.append((moved, width, bend))
    return result


def _points(segment: Line | Arc, flat_mm: float) -> list[Point]:
    return list(flatten(Path((segment,), closed=False), flat_mm))


def _strip(step: _Step, curves: list[Curve], flat_mm: float) -> Ring:
    """The cloth beside one segment. An arc bending outwards more tightly than that is a pie."""
    segment, width = step.segment, step.width_mm
    first = beside(segment.start, step.arriving, width)
    last = beside(segment.end, step.leaving, width)
    inner = _points(segment, flat_mm)
    outer: Line | Arc = Line(first, last)
    if isinstance(segment, Arc):
        centre, radius, _ = arc_centre(segment)
        if segment.bulge < 0.0 and radius - width <= 1e-6:
            curves.append(Curve(Line(segment.start, centre), wall=True))
            curves.append(Curve(Line(segment.end, centre), wall=True))
            return (*inner, centre)
        outer = Arc(first, last, segment.bulge)
    curves.append(Curve(outer, step.bend))
    curves.append(Curve(Line(segment.start, first), wall=True))
    curves.append(Curve(Line(segment.end, last), wall=True))
    return (*inner, *reversed(_points(outer, flat_mm)))
