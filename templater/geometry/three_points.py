"""Three points of an outline by which a thing can be laid on it again, and only one way."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import combinations

from templater.geometry.walk import tape_along
from templater.model.curves import Box, Path, Point

UNLIKE_MM = 6.0
"""By so much the three distances differ at least, so that no turn or flip of the triangle fits."""
CORNER_RAD = math.radians(30.0)
_EVENLY = 28
_CORNERS = 12
_CORNER_WORTH = 1.25
_LEAST_MM = 15.0


def three_points(outline: Path, box: Box) -> tuple[float, float, float] | None:
    """Where along a closed outline three points lie, inside the box, far from each other and from
    one line, corners (a turn of 30° or more) before points along a curve: the triangle of most area,
    15 mm high at least, or None. The distances between them differ by 6 mm or, where none do, as much as can be.
    """
    tape = tape_along(outline)
    corners = list(tape.corners(CORNER_RAD))
    (x, y), (x1, y1) = tape.at(tape.length_mm)[1], tape.at(0.0)[1]
    if abs(math.atan2(x * y1 - y * x1, x * x1 + y * y1)) >= CORNER_RAD:
        corners.insert(0, 0.0)
    corners = corners[:: 1 + len(corners) // _CORNERS]
    evenly = [tape.length_mm * (k + 0.5) / _EVENLY for k in range(_EVENLY)]
    places = [(along, _CORNER_WORTH) for along in corners]
    places += [(a, 1.0) for a in evenly if all(abs(a - c) > _LEAST_MM / 2.0 for c in corners)]
    x0, y0, x1, y1 = box
    inside = [
        (along, worth, (x, y))
        for along, worth in places
        for x, y in (tape.at(along)[0],)
        if x0 <= x <= x1 and y0 <= y <= y1
    ]
    best: tuple[tuple[bool, float, float], tuple[float, float, float]] | None = None
    for first, second, third in combinations(inside, 3):
        points = (first[2], second[2], third[2])
        height, area, unlike = _spread(points)
        if height < _LEAST_MM:
            continue
        worth = area * first[1] * second[1] * third[1]
        is_unlike = unlike >= UNLIKE_MM
        key = (is_unlike, round(worth if is_unlike else unlike, 3), -first[0])
        if best is None or key > best[0]:
            best = (key, (first[0], second[0], third[0]))
    return None if best is None else best[1]


def _spread(points: Sequence[Point]) -> tuple[float, float, float]:
    """The triangle's least height, its area, and by how much its sides differ at least."""
    a, b, c = points
    sides = sorted((math.dist(a, b), math.dist(b, c), math.dist(c, a)))
    twice = abs((b[0] - a[0]) * (c[1] - a[1]) - (c[0] - a[0]) * (b[1] - a[1]))
    return twice / max(sides[2], 1e-9), twice / 2.0, min(sides[1] - sides[0], sides[2] - sides[1])
