"""Where a label goes: inside its part if it fits at a standard height, else beside it with a leader.

Imports shapely and numpy inside functions.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING

from templater.geometry.measure import box_of
from templater.geometry.polygons import to_polygon, united, without
from templater.lettering import text_width_mm
from templater.model.curves import Area, Point
from templater.model.parts import Label

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray
    from shapely import Polygon
    from shapely.geometry.base import BaseGeometry

HEIGHTS_MM = (5.0, 3.5, 2.5, 1.8)
"""ISO 3098-1 heights a label may have, from the one that is liked best."""
READABLE_MM = 2.5
BESIDE_HEIGHT_MM = 2.5
LINE_PITCH = 1.6
"""Baseline to baseline, in heights (ISO 3098-1 type B: at least 1.4)."""
_MARGIN_MM = 1.5
_MARK_MM = 5.0
_GRID = 13
_FLAT_MM = 0.05


def place_label(
    area: Area, cut: Area, layouts: Sequence[tuple[str, ...]], avoid: Iterable[Point] = ()
) -> Label:
    """The label of a part: the largest of the heights and the first of the layouts that fits.

    `area` is where it may lie, `cut` what it must stay outside of if it does not fit; `avoid` are
    marks to keep 5 mm from. Layouts are the same words in more or fewer lines; the last one, in
    the fewest, is for narrow parts only.
    """
    polygon = to_polygon(area, _FLAT_MM)
    room = _room(polygon, avoid)
    centre = _pole(polygon)
    if not room.is_empty:
        for lines, height, level in _tries(layouts):
            found = _inside(room, lines, height, level=level)
            if found is not None:
                return found
    return _beside(cut, layouts[0], centre)


def _tries(
    layouts: Sequence[tuple[str, ...]],
) -> Iterator[tuple[tuple[str, ...], float, bool]]:
    """(lines, height, level) from what reads best: level before turned, large before small."""
    large = [height for height in HEIGHTS_MM if height > READABLE_MM]
    small = [height for height in HEIGHTS_MM if height < READABLE_MM]
    for heights, some in (
        (large, layouts[:-1]),
        ([READABLE_MM], layouts[:-1]),
        ([*large, READABLE_MM], layouts[-1:]),
        (small, layouts),
    ):
        for level in (True, False):
            for height in heights:
                for lines in some:
                    yield lines, height, level


def block_size_mm(lines: Sequence[str], height_mm: float) -> tuple[float, float]:
    """Width and height of lines of text set one above the other."""
    width = max(text_width_mm(line, height_mm) for line in lines)
    return width, height_mm * (1.0 + LINE_PITCH * (len(lines) - 1))


def _room(polygon: Polygon, avoid: Iterable[Point]) -> BaseGeometry:
    import shapely

    room = shapely.buffer(polygon, -_MARGIN_MM)
    marks = [shapely.Point(x, y).buffer(_MARK_MM, quad_segs=4) for x, y in avoid]
    return without(room, united(marks)) if marks else room


def _pole(polygon: Polygon) -> Point:
    """The point deepest inside (pole of inaccessibility)."""
    import shapely

    spoke = shapely.maximum_inscribed_circle(polygon, tolerance=0.1)
    x, y = spoke.coords[0]
    return (float(x), float(y))


def _inside(
    room: BaseGeometry, lines: tuple[str, ...], height_mm: float, *, level: bool
) -> Label | None:
    import numpy as np
    import shapely

    width, height = block_size_mm(lines, height_mm)
    centres = _centres(room)
    for turn in (0.0,) if level else _turns(room):
        cos, sin = math.cos(math.radians(turn)), math.sin(math.radians(turn))
        offsets = [
            (
                sx * width / 2.0 * cos - sy * height / 2.0 * sin,
                sx * width / 2.0 * sin + sy * height / 2.0 * cos,
            )
            for sx, sy in ((-1, -1), (1, -1), (1, 1), (-1, 1))
        ]
        boxes = shapely.polygons(centres[:, None, :] + np.asarray(offsets)[None, :, :])
        fitting = np.flatnonzero(shapely.covers(room, boxes))
        if len(fitting):
            x, y = centres[fitting[0]].tolist()
            return Label(lines, (round(x, 4), round(y, 4)), height_mm, turn)
    return None


def _centres(room: BaseGeometry) -> NDArray[np.float64]:
    """Points to try, the deepest first and then a grid outward from it."""
    import numpy as np
    import shapely

    shapely.prepare(room)
    largest = max(shapely.get_parts(room), key=lambda part: part.area)
    x, y = _pole(largest)
    x0, y0, x1, y1 = room.bounds
    grid = np.stack(
        np.meshgrid(np.linspace(x0, x1, _GRID), np.linspace(y0, y1, _GRID)), axis=-1
    ).reshape(-1, 2)
    grid = grid[shapely.contains_xy(room, grid[:, 0], grid[:, 1])]
    away = np.hypot(grid[:, 0] - x, grid[:, 1] - y).round(6)
    order = np.lexsort((grid[:, 1], grid[:, 0], away))
    return np.concatenate([[(x, y)], grid[order]])


def _turns(room: BaseGeometry) -> Iterator[float]:
    """Along the part's length, then upright."""
    corners = list(room.minimum_rotated_rectangle.exterior.coords)
    (ax, ay), (bx, by), (cx, cy) = corners[:3]
    if math.dist((ax, ay), (bx, by)) < math.dist((bx, by), (cx, cy)):
        (ax, ay), (bx, by) = (bx, by), (cx, cy)
    turn = round(math.degrees(math.atan2(by - ay, bx - ax)), 1)
    while turn > 90.0:
        turn -= 180.0
    while turn <= -90.0:
        turn += 180.0
    yield turn % 360.0
    yield 90.0


def _beside(cut: Area, lines: tuple[str, ...], pointing_at: Point) -> Label:
    """The label to the right of the part or below it, whichever keeps both together smaller."""
    width, height = block_size_mm(lines, BESIDE_HEIGHT_MM)
    x0, y0, x1, y1 = box_of(to_polygon(cut, _FLAT_MM).exterior.coords)
    gap = 4.0
    right = (x1 + gap + width / 2.0, (y0 + y1) / 2.0)
    below = ((x0 + x1) / 2.0, y0 - gap - height / 2.0)
    area_right = (x1 - x0 + gap + width) * max(y1 - y0, height)
    area_below = max(x1 - x0, width) * (y1 - y0 + gap + height)
    at = right if area_right <= area_below else below
    return Label(
        lines,
        (round(at[0], 4), round(at[1], 4)),
        BESIDE_HEIGHT_MM,
        leader=(round(pointing_at[0], 4), round(pointing_at[1], 4)),
    )
