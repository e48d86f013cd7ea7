"""The cloth beyond a corner: how the allowances of two edges meet.

All turns are those of an outline with its inside on the left, so cloth is added on the right and
only a corner that turns left (a convex one) leaves a wedge to be filled.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from templater.model.curves import Arc, Line, Point

Corner = Literal["mitre", "square", "bevel", "folded", "round"]

_SPARE_MM = 1e-3

CORNER_TURN_RAD = math.radians(30.0)
"""From this turn on a joint is a corner (design: a corner turns by 30° or more)."""


@dataclass(frozen=True, slots=True)
class Joint:
    """Where two edges meet: unit directions arriving and leaving, and the allowances of both."""

    at: Point
    arriving: Point
    leaving: Point
    before_mm: float
    after_mm: float

    @property
    def turn_rad(self) -> float:
        """The turn from arriving to leaving, in (−π, π]; positive at a convex corner."""
        (ax, ay), (bx, by) = self.arriving, self.leaving
        return math.atan2(ax * by - ay * bx, ax * bx + ay * by)

    @property
    def first(self) -> Point:
        """Where the allowance of the arriving edge ends."""
        return beside(self.at, self.arriving, self.before_mm)

    @property
    def last(self) -> Point:
        """Where the allowance of the leaving edge begins."""
        return beside(self.at, self.leaving, self.after_mm)


@dataclass(frozen=True, slots=True)
class Wedge:
    """What a corner adds: the line from one allowance to the other. `cut`: what it takes away."""

    outer: tuple[Line | Arc, ...]
    cut: tuple[Point, ...] = ()


def beside(at: Point, direction: Point, width_mm: float) -> Point:
    """The point `width_mm` to the right of a direction."""
    return (at[0] + width_mm * direction[1], at[1] - width_mm * direction[0])


def wedge(joint: Joint, corner: Corner, mitre_limit: float) -> Wedge | None:
    """The wedge beyond a convex joint, or None where there is none.

    Below 30° a joint is no corner: equal allowances are mitred there (the tip is as good as
    round), and unequal ones change in a step square to the edge.
    """
    turn = joint.turn_rad
    widest = max(joint.before_mm, joint.after_mm)
    if turn <= 0.0 or widest <= 0.0 or min(joint.before_mm, joint.after_mm) < 0.0:
        return None
    if corner == "round":
        return _round(joint, turn, widest)
    if turn < CORNER_TURN_RAD:
        if joint.before_mm != joint.after_mm:
            return _through(joint)
        return _trimmed(joint, turn, math.inf)
    match corner:
        case "bevel":
            return _through(joint)
        case "square":
            return _trimmed(joint, turn, widest)
        case "folded":
            folded = _folded(joint, turn, mitre_limit * widest)
            return folded or _trimmed(joint, turn, _mitre_reach_mm(joint, mitre_limit))
        case _:
            return _trimmed(joint, turn, _mitre_reach_mm(joint, mitre_limit))


def _mitre_reach_mm(joint: Joint, mitre_limit: float) -> float:
    """So many times the mean of both allowances: of a sharp tip of θ the mitre is about the mean by
    sin(θ/2) long, however the sum is shared, so that all tips of one angle are trimmed alike.
    """
    return mitre_limit * (joint.before_mm + joint.after_mm) / 2.0


def _through(joint: Joint, *between: Point) -> Wedge:
    return Wedge(_lines(joint.first, *between, joint.last))


def _round(joint: Joint, turn: float, widest: float) -> Wedge | None:
    if min(joint.before_mm, joint.after_mm) == 0.0:
        return _quarter(joint, turn, widest)
    first = beside(joint.at, joint.arriving, widest)
    last = beside(joint.at, joint.leaving, widest)
    return Wedge((Arc(first, last, math.tan(turn / 4.0)),))


def _quarter(joint: Joint, turn: float, width_mm: float) -> Wedge | None:
    """A round end that stops at the line of the edge without allowance, as if that ran on."""
    sweep = turn - math.pi / 2.0
    if sweep <= 0.0:
        return _trimmed(joint, turn, math.inf)
    bulge = math.tan(sweep / 4.0)
    (x, y), (ax, ay), (bx, by) = joint.at, joint.arriving, joint.leaving
    if joint.after_mm == 0.0:
        stop = (x - width_mm * bx, y - width_mm * by)
        return Wedge((Arc(joint.first, stop, bulge), Line(stop, joint.at)))
    stop = (x + width_mm * ax, y + width_mm * ay)
    return Wedge((Line(joint.at, stop), Arc(stop, joint.last, bulge)))


def _tip(joint: Joint, turn: float) -> Point | None:
    """Where the two allowance lines cross: at a/sin(θ/2) from the corner for equal widths."""
    sine = math.sin(turn)
    if abs(sine) < 1e-9:
        return None
    # From `first` along `arriving`: the crossing with the line through `last` along `leaving`.
    ahead = (joint.after_mm - joint.before_mm * math.cos(turn)) / sine
    x, y = joint.first
    return (x + ahead * joint.arriving[0], y + ahead * joint.arriving[1])


def _trimmed(joint: Joint, turn: float, reach_mm: float) -> Wedge:
    """The mitre, cut square across its length at `reach_mm` from the corner if it is longer."""
    tip = _tip(joint, turn)
    if tip is not None and math.dist(tip, joint.at) <= reach_mm * (1.0 + 1e-12):
        return _meeting(joint, tip, turn)
    ux, uy = _outward(joint, tip)
    cx, cy = joint.at

    def cut_at(start: Point, direction: Point) -> Point | None:
        speed = direction[0] * ux + direction[1] * uy
        depth = reach_mm - ((start[0] - cx) * ux + (start[1] - cy) * uy)
        if depth <= 0.0 or speed <= 1e-12:
            return None
        return (start[0] + direction[0] * depth / speed, start[1] + direction[1] * depth / speed)

    back = (-joint.leaving[0], -joint.leaving[1])
    cuts = (cut_at(joint.first, joint.arriving), cut_at(joint.last, back))
    return _through(joint, *(point for point in cuts if point is not None))


def _meeting(joint: Joint, tip: Point, turn: float) -> Wedge:
    """Both cut lines run on to their crossing. Where one allowance is so wide that this lies beside
    its own edge, its end is cut off along the other's line, if that takes no more than its width.
    """
    (fx, fy), (lx, ly) = joint.first, joint.last
    (ax, ay), (bx, by) = joint.arriving, joint.leaving
    before = (tip[0] - fx) * ax + (tip[1] - fy) * ay
    after = (lx - tip[0]) * bx + (ly - tip[1]) * by
    if min(before, after) >= -1e-9:
        return _through(joint, tip)
    if -min(before, after) > max(joint.before_mm, joint.after_mm) or turn < CORNER_TURN_RAD:
        return _through(joint)
    # Where the narrower line crosses the wall at the end of the wider allowance.
    cosine = math.cos(turn)
    if after < 0.0:
        wall = beside(joint.at, joint.leaving, joint.before_mm / cosine)
        return Wedge(_lines(joint.first, wall), _cut_off(wall, joint.last, tip, joint.leaving))
    wall = beside(joint.at, joint.arriving, joint.after_mm / cosine)
    return Wedge(_lines(wall, joint.last), _cut_off(wall, joint.first, tip, (-ax, -ay)))


def _lines(*points: Point) -> tuple[Line, ...]:
    return tuple(Line(a, b) for a, b in pairwise(points) if a != b)


def _cut_off(wall: Point, end: Point, tip: Point, into: Point) -> tuple[Point, ...]:
    """What is cut off an allowance's end along the line from its wall to `tip`: all that lies beyond
    it, with some to spare where a curved allowance reaches out of the corner between them.
    """
    far_end = (2.0 * end[0] - wall[0], 2.0 * end[1] - wall[1])
    far_tip = (2.0 * tip[0] - wall[0], 2.0 * tip[1] - wall[1])
    dx, dy = _SPARE_MM * into[0], _SPARE_MM * into[1]
    return (wall, (wall[0] - dx, wall[1] - dy), (far_end[0] - dx, far_end[1] - dy), far_tip)


def _outward(joint: Joint, tip: Point | None) -> Point:
    """The direction from the corner to the tip of its mitre; straight on for a needle."""
    if tip is not None:
        dx, dy = tip[0] - joint.at[0], tip[1] - joint.at[1]
    else:
        dx, dy = joint.arriving[0] - joint.leaving[0], joint.arriving[1] - joint.leaving[1]
    length = math.hypot(dx, dy)
    return (dx / length, dy / length) if length > 0.0 else joint.arriving


def _folded(joint: Joint, turn: float, reach_mm: float) -> Wedge | None:
    """The wider allowance ends in the mirror image of the other's cut line.

    Turned under about its own edge it then lies exactly beneath the other allowance, and both are
    caught in one seam: how a hem's end is drafted (common practice). Of equal allowances the
    arriving edge is turned first. None where that would reach farther than `reach_mm`.
    """
    sine, cosine = math.sin(turn), math.cos(turn)
    if joint.before_mm < joint.after_mm:
        turned = _folded(_flipped(joint), turn, reach_mm)
        return None if turned is None else _flipped_back(joint, turned)
    if sine < 1e-3 or joint.before_mm <= 0.0:
        return None
    (cx, cy), (ax, ay) = joint.at, joint.arriving
    out = (ay, -ax)  # to the right of the arriving edge
    hinge_ahead = joint.after_mm / sine
    end_ahead = hinge_ahead + joint.before_mm * cosine / sine
    if max(hinge_ahead, abs(end_ahead)) > reach_mm:
        return None

    def place(ahead: float, beyond: float) -> Point:
        return (cx + ahead * ax + beyond * out[0], cy + ahead * ay + beyond * out[1])

    hinge, end = place(hinge_ahead, 0.0), place(end_ahead, joint.before_mm)
    if end_ahead >= -1e-9 and cosine > 0.0:
        # The other allowance runs on past the hinge: its own cut line goes on from there.
        return Wedge(_lines(joint.first, end, hinge))
    if end_ahead >= -1e-9:
        return _through(joint, end, hinge)
    # The slanting end cuts back into the edge's own allowance.
    share = hinge_ahead / (hinge_ahead - end_ahead)
    crossing = place(0.0, share * joint.before_mm)
    cut = _cut_off(crossing, joint.first, end, (-ax, -ay))
    return Wedge(_lines(crossing, hinge, joint.last), cut)


def _flipped_back(joint: Joint, turned: Wedge) -> Wedge:
    """The wedge of the flipped joint on this one; ends shared with the strips are theirs exactly."""
    flipped = _flipped(joint)
    exact = {flipped.first: joint.last, flipped.last: joint.first, joint.at: joint.at}

    def back(point: Point) -> Point:
        return exact.get(point) or _flip(joint, point)

    outer = tuple(Line(back(line.end), back(line.start)) for line in reversed(turned.outer))
    return Wedge(outer, tuple(back(point) for point in reversed(turned.cut)))


def _flip(joint: Joint, point: Point) -> Point:
    """Mirrored about the corner's own bisector, which swaps its two edges."""
    mx, my = joint.arriving[0] - joint.leaving[0], joint.arriving[1] - joint.leaving[1]
    length = math.hypot(mx, my)
    ux, uy = mx / length, my / length
    dx, dy = point[0] - joint.at[0], point[1] - joint.at[1]
    along = dx * ux + dy * uy
    return (joint.at[0] + 2.0 * along * ux - dx, joint.at[1] + 2.0 * along * uy - dy)


def _flipped(joint: Joint) -> Joint:
    return Joint(joint.at, joint.arriving, joint.leaving, joint.after_mm, joint.before_mm)
