"""Distances from straight bits, insides of rings, and which stretches of lines are free.

A capsule is every point nearer than a radius to a straight bit: where a stone's centre may not lie.
Uses numpy inside functions; imported by rooms that are imported late themselves.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from templater.model.curves import Point, Ring

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

_FEW_PAIRS = 2000
"""Fewer pairs than this are all looked at: a tree would cost more."""
TOUCH_MM = 1e-7
"""Nearer than this to a capsule's rim counts as touching, not as inside."""


def point_to_segment(at: Point, start: Point, end: Point) -> float:
    """Distance in mm from a point to a straight bit, which may be a single point."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    px, py = at[0] - start[0], at[1] - start[1]
    squared = dx * dx + dy * dy
    t = 0.0 if squared == 0.0 else min(1.0, max(0.0, (px * dx + py * dy) / squared))
    return math.hypot(px - t * dx, py - t * dy)


def inside_rings(at: Point, rings: Iterable[Ring]) -> bool:
    """Whether a point lies inside by the even-odd rule."""
    x, y = at
    inside = False
    for ring in rings:
        x0, y0 = ring[-1]
        for x1, y1 in ring:
            if (y0 > y) != (y1 > y) and x < x0 + (y - y0) * (x1 - x0) / (y1 - y0):
                inside = not inside
            x0, y0 = x1, y1
    return inside


def all_inside(points: Floats, rings: Sequence[Ring]) -> NDArray[np.bool_]:
    """Whether each of a few points (n, 2) lies inside large rings by the even-odd rule."""
    import numpy as np

    inside = np.zeros(len(points), dtype=bool)
    for ring in rings:
        corners = np.array(ring)
        x0, y0 = np.roll(corners, 1, axis=0).T
        x1, y1 = corners.T
        level = np.where(y1 == y0, 1.0, y1 - y0)
        for k, (x, y) in enumerate(points.tolist()):
            crosses = (y0 > y) != (y1 > y)
            hits = crosses & (x < x0 + (y - y0) * (x1 - x0) / level)
            inside[k] ^= bool(hits.sum() & 1)
    return inside


def free_stretches(lines: Floats, capsules: Floats) -> tuple[Floats, NDArray[np.int64]]:
    """The stretches of straight lines outside every capsule.

    lines: (n, 4) x0 y0 x1 y1. capsules: (m, 5) x0 y0 x1 y1 radius. Gives (k, 4) stretches in the
    order of the lines and along them, and for each the index of its line. A line that only touches
    a capsule is free.
    """
    import numpy as np
    from shapely import STRtree, box

    if len(lines) == 0:
        return np.zeros((0, 4)), np.zeros(0, dtype=np.int64)
    at, to = _near(lines, capsules, STRtree, box)
    low, high = _shut(lines[at], capsules[to])
    shut = high > low
    at, low, high = at[shut], low[shut], high[shut]
    order = np.lexsort((low, at))
    at, low, high = at[order], low[order], high[order]
    untouched = np.ones(len(lines), dtype=bool)
    untouched[at] = False
    starts: list[float] = []
    stops: list[float] = []
    owners: list[int] = []
    touched, first = np.unique(at, return_index=True)
    bounds = [*first.tolist(), len(at)]
    lows, highs = low.tolist(), high.tolist()
    for k, index in enumerate(touched.tolist()):
        done = 0.0
        for start, stop in (
            *zip(lows[bounds[k] : bounds[k + 1]], highs[bounds[k] : bounds[k + 1]], strict=True),
            (1.0, 1.0),
        ):
            if start > done:
                starts.append(done)
                stops.append(start)
                owners.append(index)
            done = max(done, stop)
    whole = np.flatnonzero(untouched)
    from_t = np.concatenate((np.zeros(len(whole)), np.array(starts)))
    to_t = np.concatenate((np.ones(len(whole)), np.array(stops)))
    owner = np.concatenate((whole, np.array(owners, dtype=np.int64))).astype(np.int64)
    order = np.lexsort((from_t, owner))
    from_t, to_t, owner = from_t[order], to_t[order], owner[order]
    begin, step = lines[owner, 0:2], lines[owner, 2:4] - lines[owner, 0:2]
    return np.hstack((begin + from_t[:, None] * step, begin + to_t[:, None] * step)), owner


def _near(
    lines: Floats, capsules: Floats, tree: type, box: object
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Pairs of line and capsule whose boxes meet."""
    import numpy as np

    def boxes(rows: Floats, grow: Floats | float) -> object:
        return box(  # type: ignore[operator]  # shapely ships no types of its own
            np.minimum(rows[:, 0], rows[:, 2]) - grow,
            np.minimum(rows[:, 1], rows[:, 3]) - grow,
            np.maximum(rows[:, 0], rows[:, 2]) + grow,
            np.maximum(rows[:, 1], rows[:, 3]) + grow,
        )

    if len(capsules) == 0:
        return np.zeros(0, dtype=np.int64), np.zeros(0, dtype=np.int64)
    if len(lines) * len(capsules) <= _FEW_PAIRS:
        every = np.arange(len(lines) * len(capsules))
        return every // len(capsules), every % len(capsules)
    pairs = tree(boxes(capsules, capsules[:, 4])).query(boxes(lines, 0.0))
    return pairs[0], pairs[1]


