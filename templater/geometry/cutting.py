"""Areas cut by straight lines, with what is left of their curves still curves.

What lies where is worked out on flattened outlines; every stretch that is kept is then taken from
the outline as it was drawn.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

from templater.geometry.flatten import flatten
from templater.geometry.measure import area_mm2, path_length
from templater.geometry.polygons import from_polygon, polygons_in, polyline, rings_of
from templater.geometry.splitting import Place, cut_closed, nearest_place, point_at
from templater.model.curves import Area, Line, Path, Point, Ring, Segment

if TYPE_CHECKING:
    from shapely import Polygon

Cut = tuple[Point, Point]
"""A straight line that cuts, from end to end."""

FLAT_MM = 0.002
_ON_MM = 1e-6
_BEYOND_MM = 1e-3
_STRAIGHT_MM = 1e-6
_BISECTIONS = 60
_NEAR_T = 0.02

_Known = Mapping[Point, tuple[int, Place]]


def cut_away(area: Area, wedge: Ring, least_mm: float = 0.0) -> tuple[Area, ...]:
    """What is left of an area without a convex polygon, largest first; nothing thinner than `least_mm`."""
    from shapely import Polygon

    flat, rings, known = _flat(area)
    cuts = [(a, b) for a, b in zip(wedge, (*wedge[1:], wedge[0]), strict=True)]
    return _curved(_kept(flat.difference(Polygon(wedge)), least_mm), rings, known, cuts)


def parted(area: Area, cut: Cut, least_mm: float = 0.0) -> tuple[Area, ...]:
    """The parts of an area on both sides of a straight line that runs through it, largest first."""
    from shapely import LineString
    from shapely.ops import split

    flat, rings, known = _flat(area)
    (x0, y0), (x1, y1) = cut
    length = math.dist(*cut)
    dx, dy = _BEYOND_MM * (x1 - x0) / length, _BEYOND_MM * (y1 - y0) / length
    line: Cut = ((x0 - dx, y0 - dy), (x1 + dx, y1 + dy))
    return _curved(_kept(split(flat, LineString(line)), least_mm), rings, known, [line])


def _kept(shape: object, least_mm: float) -> list[Polygon]:
    from shapely.geometry.base import BaseGeometry

    assert isinstance(shape, BaseGeometry)
    return [part for part in polygons_in(shape) if not part.buffer(-least_mm / 2.0).is_empty]


def _flat(area: Area) -> tuple[Polygon, tuple[Path, ...], _Known]:
    """The area flattened, its rings, and of which ring and place each point is."""
    from shapely import Polygon

    rings = (area.outline, *area.holes)
    known: dict[Point, tuple[int, Place]] = {}
    flat: list[list[Point]] = []
    for number, path in enumerate(rings):
        flat.append([])
        for index, segment in enumerate(path.segments):
            points = flatten(Path((segment,), closed=False), FLAT_MM)
            for k, point in enumerate(points[:-1]):
                flat[-1].append(point)
                known[point] = (number, (index, k / (len(points) - 1)))
    return Polygon(flat[0], flat[1:]), rings, known


def _curved(
    parts: Sequence[Polygon], rings: Sequence[Path], known: _Known, cuts: Sequence[Cut]
) -> tuple[Area, ...]:
    found = []
    for part in parts:
        outline, *holes = (_ring(ring, rings, known, cuts) for ring in rings_of(part))
        area = Area(outline, tuple(holes))
        slack = FLAT_MM * sum(path_length(path) for path in (outline, *holes)) + 1e-3
        # Where lines graze each other the curve may not be found again; straight bits are right too.
        found.append(area if abs(area_mm2(area) - part.area) <= slack else from_polygon(part))
    return tuple(found)


def _ring(points: Ring, rings: Sequence[Path], known: _Known, cuts: Sequence[Cut]) -> Path:
    """One outline of the result: stretches of the drawn outlines, and straight ones along cuts."""
    count = len(points)
    is_cut = [_along_a_cut(points[k], points[(k + 1) % count], cuts) for k in range(count)]
    if not any(is_cut):
        whole = next((known[point][0] for point in points if point in known), None)
        return polyline(points, closed=True) if whole is None else rings[whole]
    if all(is_cut):
        return polyline(_corners(points, closed=True), closed=True)
    first = next(k for k in range(count) if is_cut[k - 1] and not is_cut[k])
    runs: list[tuple[bool, list[Point]]] = []
    for step in range(count):
        k = (first + step) % count
        if not runs or runs[-1][0] != is_cut[k]:
            runs.append((is_cut[k], [points[k]]))
        runs[-1][1].append(points[(k + 1) % count])
    drawn = [None if along else _stretch(run, rings, known, cuts) for along, run in runs]
    segments: list[Segment] = []
    for n, path in enumerate(drawn):
        if path is not None:
            segments.extend(path.segments)
            continue
        before, after = drawn[n - 1], drawn[(n + 1) % len(drawn)]
        assert before is not None
        assert after is not None
        corners = _corners((before.end, *runs[n][1][1:-1], after.start), closed=False)
        segments.extend(Line(a, b) for a, b in pairwise(corners))
    return Path(tuple(segments), closed=True)


def _stretch(
    run: Sequence[Point], rings: Sequence[Path], known: _Known, cuts: Sequence[Cut]
) -> Path:
    """The drawn curve behind a run of flattened points, its ends on the cuts exactly."""
    inner = [known[point] for point in run if point in known]
    if inner:
        path = rings[inner[0][0]]
    else:
        path = min(rings, key=lambda each: _away(each, run[0]) + _away(each, run[-1]))
    ends = [
        known[point][1] if point in known else _crossing(path, point, cuts)
        for point in (run[0], run[-1])
    ]
    return cut_closed(path, ends)[0]


def _away(path: Path, point: Point) -> float:
    index, t = _nearest(path, point)
    return math.dist(point_at(path.segments[index], t), point)


def _nearest(path: Path, point: Point) -> Place:
    """The nearest place, asked of every segment: near a joint the wrong one may look as near."""
    found = []
    for index, segment in enumerate(path.segments):
        _, t = nearest_place(Path((segment,), closed=False), point)
        if t == 0.0 and math.dist(segment.end, point) < math.dist(segment.start, point):
            t = 1.0
        found.append((math.dist(point_at(segment, t), point), index, t))
    _, index, t = min(found)
    return (index, t) if t < 1.0 else ((index + 1) % len(path.segments), 0.0)


def _crossing(path: Path, point: Point, cuts: Sequence[Cut]) -> Place:
    """Where a path crosses the cut that a point beside it lies on."""
    index, t = _nearest(path, point)
    cut = min(cuts, key=lambda each: _off(point, each))
    segment = path.segments[index]
    low, high = max(0.0, t - _NEAR_T), min(1.0, t + _NEAR_T)
    side = _height(point_at(segment, low), cut) >= 0.0
    if side == (_height(point_at(segment, high), cut) >= 0.0):
        return (index, t)
    for _ in range(_BISECTIONS):
        middle = (low + high) / 2.0
        if (_height(point_at(segment, middle), cut) >= 0.0) == side:
            low = middle
        else:
            high = middle
    return (index, (low + high) / 2.0)


def _along_a_cut(a: Point, b: Point, cuts: Sequence[Cut]) -> bool:
    return any(_off(a, cut) <= _ON_MM and _off(b, cut) <= _ON_MM for cut in cuts)


def _off(point: Point, cut: Cut) -> float:
    """The distance from a point to a straight line, its ends included."""
    (x0, y0), (x1, y1) = cut
    dx, dy = x1 - x0, y1 - y0
    t = ((point[0] - x0) * dx + (point[1] - y0) * dy) / (dx * dx + dy * dy)
    t = min(max(t, 0.0), 1.0)
    return math.dist(point, (x0 + t * dx, y0 + t * dy))


def _height(point: Point, cut: Cut) -> float:
    (x0, y0), (x1, y1) = cut
    return (x1 - x0) * (point[1] - y0) - (y1 - y0) * (point[0] - x0)


def _corners(points: Sequence[Point], *, closed: bool) -> list[Point]:
    """The points without those on the straight line between their neighbours."""
    kept = list(points)
    k = 0 if closed else 1
    while len(kept) > 2 and k < len(kept) - (0 if closed else 1):
        before, after = kept[k - 1], kept[(k + 1) % len(kept)]
        if before != after and _off(kept[k], (before, after)) <= _STRAIGHT_MM:
            del kept[k]
        else:
            k += 1
    return kept
