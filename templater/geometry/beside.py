"""The stretches of a curve on one side of a line; curves stay curves."""

from __future__ import annotations

import math

from templater.geometry.splitting import Place, cut_closed, cut_open, point_at
from templater.model.curves import Path, Point

_STEPS = 32
_ON_MM = 1e-7
_MERGED = 1e-9


def side_of(point: Point, start: Point, end: Point) -> float:
    """How far a point lies to the left of the line from start to end, mm (below 0: to the right)."""
    length = math.dist(start, end)
    (x0, y0), (x1, y1) = start, end
    return ((x1 - x0) * (point[1] - y0) - (y1 - y0) * (point[0] - x0)) / length


def stretches_beside(path: Path, start: Point, end: Point, way: float) -> tuple[Path, ...]:
    """The stretches left of a line (`way` above 0) or right of it (below 0), in their order.

    What runs along the line is on neither side. A closed path wholly on the side stays closed.
    """
    places = _crossings(path, start, end)
    if path.closed and places:
        parts = cut_closed(path, places)
    elif places:
        parts = cut_open(path, [place for place in places if place != (0, 0.0)])
    else:
        parts = (path,)
    return tuple(part for part in parts if part.segments and _lies(part, start, end, way))


def _lies(part: Path, start: Point, end: Point, way: float) -> bool:
    """By its point farthest from the line: it does not cross it any more."""
    offs = [
        side_of(point_at(segment, t / 4.0), start, end)
        for segment in part.segments
        for t in range(5)
    ]
    return max(offs, key=abs) * way > 0.0 and max(abs(off) for off in offs) > 1e-6


def _crossings(path: Path, start: Point, end: Point) -> list[Place]:
    """Where the path crosses or touches the line between its segments' samples, ascending."""
    places: list[Place] = []

    def add(index: int, t: float) -> None:
        if t >= 1.0 - _MERGED:
            index, t = index + 1, 0.0
        if index == len(path.segments):
            if not path.closed:
                return
            index = 0
        if (index, t) not in places:
            places.append((index, t))

    for index, segment in enumerate(path.segments):
        offs = [side_of(point_at(segment, k / _STEPS), start, end) for k in range(_STEPS + 1)]
        for k, off in enumerate(offs):
            if abs(off) <= _ON_MM:
                add(index, k / _STEPS)
            elif k and abs(offs[k - 1]) > _ON_MM and off * offs[k - 1] < 0.0:
                low, high = (k - 1) / _STEPS, k / _STEPS
                for _ in range(60):
                    middle = (low + high) / 2.0
                    here = side_of(point_at(segment, middle), start, end)
                    low, high = (middle, high) if here * offs[k - 1] > 0.0 else (low, middle)
                add(index, (low + high) / 2.0)
    return sorted(places)
