"""Many polygons laid over each other, cut along all their lines at once into faces.

Joining polygons two at a time rounds each time, and leaves cracks where edges were the same line.
Here every line is noded with all others once, so that what is joined of the faces has none.
Imports numpy and shapely inside functions.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy import bool_
    from numpy.typing import NDArray
    from shapely import Polygon
    from shapely.geometry.base import BaseGeometry

    Mask = NDArray[bool_]

GRID_MM = 1e-7
"""Lines a rounding error apart are one line."""


class Faces:
    """The faces between the outlines of polygons. A mask says of each face whether it belongs."""

    def __init__(self, polygons: Sequence[BaseGeometry]) -> None:
        import shapely

        lines = shapely.boundary(list(polygons))
        noded = shapely.unary_union(lines, grid_size=GRID_MM)
        self._faces = shapely.get_parts(shapely.polygonize([noded]))
        self._points = shapely.point_on_surface(self._faces)

    def within(self, polygons: Sequence[Polygon]) -> Mask:
        """Which faces lie in one of these polygons, whose outlines were given before."""
        import numpy as np
        import shapely

        mask = np.zeros(len(self._faces), dtype=bool)
        if len(polygons):
            found = shapely.STRtree(self._points).query(list(polygons), predicate="intersects")
            mask[found[1]] = True
        return mask

    def joined(self, mask: Mask) -> BaseGeometry:
        """The faces of a mask as one."""
        import shapely

        return shapely.coverage_union_all(self._faces[mask])

    def holding(self, mask: Mask, part: BaseGeometry) -> bool:
        """Whether a part holds a face of a mask."""
        import shapely

        return bool(shapely.intersects(part, self._points[mask]).any())
