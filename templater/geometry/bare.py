"""What a setting leaves bare, and how many stones could lie there at most.

numpy and shapely are imported inside the functions.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from templater.geometry.polygons import differing, without
from templater.model.curves import Point, Ring
from templater.model.stones import Wall

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

    Floats = NDArray[np.float64]

_CHUNK = 500
_MOST_CELLS = 600_000
_MOST_HILLS = 40


def largest_bare_mm(
    rings: Sequence[Ring], discs: Sequence[tuple[float, float, float]], shapes: Sequence[Ring] = ()
) -> float:
    """The diameter of the largest circle inside rings that touches no disc and no convex shape.

    rings: inside by the even-odd rule. discs: x, y, radius. Searched on a grid, then climbed to
    the top to within 0.001 mm: every hill that may be the highest, up to forty.
    """
    import numpy as np
    from shapely import LinearRing, STRtree

    corners = np.array([point for ring in rings for point in ring])
    (x0, y0), (x1, y1) = corners.min(axis=0), corners.max(axis=0)
    smallest = min((r for _, _, r in discs), default=1.0)
    step = max(smallest / 3.0, math.sqrt((x1 - x0) * (y1 - y0) / _MOST_CELLS))
    xs, ys = np.arange(x0 + step / 2, x1, step), np.arange(y0 + step / 2, y1, step)
    if len(xs) == 0 or len(ys) == 0:
        return 0.0
    inside = _inside(xs, ys, rings)
    for shape in shapes:
        low, high = np.array(shape).min(axis=0), np.array(shape).max(axis=0)
        c0, c1 = np.searchsorted(xs, (low[0], high[0]))
        r0, r1 = np.searchsorted(ys, (low[1], high[1]))
        inside[r0:r1, c0:c1] &= ~_inside(xs[c0:c1], ys[r0:r1], [shape])
    room = _room(xs, ys, discs, inside)
    bits = [LinearRing(ring) for ring in (*rings, *shapes)]
    edges = STRtree(_segments(bits))
    order = np.argsort(-room, axis=None, kind="stable")
    # A hill's top lies at most half a cell's diagonal above its highest point of the grid.
    spread, best = 0.71 * step, 0.0
    hills: list[tuple[float, Point]] = []
    for first in range(0, len(order), _CHUNK):
        rows, columns = np.unravel_index(order[first : first + _CHUNK], room.shape)
        if room[rows[0], columns[0]] <= max(best - spread, 0.0):
            break
        points = np.stack((xs[columns], ys[rows]), axis=1)
        both = np.minimum(room[rows, columns], _from_edges(points, edges))
        best = max(best, float(both.max()))
        hills += [
            (float(both[k]), (float(points[k, 0]), float(points[k, 1])))
            for k in np.flatnonzero(both > best - spread).tolist()
        ]
    climbed: list[Point] = []
    columns_of_discs = np.array(discs).reshape(-1, 3)
    for height, at in sorted(hills, reverse=True):
        if height <= best - spread or len(climbed) >= _MOST_HILLS:
            break
        if all(math.dist(at, other) > 3.0 * step for other in climbed):
            climbed.append(at)
            best = max(best, _climbed(at, height, step, columns_of_discs, edges))
    return 2.0 * best


def _segments(rings: Sequence[BaseGeometry]) -> Floats:
    import numpy as np
    from shapely import get_coordinates, linestrings

    parts = []
    for ring in rings:
        points = get_coordinates(ring)
        parts.append(np.stack((points[:-1], points[1:]), axis=1))
    made: Floats = linestrings(np.concatenate(parts))
    return made


def _from_edges(points: Floats, edges: object) -> Floats:
    import numpy as np
    from shapely import points as as_points

    pairs, distances = edges.query_nearest(  # type: ignore[attr-defined]  # shapely has no types
        as_points(points), return_distance=True, all_matches=False
    )
    found = np.full(len(points), np.inf)
    found[pairs[0]] = distances
    return found


def _room(
    xs: Floats,
    ys: Floats,
    discs: Sequence[tuple[float, float, float]],
    inside: NDArray[np.bool_],
) -> Floats:
    """For each point of the grid the distance to the nearest disc's rim, −1 outside."""
    import numpy as np

    from templater.geometry.kernels.compiled import column
    from templater.geometry.kernels.rims import near_rims

    step = float(xs[1] - xs[0]) if len(xs) > 1 else 1.0
    nx, ny = len(xs), len(ys)
    rows = np.array(discs, dtype=float).reshape(-1, 3)
    columns = (column(rows[:, 0]), column(rows[:, 1]), column(rows[:, 2]))
    far = max(float(rows[:, 2].max(initial=1.0)), 2.0 * step)
    longest = math.hypot(float(xs[-1] - xs[0]), float(ys[-1] - ys[0])) + step
    while True:
        flat = column(np.full(nx * ny, far))
        near_rims(*columns, float(xs[0]), float(ys[0]), step, nx, ny, far, flat)
        room: Floats = np.array(flat, dtype=float).reshape(ny, nx)
        room[~inside] = -1.0
        if float(room.max()) < far or far > longest:
            return room
        far *= 2.0


