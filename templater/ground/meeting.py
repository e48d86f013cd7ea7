"""Zones that meet are given one common line: hand tracing leaves slivers and small overlaps.

The upper zone's line is the one that is seen, so it stays as drawn and the lower zone's is laid
onto it, curve for curve. A zone that runs beside the fold is laid onto the fold.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from templater.geometry.flatten import flatten
from templater.geometry.measure import path_length
from templater.geometry.moves import reversed_path
from templater.geometry.polygons import (
    from_polygon,
    overlap,
    polygons_in,
    sound,
    to_polygon,
    united,
)
from templater.geometry.splitting import (
    CORNER_DEG,
    Place,
    cut_closed,
    cut_open,
    ending,
    nearest_place,
    point_at,
    starting,
    turn_deg,
)
from templater.ground.edges import SHARED_WITHIN_MM, Feature, cut_ring
from templater.ground.features import fold_line
from templater.ground.sites import FLAT_MM, line_geometry
from templater.model.curves import Area, Line, Path, Point, Segment
from templater.model.ground import Edge, EdgeKind, Fold
from templater.model.problems import Problem, Problems, Severity, Source

MEET_WITHIN_MM = 1.0
"""Lines of two zones half of which runs this near to the other are one line, traced twice (common
practice, no source: about the width of a pencil line and a shaky hand)."""
STRAY_MM = 1.7
"""How far they may stray from each other on the way: both hands may be off by 0.8 mm."""

_GAP_MM = 2.0
_SAME_MM = 0.005
_LEFT_MM = 0.9 * STRAY_MM
_LIKE_LENGTH = 0.25
_TAIL_STEPS = 64
_SHORTEST_TAIL_MM = 1.5
_JOINT_WITHIN_MM = 8.0


@dataclass(frozen=True, slots=True)
class Traced:
    """A zone on its way to meet the others: its name, its areas, where it came from."""

    name: str
    areas: tuple[Area, ...]
    source: Source


def meet(
    zones: Sequence[Traced], fold: Fold | None
) -> tuple[tuple[tuple[Area, ...], ...], Problems]:
    """The zones' areas (given from below to above, all on one piece) with common lines.

    What was moved is reported with the widest sliver. A stretch beyond the tolerance is left as
    drawn: it shows as a gap or an overlap.
    """
    done: dict[str, tuple[Area, ...]] = {}
    problems: list[Problem] = []
    for zone in reversed(zones):
        moved: dict[str, _Moved] = {}
        done[zone.name] = tuple(_laid(area, done, fold, moved) for area in zone.areas)
        problems.extend(_told(zone, other, what) for other, what in moved.items())
    return tuple(done[zone.name] for zone in zones), tuple(reversed(problems))


def gaps(zones: Sequence[Traced]) -> Problems:
    """Stretches where two zones of one piece run beside each other without meeting."""
    import numpy as np
    import shapely

    lines = [
        united(line_geometry(path) for area in zone.areas for path in (area.outline, *area.holes))
        for zone in zones
    ]
    solids = [united(to_polygon(a, FLAT_MM) for a in zone.areas) for zone in zones]
    tree = shapely.STRtree(lines)
    problems: list[Problem] = []
    for k, zone in enumerate(zones):
        near = tree.query(lines[k], predicate="dwithin", distance=_GAP_MM)
        for o in sorted(int(other) for other in near if other > k):
            beside = Feature(EdgeKind.NEIGHBOUR, "", lines[o], 0.0, visible=True, within_mm=_GAP_MM)
            # Where one lies over the other there is no gap: that is told as an overlap.
            common = overlap(solids[k], solids[o])
            over = common.buffer(-SHARED_WITHIN_MM / 2.0)
            for area in zone.areas:
                for edge in cut_ring(area.outline, [beside], 0.0):
                    points = np.array(flatten(edge.path, 0.05))
                    at = shapely.points(points)
                    apart = float(np.median(shapely.distance(at, lines[o])))
                    if edge.kind is not EdgeKind.NEIGHBOUR or apart <= SHARED_WITHIN_MM:
                        continue
                    if over.is_empty or shapely.distance(at, over).min() > _GAP_MM:
                        place = (float(points[len(at) // 2][0]), float(points[len(at) // 2][1]))
                        problems.append(_gap(zone, zones[o], apart, place))
    return tuple(problems)


def _gap(zone: Traced, other: Traced, apart_mm: float, at: Point) -> Problem:
    return Problem(
        "zones-gap",
        Severity.WARNING,
        f'the zones "{zone.name}" and "{other.name}" run {apart_mm:.2f} mm apart, too far to be one line',
        "If they should meet, draw them nearer than 1 mm; if cloth should show between, all is well.",
        zone.source,
        (round(float(at[0]), 2), round(float(at[1]), 2)),
    )


@dataclass(frozen=True, slots=True)
class _Moved:
    """The widest sliver that was closed, and where."""

    widest_mm: float
    at: Point


def _told(zone: Traced, other: str, moved: _Moved) -> Problem:
    what = f'the zone "{other}"' if other else "the fold"
    return Problem(
        "sliver-closed",
        Severity.NOTE,
        f'the zone "{zone.name}" is laid onto the line of {what}; they ran up to'
        f" {moved.widest_mm:.2f} mm apart",
        "",
        zone.source,
        (round(moved.at[0], 2), round(moved.at[1], 2)),
    )


def _laid(
    area: Area, above: Mapping[str, tuple[Area, ...]], fold: Fold | None, moved: dict[str, _Moved]
) -> Area:
    lines = {
        name: [path for other in areas for path in (other.outline, *other.holes)]
        for name, areas in above.items()
    }
    features = [
        Feature(
            EdgeKind.NEIGHBOUR,
            name,
            line_geometry(path),
            0.0,
            visible=True,
            within_mm=STRAY_MM,
        )
        for name, paths in lines.items()
        for path in paths
    ]
    if fold is not None:
        line = fold_line(fold)
        features.append(
            Feature(EdgeKind.FOLD, "", line, 0.0, visible=False, within_mm=MEET_WITHIN_MM)
        )
    outline, *holes = (
        _ring(path, features, lines, fold, moved) for path in (area.outline, *area.holes)
    )
    laid = Area(outline, tuple(holes))
    polygon = to_polygon(laid, FLAT_MM)
    # Where a line was moved past its neighbours' ends, the crumbs beyond the crossing go.
    return laid if polygon.is_valid else from_polygon(polygons_in(sound(polygon))[0])


def _ring(
    path: Path,
    features: Sequence[Feature],
    lines: Mapping[str, Sequence[Path]],
    fold: Fold | None,
    moved: dict[str, _Moved],
) -> Path:
    edges = [part for edge in cut_ring(path, features, 0.0) for part in _without_tails(edge, lines)]
    replaced = [_replacement(edge, lines, fold) for edge in edges]
    if all(new is None for new in replaced):
        return path
    stretches = []
    for edge, new in zip(edges, replaced, strict=True):
        stretches.append(edge.path if new is None else new)
        if new is not None:
            _note(edge, new, moved)
    return _joined(stretches, [new is not None for new in replaced])


def _without_tails(edge: Edge, lines: Mapping[str, Sequence[Path]]) -> tuple[Edge, ...]:
    """A line that leaves another gently is near it for a while: that tail stays as it was drawn.

    A tail is what is farther from the other line than the stretch as a whole (half as far again
    as its middle value).
    """
    if edge.kind is not EdgeKind.NEIGHBOUR or edge.path.closed:
        return (edge,)
    import numpy as np
    import shapely

    places = [
        (index, k / _TAIL_STEPS)
        for index in range(len(edge.path.segments))
        for k in range(_TAIL_STEPS)
    ]
    points = [point_at(edge.path.segments[index], t) for index, t in places] + [edge.path.end]
    other = united(line_geometry(line) for line in lines[edge.name])
    away = shapely.distance(shapely.points(points), other)
    middling = float(np.median(away))
    if middling > MEET_WITHIN_MM:
        return (Edge(EdgeKind.FREE, edge.path),)
    bound = max(_SAME_MM, 1.5 * middling)
    near = [k for k, mm in enumerate(away.tolist()) if mm <= bound]
    # Only a line that left through the tolerance has a tail; one that ends within it was traced.
    first = _joint_near(points, near, near[0]) if away[0] > _LEFT_MM else 0
    last = _joint_near(points, near, near[-1]) if away[-1] > _LEFT_MM else len(points) - 1
    if last <= first:
        return (edge,)
    starts_late = math.dist(points[first], edge.path.start) > _SHORTEST_TAIL_MM
    ends_early = math.dist(points[last], edge.path.end) > _SHORTEST_TAIL_MM
    cuts = [places[k] for k, is_cut in ((first, starts_late), (last, ends_early)) if is_cut]
    parts = cut_open(edge.path, cuts)
    core = 1 if starts_late else 0
    return tuple(
        replace(edge, path=part) if k == core else Edge(EdgeKind.FREE, part)
        for k, part in enumerate(parts)
    )


def _joint_near(points: Sequence[Point], near: Sequence[int], k: int) -> int:
    """A joint of the drawing close to where the lines part, if the lines are one there."""
    joints = [j for j in near if j % _TAIL_STEPS == 0]
    best = min(joints, key=lambda j: math.dist(points[j], points[k]), default=k)
    return best if math.dist(points[best], points[k]) <= _JOINT_WITHIN_MM else k


def _replacement(edge: Edge, lines: Mapping[str, Sequence[Path]], fold: Fold | None) -> Path | None:
    """The common line from the edge's start to its end, or None to leave it as it is."""
    if edge.kind is EdgeKind.FOLD and fold is not None and not edge.path.closed:
        start, end = _onto(edge.path.start, fold), _onto(edge.path.end, fold)
        return None if start == end else Path((Line(start, end),), closed=False)
    if edge.kind is not EdgeKind.NEIGHBOUR:
        return None
    middle = flatten(edge.path, 0.05)
    middle_point = middle[len(middle) // 2]
    line = min(lines[edge.name], key=lambda other: _away(other, middle_point))
    if edge.path.closed:
        return reversed_path(line)
    first, last = (_place_on(line, end) for end in (edge.path.start, edge.path.end))
    if first == last:
        return None
    ahead, behind = _both_ways(line, first, last)
    # Neighbours run against each other along their common line.
    return (
        min(
            (reversed_path(behind), ahead),
            key=lambda part: abs(path_length(part) - path_length(edge.path)),
        )
        if _like(edge.path, ahead, behind)
        else None
    )


def _place_on(line: Path, point: Point) -> Place:
    """Where a traced end belongs on the other line: at its corner if there is one in reach."""
    near = [
        (math.dist(segment.start, point), index)
        for index, segment in enumerate(line.segments)
        if math.dist(segment.start, point) <= MEET_WITHIN_MM
        and turn_deg(line.segments[index - 1], segment) >= CORNER_DEG
    ]
    return (min(near)[1], 0.0) if near else nearest_place(line, point)


def _both_ways(line: Path, first: Place, last: Place) -> tuple[Path, Path]:
    """The line from first to last, and from last to first, both running with it."""
    parts = cut_closed(line, sorted((first, last)))
    return (parts[0], parts[1]) if first < last else (parts[1], parts[0])


def _like(edge: Path, *parts: Path) -> bool:
    length = path_length(edge)
    slack = _LIKE_LENGTH * length + 4.0 * MEET_WITHIN_MM
    return min(abs(path_length(part) - length) for part in parts) <= slack


def _away(line: Path, point: Point) -> float:
    from shapely import Point as At

    return float(line_geometry(line).distance(At(point)))


def _onto(point: Point, fold: Fold) -> Point:
    (x0, y0), (x1, y1) = fold.start, fold.end
    dx, dy = x1 - x0, y1 - y0
    t = ((point[0] - x0) * dx + (point[1] - y0) * dy) / (dx * dx + dy * dy)
    return (x0 + t * dx, y0 + t * dy)


def _note(edge: Edge, new: Path, moved: dict[str, _Moved]) -> None:
    """Keeps how far the common line lies from the line that was drawn, where it is farthest."""
    from shapely import LineString
    from shapely import Point as At

    drawn, laid = LineString(flatten(edge.path, 0.01)), LineString(flatten(new, 0.01))
    ends = (0.0, laid.length)
    away = [(drawn.distance(At(point)), point) for point in _close_points(new)]
    # A drawn point beyond the common line's ends says how long it is, not how far away.
    away += [
        (laid.distance(At(point)), point)
        for point in drawn.coords
        if laid.project(At(point)) not in ends
    ]
    widest, at = max(away)
    if widest > 2.0 * _SAME_MM and (edge.name not in moved or widest > moved[edge.name].widest_mm):
        moved[edge.name] = _Moved(float(widest), at)


def _close_points(path: Path) -> tuple[Point, ...]:
    """Points along a path, on long straight lines too."""
    return tuple(
        point_at(segment, k / _TAIL_STEPS)
        for segment in path.segments
        for k in range(_TAIL_STEPS + 1)
    )


def _joined(stretches: Sequence[Path], fixed: Sequence[bool]) -> Path:
    """One closed path; where a drawn stretch meets a common line, its end gives way.

    Between two common lines that do not quite meet goes a short straight line.
    """
    if len(stretches) == 1:
        return Path(stretches[0].segments, closed=True)
    segments: list[Segment] = []
    for k, path in enumerate(stretches):
        after = (k + 1) % len(stretches)
        own = list(path.segments)
        if not fixed[k]:
            if fixed[k - 1]:
                own[0] = starting(own[0], stretches[k - 1].end)
            if fixed[after]:
                own[-1] = ending(own[-1], stretches[after].start)
        segments.extend(own)
        if fixed[k] and fixed[after] and path.end != stretches[after].start:
            segments.append(Line(path.end, stretches[after].start))
    kept = [segment for segment in segments if math.dist(segment.start, segment.end) > 1e-9]
    return Path(tuple(kept), closed=True)
