"""Shapes that lie exactly on one another, found in one pass over a layer."""

from __future__ import annotations

import math
from collections.abc import Sequence

from templater.model.curves import Arc, Cubic, Path, Point, Segment
from templater.model.drawing import AreaShape, LineShape, PointShape, Shape, TextShape

SAME_MM = 0.001
"""Shapes all of whose points agree within this are one shape drawn twice."""
TINY_MM = 0.05
"""What is smaller than this both ways is a speck."""

Controls = tuple[Point, ...]


def without_doubles(shapes: Sequence[Shape]) -> tuple[list[Shape], list[Shape]]:
    """The shapes, the first of each double kept, and the dropped ones. Order is kept."""
    kept: list[Shape] = []
    dropped: list[Shape] = []
    cells: dict[tuple[object, ...], list[tuple[Controls, ...]]] = {}
    for shape in shapes:
        form = _form(shape)
        if form is None:
            kept.append(shape)
            continue
        kind, rings = form
        x, y = min(p[0] for p in rings[0]), min(p[1] for p in rings[0])
        column, row = math.floor(x / (4.0 * SAME_MM)), math.floor(y / (4.0 * SAME_MM))
        near = (
            other
            for dx in (0, -1, 1)
            for dy in (0, -1, 1)
            for other in cells.get((*kind, column + dx, row + dy), ())
        )
        if any(_same(rings, other, closed=kind[0] == "area") for other in near):
            dropped.append(shape)
        else:
            cells.setdefault((*kind, column, row), []).append(rings)
            kept.append(shape)
    return kept, dropped


def _form(shape: Shape) -> tuple[tuple[object, ...], tuple[Controls, ...]] | None:
    """A shape's kind and its points, ready to compare; None for texts, which may repeat."""
    match shape:
        case AreaShape():
            paths = (shape.area.outline, *shape.area.holes)
            rings = tuple(_controls(path)[:-1] for path in paths)
            return ("area", *map(len, rings)), rings
        case LineShape():
            points = _controls(shape.path)
            return ("line", len(points)), (points,)
        case PointShape():
            return ("point",), ((shape.at,),)
        case TextShape():
            return None


def _controls(path: Path) -> Controls:
    """Every point that fixes a path, in order; an arc's bulge counts through its middle."""
    points: list[Point] = [path.start]
    for segment in path.segments:
        points.extend(_inner(segment))
        points.append(segment.end)
    return tuple(points)


def _inner(segment: Segment) -> tuple[Point, ...]:
    match segment:
        case Cubic():
            return (segment.control1, segment.control2)
        case Arc():
            (x0, y0), (x1, y1), bulge = segment.start, segment.end, segment.bulge
            return (((x0 + x1 + bulge * (y1 - y0)) / 2.0, (y0 + y1 - bulge * (x1 - x0)) / 2.0),)
        case _:
            return ()


def _same(rings: tuple[Controls, ...], others: tuple[Controls, ...], *, closed: bool) -> bool:
    """Whether all points agree; closed rings may begin anywhere, lines run either way."""
    if not closed:
        return _agree(rings[0], others[0], 0) or _agree(rings[0], others[0][::-1], 0)
    return all(
        any(_agree(ring, other, start) for start in _starts(ring[0], other))
        for ring, other in zip(rings, others, strict=True)
    )


def _starts(point: Point, ring: Controls) -> list[int]:
    return [i for i, other in enumerate(ring) if math.dist(point, other) <= SAME_MM][:8]


def _agree(ring: Controls, other: Controls, start: int) -> bool:
    size = len(ring)
    return all(
        abs(p[0] - other[(i + start) % size][0]) <= SAME_MM
        and abs(p[1] - other[(i + start) % size][1]) <= SAME_MM
        for i, p in enumerate(ring)
    )
