"""Where the grain arrow goes: as long as there is room for, clear of label, marks and edges."""

from __future__ import annotations

import math
from typing import Any

from templater.geometry.polygons import to_polygon, united, without
from templater.model.curves import Path, Point
from templater.model.parts import CutPart

_LENGTHS_MM = (100.0, 60.0, 40.0, 25.0, 15.0)
_EDGE_MM = 2.5
_TEXT_MM = 2.5
_GRID = 15


def grain_line(
    part: CutPart, label: Any, folds: tuple[Path, ...], marks: tuple[Point, ...]
) -> tuple[Point, Point] | None:
    """The arrow's ends in the part's reference frame, or None where there is no room for 15 mm."""
    import numpy as np
    import shapely

    from templater.geometry.flatten import flatten

    assert part.grain_deg is not None
    room = shapely.buffer(to_polygon(part.finished, 0.05), -_EDGE_MM)
    avoid = [shapely.buffer(label, _TEXT_MM)]
    avoid += [shapely.Point(mark).buffer(6.0) for mark in marks]
    avoid += [shapely.LineString(flatten(path, 0.1)).buffer(4.0) for path in folds]
    room = without(room, united(avoid))
    if room.is_empty:
        return None
    x0, y0, x1, y1 = room.bounds
    grid = np.stack(
        np.meshgrid(np.linspace(x0, x1, _GRID), np.linspace(y0, y1, _GRID)), axis=-1
    ).reshape(-1, 2)
    label_x, label_y = label.centroid.x, label.centroid.y
    away = np.hypot(grid[:, 0] - label_x, grid[:, 1] - label_y).round(6)
    grid = grid[np.lexsort((grid[:, 1], grid[:, 0], away))]
    angle = math.radians(part.grain_deg)
    step = np.array([math.cos(angle), math.sin(angle)])
    shapely.prepare(room)
    for length in _LENGTHS_MM:
        half = step * (length / 2.0)
        lines = shapely.linestrings(np.stack([grid - half, grid + half], axis=1))
        fitting = np.flatnonzero(shapely.covers(room, lines))
        if len(fitting):
            x, y = grid[fitting[0]].tolist()
            dx, dy = half.tolist()
            return (x - dx, y - dy), (x + dx, y + dy)
    return None
