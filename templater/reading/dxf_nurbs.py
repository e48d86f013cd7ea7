"""B-splines, weighted or not, as Béziers: exactly where they are cubic, else within 1e-5 mm.

The curve is split at its knots into Bézier pieces (points with weights) by its polar form
(L. Ramshaw, Blossoming, 1987). Pieces of degree up to three without weights are raised to cubics
exactly; others are cut until a cubic with their ends and end derivatives keeps within the
tolerance.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from templater.model.curves import Cubic, Line, Point, Segment

Weighted = tuple[float, float, float]
"""x·w, y·w, w."""
_TOLERANCE_MM = 1e-5
_MOST_CUTS = 14
_SAME_KNOT = 1e-10


class BadSpline(ValueError):
    """A spline whose numbers do not describe a curve."""


def spline_segments(
    points: Sequence[Point],
    degree: int,
    knots: Sequence[float],
    weights: Sequence[float] = (),
) -> tuple[Segment, ...]:
    """The curve over its whole parameter range, points in mm.

    Raises BadSpline where the counts do not agree, knots decrease, or a weight is not positive.
    """
    count = len(points)
    if degree < 1 or count < degree + 1:
        raise BadSpline(f"it has {count} control points, too few for degree {degree}")
    if len(knots) != count + degree + 1:
        raise BadSpline(f"it has {len(knots)} knots, not {count + degree + 1}")
    if any(b < a for a, b in pairwise(knots)):
        raise BadSpline("its knots do not rise")
    if weights and (len(weights) != count or any(not w > 0.0 for w in weights)):
        raise BadSpline("its weights are not one positive number for each control point")
    knots = _settled(knots)
    rational = bool(weights) and max(weights) - min(weights) > 1e-12 * max(weights)
    each = weights if rational else (1.0,) * count
    lifted = [(x * w, y * w, w) for (x, y), w in zip(points, each, strict=True)]
    segments: list[Segment] = []
    for piece in bezier_pieces(lifted, degree, list(knots)):
        if rational or degree > 3:
            segments.extend(_fitted(piece, _MOST_CUTS))
        else:
            segments.append(_raised([(x, y) for x, y, _ in piece]))
    # a joint is one point, whichever side it was computed from
    return tuple(_linked(segments))


def _settled(knots: Sequence[float]) -> list[float]:
    """Knots that differ by a rounding error are one knot: no piece of the curve lies between."""
    hair = _SAME_KNOT * (knots[-1] - knots[0])
    settled: list[float] = []
    for knot in knots:
        settled.append(settled[-1] if settled and knot - settled[-1] <= hair else knot)
    return settled


def bezier_pieces(
    points: Sequence[Weighted], degree: int, knots: Sequence[float]
) -> list[tuple[Weighted, ...]]:
    """The Bézier pieces of a B-spline between its distinct knots.

    A piece's point j is the polar form at (degree − j) times the lower and j times the upper knot.
    """
    pieces = []
    for k in range(degree, len(points)):
        low, high = knots[k], knots[k + 1]
        if high > low:
            local = points[k - degree : k + 1]
            pieces.append(
                tuple(
                    _polar(local, knots, k, [low] * (degree - j) + [high] * j)
                    for j in range(degree + 1)
                )
            )
    if not pieces:
        raise BadSpline("its knots span nothing")
    return pieces


def _polar(
    local: Sequence[Weighted], knots: Sequence[float], k: int, at: Sequence[float]
) -> Weighted:
    """The polar form of the curve's piece over knots[k], knots[k + 1], by de Boor's triangle."""
    degree = len(at)
    row = list(local)
    for r in range(1, degree + 1):
        for j in range(degree, r - 1, -1):
            i = k - degree + j
            a = (at[r - 1] - knots[i]) / (knots[i + degree - r + 1] - knots[i])
            row[j] = _mixed(row[j - 1], row[j], a)
    return row[degree]


def _raised(points: Sequence[Point]) -> Segment:
    """A Bézier of degree one to three as a line or an exact cubic."""
    match points:
        case [a, b]:
            return Line(a, b)
        case [a, b, c]:
            return Cubic(a, _between(a, b, 2.0 / 3.0), _between(c, b, 2.0 / 3.0), c)
        case [a, b, c, d]:
            return Cubic(a, b, c, d)
        case _:
            raise BadSpline("a piece of this degree cannot be raised")


def _between(a: Point, b: Point, t: float) -> Point:
    return (a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1]))


def _fitted(piece: tuple[Weighted, ...], cuts: int) -> list[Segment]:
    cubic = _with_same_ends(piece)
    if cuts == 0 or _error(piece, cubic) <= _TOLERANCE_MM / 2.0:
        return [cubic]
    left, right = _halves(piece)
    return [*_fitted(left, cuts - 1), *_fitted(right, cuts - 1)]


def _with_same_ends(piece: tuple[Weighted, ...]) -> Cubic:
    """The cubic with the ends and the end derivatives of a weighted Bézier on [0, 1]."""
    degree = len(piece) - 1
    start, end = _flat(piece[0]), _flat(piece[-1])
    # derivative at 0: degree · (w1/w0) · (P1 − P0)
    a = degree * piece[1][2] / piece[0][2] / 3.0
    b = degree * piece[-2][2] / piece[-1][2] / 3.0
    second, before = _flat(piece[1]), _flat(piece[-2])
    return Cubic(start, _between(start, second, a), _between(end, before, b), end)


def _flat(point: Weighted) -> Point:
    return (point[0] / point[2], point[1] / point[2])


def _error(piece: tuple[Weighted, ...], cubic: Cubic) -> float:
    """The largest distance at equal parameters, which bounds the distance of the curves."""
    controls = [(x, y, 1.0) for x, y in (cubic.start, cubic.control1, cubic.control2, cubic.end)]
    worst = 0.0
    for k in range(1, 16):
        t = k / 16.0
        worst = max(worst, math.dist(_flat(_value(piece, t)), _flat(_value(controls, t))))
    return worst


def _value(piece: Sequence[Weighted], t: float) -> Weighted:
    row = list(piece)
    while len(row) > 1:
        row = [_mixed(a, b, t) for a, b in pairwise(row)]
    return row[0]


def _mixed(a: Weighted, b: Weighted, t: float) -> Weighted:
    return (a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1]), a[2] + t * (b[2] - a[2]))


def _halves(piece: tuple[Weighted, ...]) -> tuple[tuple[Weighted, ...], tuple[Weighted, ...]]:
    row = list(piece)
    left, right = [row[0]], [row[-1]]
    while len(row) > 1:
        row = [_mixed(a, b, 0.5) for a, b in pairwise(row)]
        left.append(row[0])
        right.append(row[-1])
    return tuple(left), tuple(reversed(right))


def _linked(segments: Sequence[Segment]) -> list[Segment]:
    linked: list[Segment] = []
    for segment in segments:
        start = linked[-1].end if linked else segment.start
        if isinstance(segment, Cubic):
            linked.append(Cubic(start, segment.control1, segment.control2, segment.end))
        else:
            linked.append(Line(start, segment.end))
    return linked
