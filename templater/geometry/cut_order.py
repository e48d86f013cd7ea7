"""The order in which outlines are cut: what lies inside before what holds it, with short travel.

A cut-out piece moves; whatever is to be cut in it must have been cut before.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

from templater.geometry.flatten import flatten
from templater.geometry.tour import tour
from templater.model.curves import Path, Point

_FLAT_MM = 0.05


def cut_order(paths: Sequence[Path], home: Point = (0.0, 0.0)) -> list[int]:
    """The paths' numbers in cutting order. Paths keep their own starts; none may be empty.

    Paths that hold nothing come first, then those that hold only such, and so on to the outermost;
    on each of these levels in the order of a short way, which begins at `home` or where the level
    before ended. Of two outlines that cross, the smaller counts as inside.
    """
    levels = defaultdict(list)
    for number, height in enumerate(_heights(paths)):
        levels[height].append(number)
    order: list[int] = []
    at = home
    for height in sorted(levels):
        level = levels[height]
        on_level = [level[i] for i in tour([paths[i].start for i in level], at, 0)]
        order += on_level
        at = paths[on_level[-1]].end
    return order


def _heights(paths: Sequence[Path]) -> list[int]:
    """How many outlines lie within one another inside each path; 0 for one that holds none."""
    from shapely import Point as ShapelyPoint
    from shapely import Polygon, STRtree, make_valid

    rings = [flatten(path, _FLAT_MM) if path.closed else () for path in paths]
    closed = [i for i, ring in enumerate(rings) if len(ring) > 2]
    shapes = [make_valid(Polygon(rings[i])) for i in closed]
    areas = [0.0] * len(paths)
    for i, shape in zip(closed, shapes, strict=True):
        areas[i] = shape.area
    tree = STRtree([ShapelyPoint(path.start) for path in paths])
    inside: defaultdict[int, list[int]] = defaultdict(list)
    for outer, shape in zip(closed, shapes, strict=True):
        for inner in sorted(tree.query(shape, predicate="covers").tolist()):
            if areas[inner] < areas[outer]:
                inside[outer].append(inner)
    heights = [0] * len(paths)
    for outer in sorted(closed, key=lambda i: (areas[i], i)):
        heights[outer] = 1 + max((heights[i] for i in inside[outer]), default=-1)
    return heights