def _inside(xs: Floats, ys: Floats, rings: Sequence[Ring]) -> NDArray[np.bool_]:
    """Which points of the grid lie inside, row by row: crossings to the left, counted."""
    import numpy as np

    flips = np.zeros((len(ys), len(xs) + 1), dtype=np.int32)
    for ring in rings:
        corners = np.array(ring)
        before = np.roll(corners, 1, axis=0)
        for (ax, ay), (bx, by) in zip(before.tolist(), corners.tolist(), strict=True):
            low, high = (ay, by) if ay < by else (by, ay)
            r0, r1 = np.searchsorted(ys, (low, high))
            if r0 == r1:
                continue
            rows = np.arange(r0, r1)
            crossing = ax + (ys[rows] - ay) * (bx - ax) / (by - ay)
            np.add.at(flips, (rows, np.searchsorted(xs, crossing)), 1)
    counted: NDArray[np.bool_] = np.cumsum(flips, axis=1)[:, :-1] % 2 == 1
    return counted


def _climbed(at: Point, best: float, step: float, discs: Floats, edges: object) -> float:
    """The top of the hill: steps to eight sides, halved where none leads up."""
    import numpy as np

    sides = np.array([(a, b) for a in (-1.0, 0.0, 1.0) for b in (-1.0, 0.0, 1.0) if a or b])
    here = np.array(at)
    # It climbs no farther than four steps: only discs that can matter there are looked at.
    around = np.hypot(discs[:, 0] - at[0], discs[:, 1] - at[1]) - discs[:, 2]
    discs = discs[around <= best + 12.0 * step]
    leash = 4.0 * step
    while best > 0.0 and step > 5e-4:
        tries = here + step * sides
        room = _from_edges(tries, edges)
        if len(discs):
            away = np.hypot(tries[:, 0, None] - discs[:, 0], tries[:, 1, None] - discs[:, 1])
            room = np.minimum(room, (away - discs[:, 2]).min(axis=1))
        top = int(room.argmax())
        if room[top] > best and math.dist(tries[top].tolist(), at) <= leash:
            best, here = float(room[top]), tries[top]
        else:
            step /= 2.0
    return best


def most_stones(
    rings: Sequence[Ring], walls: Sequence[Wall], radius_mm: float, gap_mm: float
) -> int:
    """The most stones of one size that could lie inside rings, clear of walls by their clearances.

    N ≤ 2/√3·A(X)/D² + P(X)/(2D) + χ(X), X the places a centre may take, D diameter plus gap.
    Source: H. Groemer 1960; N. Oler 1961; J. H. Folkman and R. L. Graham, A packing inequality
    for compact convex subsets of the plane, Canadian Mathematical Bulletin 12, 1969.
    """
    from shapely import MultiLineString, Polygon, get_parts, line_merge

    places = Polygon()
    for ring in rings:
        places = differing(places, Polygon(ring))
    for clearance in sorted({wall.clearance_mm for wall in walls}):
        lines = MultiLineString(
            [((w.x0, w.y0), (w.x1, w.y1)) for w in walls if w.clearance_mm == clearance]
        )
        # Buffers thin their input by up to a hundredth of their width: kept a little narrow here,
        # so that the bound stays one.
        reach = (radius_mm + clearance) * 0.999
        places = without(places, line_merge(lines).buffer(reach, quad_segs=16))
    across = 2.0 * radius_mm + gap_mm
    parts = [part for part in get_parts(places) if part.geom_type == "Polygon"]
    euler = sum(1 - len(part.interiors) for part in parts)
    bound = 2.0 / math.sqrt(3.0) * places.area / across**2 + places.length / (2.0 * across) + euler
    return math.floor(float(bound) + 1e-6)
