"""`faded`: sprinkled, thinning along a direction, along a line, or away from the edge."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from dataclasses import field as parameter
from typing import Any, Literal

from templater.geometry.polygons import differing
from templater.geometry.rng import Rng
from templater.model.curves import Point
from templater.model.stones import Field
from templater.stoning.styles.base import FillResult, FillStyle, Sizes, refused
from templater.stoning.styles.open_setting import ceiling, mean_area, set_open


@dataclass(frozen=True, slots=True)
class Parameters:
    """From one state to another."""

    start: float = parameter(
        default=0.5, metadata={"doc": "coverage where the fade begins, 0 to 1"}
    )
    end: float = parameter(default=0.05, metadata={"doc": "coverage where it ends, 0 to 1"})
    along: Literal["direction", "line", "edge"] = parameter(
        default="direction",
        metadata={"doc": "`direction`, `line` (away from it) or `edge` (away from the outline)"},
    )
    direction: float = parameter(
        default=270.0, metadata={"doc": "where the fade runs, degrees anticlockwise from right"}
    )
    line: tuple[Point, ...] = parameter(
        default=(), metadata={"doc": "points of the line it fades away from, mm"}
    )
    reach: float | None = parameter(
        default=None,
        metadata={"doc": "mm from beginning to end; without it, as far as the zone goes"},
    )
    grade: bool = parameter(
        default=False,
        metadata={"doc": "sizes change too: the first at the beginning, the last at the end"},
    )
    shade: bool = parameter(
        default=False,
        metadata={
            "doc": "colours change too, as they are listed: the first at the beginning, the last at "
            "the end, their shares as given"
        },
    )


def how_far(field: Field, params: Parameters) -> Callable[[Any, Any], Any]:
    """A function of numpy columns x, y: 0 where the fade begins, 1 where it has ended.

    Colours are shaded by it.
    """
    import numpy as np

    corners = np.array([point for ring in field.rings for point in ring])

    if params.along == "direction":
        turn = math.radians(params.direction)
        ux, uy = math.cos(turn), math.sin(turn)
        on = corners[:, 0] * ux + corners[:, 1] * uy
        first = float(on.min())
        length = params.reach or float(on.max()) - first
        return lambda x, y: np.clip((x * ux + y * uy - first) / max(length, 1e-9), 0.0, 1.0)
    if params.along == "line":
        sides = list(zip(params.line[:-1], params.line[1:], strict=True))
    else:
        sides = [
            (a, b) for ring in field.rings for a, b in zip(ring, (*ring[1:], ring[0]), strict=True)
        ]

    def away(x: Any, y: Any) -> Any:
        import shapely

        lines = shapely.MultiLineString(sides)
        shapely.prepare(lines)
        return shapely.distance(lines, shapely.points(x, y))

    if params.reach:
        length = params.reach
    elif params.along == "line":
        length = float(away(corners[:, 0], corners[:, 1]).max())
    else:
        xs, ys = (np.linspace(corners[:, k].min(), corners[:, k].max(), 40) for k in (0, 1))
        grid_x, grid_y = (values.ravel() for values in np.meshgrid(xs, ys))
        from shapely import Polygon, contains_xy

        shape = Polygon(field.rings[0], field.rings[1:])
        inside = contains_xy(shape, grid_x, grid_y)
        depths = away(grid_x[inside], grid_y[inside])
        length = float(depths.max()) if len(depths) else 1.0
    return lambda x, y: np.clip(away(x, y) / max(length, 1e-9), 0.0, 1.0)


def fill(field: Field, params: Parameters, sizes: Sizes, gap_mm: float, rng: Rng) -> FillResult:
    """Sprinkled, thinning from one state to another."""
    import numpy as np

    if params.along == "line" and len(params.line) < 2:
        return refused(
            field,
            "fade-without-line",
            'along = "line", but no line is given',
            "name a drawn line of two points or more, or give a direction",
        )
    most = ceiling(sizes, gap_mm)
    densest = max(params.start, params.end)
    if densest > most or min(params.start, params.end) < 0.0:
        return refused(
            field,
            "more-than-fits",
            f"a coverage of {densest:.1%} is asked for; with these stones and a gap of "
            f"{gap_mm:g} mm no setting covers more than {most:.1%}",
            f"ask for coverages between 0 and {most:.2f}",
        )
    far = how_far(field, params)

    def density(x: Any, y: Any) -> Any:
        return params.start + (params.end - params.start) * far(x, y)

    def shares_at(x: Any, y: Any) -> list[Any]:
        at = far(x, y) * (len(sizes) - 1)
        return [np.maximum(1.0 - np.abs(at - s), 0.0) for s in range(len(sizes))]

    points = _samples(field)
    # What stones already lie on is not the fade's to cover, or it would be too dense beside them.
    bare = points[_clear_of_stones(points, field, gap_mm / 2.0)]
    wanted = density(bare[:, 0], bare[:, 1]).sum() * field.area_mm2 / len(points)
    graded = params.grade and len(sizes) > 1
    # Graded sizes: coverage is kept by the mean stone of the whole zone, near enough.
    count = round(float(wanted) / mean_area(sizes))
    return set_open(
        field, sizes, gap_mm, rng, count, density, shares_at if graded else None, by_area=True
    )


def shades(field: Field, params: Parameters) -> Callable[[Any, Any], Any] | None:
    """How far along the fade colours are shaded by, if they are to be."""
    return how_far(field, params) if params.shade else None


def _samples(field: Field) -> Any:
    """Some thousand points spread evenly over the zone."""
    import numpy as np
    from shapely import Polygon, contains_xy

    shape = Polygon(field.rings[0])
    for ring in field.rings[1:]:
        shape = differing(shape, Polygon(ring))
    x0, y0, x1, y1 = shape.bounds
    step = max(math.sqrt((x1 - x0) * (y1 - y0) / 8000.0), 1e-6)
    xs, ys = np.meshgrid(np.arange(x0 + step / 2, x1, step), np.arange(y0 + step / 2, y1, step))
    points = np.column_stack([xs.ravel(), ys.ravel()])
    inside = points[contains_xy(shape, points[:, 0], points[:, 1])]
    return inside if len(inside) else np.array([field.rings[0][0]])


def _clear_of_stones(points: Any, field: Field, gap_mm: float) -> Any:
    """Which of the points no round obstacle, grown by a gap, lies on."""
    import numpy as np
    from scipy.spatial import cKDTree

    clear, tree = np.ones(len(points), dtype=bool), cKDTree(points)
    for stone in field.obstacles:
        if len(stone.corners) == 1:
            clear[tree.query_ball_point(stone.corners[0], stone.radius_mm + gap_mm)] = False
    return clear


STYLE = FillStyle(
    "faded",
    "sprinkled, thinning along a direction, a line or away from the edge",
    Parameters,
    fill,
    shades=shades,
)
