"""A cut line opened at the fold made its own mirror image exactly: one half drawn, one mirrored."""

from __future__ import annotations

import math

from templater.applique.unfold import ended_at, started_at
from templater.geometry.measure import path_length, signed_path_area
from templater.geometry.moves import moved_path, reversed_path
from templater.geometry.splitting import Place, cut_closed, point_at
from templater.model.curves import Area, Path, Point, Segment
from templater.model.ground import Fold

_PROBES = 24
_HALVINGS = 60
_SHORTEST_MM = 1e-4


def evened(area: Area, fold: Fold, drawn: Path) -> Area:
    """The area with its half on the side of the drawn outline kept, the other its mirror image.

    The area is nearly symmetric about the fold already; ends are put on the fold exactly.
    """
    side = 1.0 if _middle_height(drawn, fold) > 0.0 else -1.0
    outlines = _both_halves(area.outline, fold, side)
    holes = [ring for hole in area.holes for ring in _both_halves(hole, fold, side)]
    rings = sorted((*outlines, *holes), key=lambda ring: -signed_path_area(ring))
    return Area(rings[0], tuple(rings[1:])) if rings else area


def _both_halves(path: Path, fold: Fold, side: float) -> list[Path]:
    places = _crossings(path, fold)
    if not places:
        if _height(fold, path.start) * side < 0.0:
            return []
        return [path, reversed_path(moved_path(path, fold.mirror))]
    rings = []
    for part in cut_closed(path, places):
        kept = _trimmed(part, fold)
        if kept is None or _middle_height(kept, fold) * side <= 0.0:
            continue
        other = reversed_path(moved_path(kept, fold.mirror))
        segments = (*kept.segments, *other.segments)
        rings.append(
            Path(
                tuple(
                    ended_at(segment, segments[(i + 1) % len(segments)].start)
                    for i, segment in enumerate(segments)
                ),
                closed=True,
            )
        )
    return rings


def _crossings(path: Path, fold: Fold) -> list[Place]:
    """Every place where the path goes from one side of the fold to the other."""
    places: list[Place] = []
    for index, segment in enumerate(path.segments):
        heights = [_height(fold, point_at(segment, k / _PROBES)) for k in range(_PROBES + 1)]
        places.extend(
            (index, _root(segment, fold, k / _PROBES, (k + 1) / _PROBES))
            for k in range(_PROBES)
            if (heights[k] >= 0.0) != (heights[k + 1] >= 0.0)
        )
    return places


def _root(segment: Segment, fold: Fold, low: float, high: float) -> float:
    above = _height(fold, point_at(segment, low)) >= 0.0
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        if (_height(fold, point_at(segment, middle)) >= 0.0) == above:
            low = middle
        else:
            high = middle
    return min(max((low + high) / 2.0, 0.0), 1.0)


def _trimmed(part: Path, fold: Fold) -> Path | None:
    """Without crumbs beside the cuts, its two ends put on the fold."""
    segments = [
        segment
        for segment in part.segments
        if path_length(Path((segment,), closed=False)) > _SHORTEST_MM
    ]
    if not segments:
        return None
    segments[0] = started_at(segments[0], _on(fold, segments[0].start))
    segments[-1] = ended_at(segments[-1], _on(fold, segments[-1].end))
    return Path(tuple(segments), closed=False)


def _middle_height(part: Path, fold: Fold) -> float:
    """The height above the fold that is farthest from it: on which side the part lies."""
    heights = [
        _height(fold, point_at(segment, t)) for segment in part.segments for t in (0.0, 0.5, 1.0)
    ]
    return max(heights, key=abs)


def _height(fold: Fold, point: Point) -> float:
    """The signed distance from the fold, positive on its left."""
    (x0, y0), (x1, y1) = fold.start, fold.end
    dx, dy = x1 - x0, y1 - y0
    return (dx * (point[1] - y0) - dy * (point[0] - x0)) / math.hypot(dx, dy)


def _on(fold: Fold, point: Point) -> Point:
    (x0, y0), (x1, y1) = fold.start, fold.end
    dx, dy = x1 - x0, y1 - y0
    t = ((point[0] - x0) * dx + (point[1] - y0) * dy) / (dx * dx + dy * dy)
    return (x0 + t * dx, y0 + t * dy)
