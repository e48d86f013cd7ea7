"""Closed paths to areas by a fill rule: outlines, holes, and what crosses itself made valid.

Plain cases keep their curves exactly. Only where paths cross or touch along a stretch is the
inside worked out on fine polygons, which are given their curves back; and that is said.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from templater.geometry.flatten import flatten
from templater.geometry.measure import signed_ring_area
from templater.geometry.moves import reversed_path
from templater.geometry.polygons import from_polygon, polygons_in, rings_of, to_polygon
from templater.model.curves import Area, Line, Path, Ring
from templater.reading.recurve import GRID_MM, Traces

if TYPE_CHECKING:
    from shapely import Polygon, STRtree
    from shapely.geometry.base import BaseGeometry

COARSE_MM = 0.01
"""How finely paths are looked at first, to see whether they cross."""
FINE_MM = 0.001
"""How finely crossing paths are flattened to work out their inside; curves are put back after."""
SLIVER_MM = 1e-3
"""An area narrower than this in the mean is a line."""
_MOST_WORK = 500_000_000
_MOST_PAIRS = 4_000_000
_MOST_CROSSINGS = 50_000
_CHUNK = 128


class TooTangled(ValueError):
    """Paths that cross so often that no inside can be found in bounded time."""


@dataclass(frozen=True, slots=True)
class Inside:
    """What closed paths enclose. `lines` enclose nothing; `covered` change nothing in the fill."""

    areas: tuple[Area, ...]
    lines: tuple[Path, ...] = ()
    covered: tuple[Path, ...] = ()
    resolved: bool = False


@dataclass(frozen=True, slots=True)
class _Loop:
    path: Path
    polygon: Polygon
    sign: int
    area: float


def areas_of(paths: Sequence[Path], *, evenodd: bool) -> Inside:
    """The areas inside closed paths taken together. Raises TooTangled.

    Sources: SVG 2, 13.4.2 "fill-rule"; simplicity by OGC Simple Features as GEOS has it.
    """
    from shapely.errors import GEOSException

    try:
        return _areas_of(paths, evenodd=evenodd)
    except GEOSException as error:
        raise TooTangled(f"the outline is too contorted ({error})") from None


def _areas_of(paths: Sequence[Path], *, evenodd: bool) -> Inside:
    loops: list[_Loop] = []
    crossing = False
    for path in paths:
        loop = _loop(path)
        if loop is None:
            crossing = True
        else:
            loops.append(loop)
    if not crossing:
        lines = tuple(loop.path for loop in loops if loop.sign == 0)
        loops = [loop for loop in loops if loop.sign != 0]
        if len(loops) <= 1:
            return Inside(tuple(Area(_turned(loop, anticlockwise=True)) for loop in loops), lines)
        nested = None if _any_cross(loops) else _nested(loops, evenodd=evenodd)
        if nested is not None:
            return Inside(nested.areas, lines, nested.covered)
    found = _resolved(Traces(paths, FINE_MM), evenodd=evenodd)
    if not found:
        return Inside((), tuple(paths), (), resolved=False)
    return Inside(found, (), (), resolved=True)


def _loop(path: Path) -> _Loop | None:
    """A simple closed path as a polygon; None if it crosses itself; sign 0 if it has no width."""
    from shapely import Polygon

    curved = any(not isinstance(segment, Line) for segment in path.segments)
    for tolerance in (COARSE_MM, FINE_MM / 4.0) if curved else (COARSE_MM,):
        ring = flatten(path, tolerance)
        if len(ring) < 3:
            continue
        area = signed_ring_area(ring)
        if _is_line(ring, area):
            continue
        polygon = Polygon(ring)
        if polygon.is_valid:
            return _Loop(path, polygon, 1 if area > 0.0 else -1, abs(area))
    ring = flatten(path, FINE_MM)
    if _is_flat(ring):
        return _Loop(path, Polygon(), 0, 0.0)
    return None


def _is_line(ring: Ring, area: float) -> bool:
    """Whether a ring encloses less than a sliver of its size; a figure of eight may, too."""
    xs, ys = [p[0] for p in ring], [p[1] for p in ring]
    size = math.hypot(max(xs) - min(xs), max(ys) - min(ys))
    return abs(area) < SLIVER_MM * size


def _is_flat(ring: Ring) -> bool:
    """Whether every point lies on one straight line."""
    if len(ring) < 3:
        return True
    x0, y0 = ring[0]
    x1, y1 = max(ring, key=lambda p: (p[0] - x0) ** 2 + (p[1] - y0) ** 2)
    reach = math.hypot(x1 - x0, y1 - y0)
    if reach == 0.0:
        return True
    return all(
        abs((x - x0) * (y1 - y0) - (y - y0) * (x1 - x0)) <= SLIVER_MM * reach for x, y in ring
    )


def _turned(loop: _Loop, *, anticlockwise: bool) -> Path:
    return loop.path if (loop.sign > 0) == anticlockwise else reversed_path(loop.path)


def _any_cross(loops: Sequence[_Loop]) -> bool:
    """Whether two loops cross, or run along each other with one inside the other."""
    from shapely import STRtree, contains, get_coordinates, linearrings, touches

    rings = [linearrings(get_coordinates(loop.polygon.exterior)) for loop in loops]
    tree = STRtree(rings)
    for i, j in _pairs(tree, rings):
        if i >= j:
            continue
        one, other = loops[i].polygon, loops[j].polygon
        if touches(one, other):
            continue
        larger, smaller = (one, other) if one.area >= other.area else (other, one)
        if not contains(larger, smaller) or contains(smaller, larger):
            return True
    return False


def _pairs(tree: STRtree, shapes: Sequence[BaseGeometry]) -> Iterator[tuple[int, int]]:
    """Indices of shapes and of what they meet in the tree, some at a time. Raises TooTangled."""
    budget = _MOST_PAIRS
    for at in range(0, len(shapes), _CHUNK):
        first, second = tree.query(shapes[at : at + _CHUNK], predicate="intersects")
        budget -= len(first)
        if budget < 0:
            raise TooTangled(f"its {len(shapes)} outlines lie within each other too often")
        for i, j in zip(first.tolist(), second.tolist(), strict=True):
            yield at + i, j


def _nested(loops: Sequence[_Loop], *, evenodd: bool) -> Inside | None:
    """Loops that do not cross, as outlines with their holes; None if they touch along a stretch."""
    from shapely import Polygon, STRtree, get_coordinates, point_on_surface

    order = sorted(range(len(loops)), key=lambda i: -loops[i].area)
    rank = {index: place for place, index in enumerate(order)}
    tree = STRtree([loop.polygon for loop in loops])
    around: list[list[int]] = [[] for _ in loops]
    for i, j in _pairs(tree, [point_on_surface(loop.polygon) for loop in loops]):
        if rank[j] < rank[i]:
            around[i].append(j)
    outlines: dict[int, list[int]] = {}
    covered: list[Path] = []
    for i in order:
        outside = sum(loops[j].sign for j in around[i])
        depth = len(around[i])
        before = depth % 2 == 1 if evenodd else outside != 0
        after = depth % 2 == 0 if evenodd else outside + loops[i].sign != 0
        if before == after:
            covered.append(loops[i].path)
        elif after:
            outlines[i] = []
        else:
            host = max((j for j in around[i] if j in outlines), key=lambda j: rank[j])
            outlines[host].append(i)
    areas = []
    for i in sorted(outlines):
        holes = sorted(outlines[i])
        if holes:
            rings = [get_coordinates(loops[h].polygon.exterior) for h in holes]
            if not Polygon(get_coordinates(loops[i].polygon.exterior), rings).is_valid:
                return None
        areas.append(
            Area(
                _turned(loops[i], anticlockwise=True),
                tuple(_turned(loops[h], anticlockwise=False) for h in holes),
            )
        )
    return Inside(tuple(areas), (), tuple(covered))


def _resolved(traces: Traces, *, evenodd: bool) -> tuple[Area, ...]:
    """The filled faces of crossing rings, joined. Winding numbers by crossings of a ray."""
    import numpy as np
    from shapely import LineString, multilinestrings, point_on_surface, polygonize, unary_union

    kept = [ring for ring in traces.rings if len(ring) >= 2]
    if not kept:
        return ()
    _refuse_endless(kept)
    lines = multilinestrings([LineString([*ring, ring[0]]) for ring in kept])
    noded = unary_union(lines, grid_size=GRID_MM)
    faces = polygons_in(polygonize([noded]))
    starts = np.concatenate([np.asarray(ring) for ring in kept])
    ends = np.concatenate([np.roll(np.asarray(ring), -1, axis=0) for ring in kept])
    if len(faces) * len(starts) > _MOST_WORK:
        raise TooTangled(f"the outline crosses itself into {len(faces)} parts")
    filled = []
    for face in faces:
        if face.area < SLIVER_MM * SLIVER_MM:
            continue
        at = point_on_surface(face)
        winding = _winding(starts, ends, at.x, at.y)
        if winding % 2 if evenodd else winding:
            filled.append(face)
    return tuple(_recurved(traces, polygon) for polygon in polygons_in(unary_union(filled)))


def _recurved(traces: Traces, polygon: Polygon) -> Area:
    """A polygon with its curves back, unless that would not be the same area."""
    outline, *holes = (traces.recurved(ring) for ring in rings_of(polygon))
    if any(len(flatten(path, FINE_MM)) < 3 for path in (outline, *holes)):
        return from_polygon(polygon)
    area = Area(outline, tuple(holes))
    again = to_polygon(area, FINE_MM)
    if again.is_valid and abs(again.area - polygon.area) <= 4.0 * FINE_MM * polygon.length:
        return area
    return from_polygon(polygon)


def _refuse_endless(rings: Sequence[Ring]) -> None:
    """Estimate from a sample how often the rings cross, before working out every place."""
    import numpy as np
    from shapely import STRtree, linestrings

    starts = np.concatenate([np.asarray(ring) for ring in rings])
    if len(starts) ** 2 / 2 <= _MOST_CROSSINGS:
        return
    ends = np.concatenate([np.roll(np.asarray(ring), -1, axis=0) for ring in rings])
    segments = linestrings(np.stack([starts, ends], axis=1))
    tree = STRtree(segments)
    step = max(1, len(segments) // 400)
    most = _MOST_CROSSINGS + 4 * len(segments)  # an outline drawn twice meets itself all along
    sampled = segments[::step]
    met = 0
    for segment in sampled:
        met += len(tree.query(segment, predicate="intersects")) - 3  # itself and its neighbours
        if met * step / 2 > most:
            raise TooTangled("the outline crosses itself tens of thousands of times")


def _winding(starts: object, ends: object, x: float, y: float) -> int:
    """How often the rings turn about a point (not on them), anticlockwise positive."""
    import numpy as np

    a, b = np.asarray(starts), np.asarray(ends)
    up = (a[:, 1] <= y) & (b[:, 1] > y)
    down = (a[:, 1] > y) & (b[:, 1] <= y)
    side = (b[:, 0] - a[:, 0]) * (y - a[:, 1]) - (x - a[:, 0]) * (b[:, 1] - a[:, 1])
    return int(np.count_nonzero(up & (side > 0.0)) - np.count_nonzero(down & (side < 0.0)))
