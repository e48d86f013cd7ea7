"""The half of a shape on the drawn side of a fold, where a maker drew it whole."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from templater.geometry.polygons import differing, from_polygon, overlap, polygons_in, to_polygon
from templater.model.curves import Area
from templater.model.ground import Fold
from templater.model.problems import Problem, Problems, Severity, Source

if TYPE_CHECKING:
    from shapely import Polygon

SYMMETRIC_WITHIN_MM = 0.25
_FLAT_MM = 0.002
_FAR_MM = 1e4


def half_plane(fold: Fold, *, left: bool) -> Polygon:
    """The side of the fold to the left of (or right of) its direction, as a very large polygon."""
    from shapely import Polygon

    (x0, y0), (x1, y1) = fold.start, fold.end
    length = math.hypot(x1 - x0, y1 - y0)
    ux, uy = (x1 - x0) / length, (y1 - y0) / length
    nx, ny = (-uy, ux) if left else (uy, -ux)
    a = (x0 - _FAR_MM * ux, y0 - _FAR_MM * uy)
    b = (x0 + _FAR_MM * ux, y0 + _FAR_MM * uy)
    return Polygon(
        [
            a,
            b,
            (b[0] + _FAR_MM * nx, b[1] + _FAR_MM * ny),
            (a[0] + _FAR_MM * nx, a[1] + _FAR_MM * ny),
        ]
    )


def drawn_half(
    area: Area, fold: Fold, what: str, source: Source | None, *, side_of: Polygon | None = None
) -> tuple[Area, Problems]:
    """The area as it is if it lies on one side of the fold, else the half of a symmetric one.

    What was drawn across the fold must be its own mirror image within 0.25 mm; it is cut at the
    fold, on the side of `side_of` if given, else the side with the smaller x (smaller y for a
    level fold). An area that is not symmetric is an error with the place that differs most.
    """
    polygon = to_polygon(area, _FLAT_MM)
    halves = [_cut(polygon, half_plane(fold, left=left)) for left in (True, False)]
    thin = [half.buffer(-SYMMETRIC_WITHIN_MM / 2.0).is_empty for half in halves]
    if any(thin):
        return area, ()
    mirrored = _mirrored(halves[1], fold)
    unlike = differing(halves[0], mirrored)
    beyond = unlike.buffer(-SYMMETRIC_WITHIN_MM / 2.0)
    if not beyond.is_empty:
        place = polygons_in(beyond)[0].representative_point()
        return area, (
            Problem(
                "not-symmetric",
                Severity.ERROR,
                f"{what} lies on both sides of the fold, and its sides are not mirror images",
                "Draw only one side, up to the fold, or make the sides alike.",
                source,
                (place.x, place.y),
            ),
        )
    kept = _chosen(halves, side_of)
    return from_polygon(polygons_in(kept)[0]), (
        Problem(
            "drawn-whole",
            Severity.NOTE,
            f"{what} is drawn on both sides of the fold; the one side is used and mirrored",
            "",
            source,
            fold.start,
        ),
    )


def _cut(polygon: Polygon, other: Polygon) -> Polygon:
    return overlap(polygon, other)


def _chosen(halves: list[Polygon], side_of: Polygon | None) -> Polygon:
    if side_of is not None:
        return max(halves, key=lambda half: float(_cut(half, side_of).area))
    return min(halves, key=lambda half: (round(half.centroid.x, 3), round(half.centroid.y, 3)))


def _mirrored(polygon: Polygon, fold: Fold) -> Polygon:
    from shapely.affinity import affine_transform

    m = fold.mirror
    return affine_transform(polygon, [m.a, m.c, m.b, m.d, m.e, m.f])