def _shut(lines: Floats, capsules: Floats) -> tuple[Floats, Floats]:
    """For each pair the one interval of t in [0, 1] inside the capsule (a capsule is convex).

    It is the hull of the stretches inside the two end discs and inside the rectangle between.
    """
    import numpy as np

    x0, y0 = lines[:, 0], lines[:, 1]
    ux, uy = lines[:, 2] - x0, lines[:, 3] - y0
    length2 = np.maximum(ux * ux + uy * uy, 1e-30)
    radius = capsules[:, 4] - TOUCH_MM
    low, high = np.full(len(lines), np.inf), np.full(len(lines), -np.inf)
    for cx, cy in ((capsules[:, 0], capsules[:, 1]), (capsules[:, 2], capsules[:, 3])):
        px, py = cx - x0, cy - y0
        middle = (px * ux + py * uy) / length2
        off2 = (px - middle * ux) ** 2 + (py - middle * uy) ** 2
        reach2 = (radius * radius - off2) / length2
        hit = (reach2 > 0.0) & (radius > 0.0)
        half = np.sqrt(np.where(hit, reach2, 0.0))
        low = np.where(hit, np.minimum(low, middle - half), low)
        high = np.where(hit, np.maximum(high, middle + half), high)
    vx, vy = capsules[:, 2] - capsules[:, 0], capsules[:, 3] - capsules[:, 1]
    span = np.sqrt(vx * vx + vy * vy)
    long_enough = span > 0.0
    safe = np.where(long_enough, span, 1.0)
    vx, vy = vx / safe, vy / safe
    px, py = x0 - capsules[:, 0], y0 - capsules[:, 1]
    enter, leave = np.full(len(lines), -np.inf), np.full(len(lines), np.inf)
    for base, step, floor, top in (
        (px * vx + py * vy, ux * vx + uy * vy, np.zeros(len(lines)), span),
        (px * -vy + py * vx, ux * -vy + uy * vx, -radius, radius),
    ):
        still = np.abs(step) < 1e-300
        divisor = np.where(still, 1.0, step)
        first, second = (floor - base) / divisor, (top - base) / divisor
        outside = still & ((base <= floor) | (base >= top))
        enter = np.where(
            outside, np.inf, np.where(still, enter, np.maximum(enter, np.minimum(first, second)))
        )
        leave = np.where(
            outside, -np.inf, np.where(still, leave, np.minimum(leave, np.maximum(first, second)))
        )
    hit = (leave > enter) & long_enough & (radius > 0.0)
    low = np.where(hit, np.minimum(low, enter), low)
    high = np.where(hit, np.maximum(high, leave), high)
    return np.maximum(low, 0.0), np.minimum(high, 1.0)


def depths(points: Floats, capsules: Floats) -> Floats:
    """How deep each point lies inside the capsules (mm, the most over all; below 0: outside)."""
    import numpy as np
    from shapely import STRtree, box

    result = np.full(len(points), -np.inf)
    if len(points) == 0 or len(capsules) == 0:
        return result
    rows = np.concatenate((points, points), axis=1)
    at, to = _near(rows, capsules, STRtree, box)
    start = capsules[to, 0:2]
    along = capsules[to, 2:4] - start
    squared = (along * along).sum(axis=1)
    away = points[at] - start
    t = np.clip((away * along).sum(axis=1) / np.where(squared == 0.0, 1.0, squared), 0.0, 1.0)
    rest = away - t[:, None] * along
    np.maximum.at(result, at, capsules[to, 4] - np.sqrt((rest * rest).sum(axis=1)))
    return result
