"""Where stones of a drawn row may lie: on their piece, off what is kept clear, clear of other rows.

Imported late (shapely).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from templater.geometry.flatten import flatten
from templater.geometry.moves import moved_area
from templater.geometry.polygons import to_polygon, united
from templater.model.curves import Area
from templater.model.ground import Fold, Ground, Make
from templater.model.stones import Obstacle
from templater.stoning.bodies import Body
from templater.stoning.flat_bits import FLAT_MM
from templater.stoning.strands import side_of

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

_HAIR_MM = 1e-3


class RowGround:
    """What one piece allows its rows' stones; built once a row."""

    def __init__(
        self, piece_name: str, ground: Ground, obstacles: Sequence[Obstacle], gap_mm: float
    ) -> None:
        from shapely import LineString, Point, Polygon, prepare

        piece = ground.piece(piece_name)
        self.gap = gap_mm
        self.fold: Fold | None = piece.fold if piece.make is Make.FOLD else None
        self._inside: BaseGeometry | None = None
        self._rim: BaseGeometry | None = None
        if piece.area is not None:
            shape = to_polygon(piece.area, FLAT_MM)
            if self.fold is not None:
                shape = united(
                    [shape, to_polygon(moved_area(piece.area, self.fold.mirror), FLAT_MM)]
                )
            self._inside = shape.buffer(_HAIR_MM, join_style="mitre")
            self._rim = self._inside.boundary
            prepare(self._inside)
            prepare(self._rim)
        self._keep: list[tuple[BaseGeometry, float]] = []
        for keep in ground.keep_clear:
            if keep.piece != piece_name:
                continue
            if isinstance(keep.shape, Area):
                geometry = to_polygon(keep.shape, FLAT_MM)
            else:
                points = flatten(keep.shape, FLAT_MM)
                geometry = LineString((*points, points[0]) if keep.shape.closed else points)
            self._keep.append((geometry, keep.reach_mm + FLAT_MM))
        for obstacle in obstacles:
            ring = obstacle.corners
            geometry = Polygon(ring) if len(ring) > 2 else Point(ring[0])
            self._keep.append((geometry, obstacle.radius_mm + (gap_mm + obstacle.gap_mm) / 2.0))
        self._lows = [
            (to_polygon(low.area, FLAT_MM), low.height_mm)
            for low in ground.lows
            if low.piece == piece_name
        ]

    @property
    def is_open(self) -> bool:
        """Whether a stone may lie anywhere."""
        bounded = self._inside is not None or self.fold is not None
        return not (bounded or self._keep or self._lows)

    def allows(self, body: Body, *, on_fold: bool = False) -> bool:
        """Whether a stone may lie there (its row's own stones are not asked)."""
        shape = body.shape
        radius = body.radius_mm
        if self._inside is not None and self._rim is not None:
            if not self._inside.covers(shape):
                return False
            if radius > 0.0 and shape.distance(self._rim) < radius:
                return False
        if self.fold is not None and not on_fold and self.fold_room(body) < -1e-9:
            return False
        if any(shape.distance(g) - radius < reach - 1e-9 for g, reach in self._keep):
            return False
        return not any(
            body.size.height_mm > height and shape.distance(area) < radius + FLAT_MM
            for area, height in self._lows
        )

    def fold_room(self, body: Body) -> float:
        """How much farther than half a gap a stone stays from the fold (below 0: it does not)."""
        assert self.fold is not None
        middle = side_of(self.fold, body.at)
        sign = math.copysign(1.0, middle)
        nearest = min(sign * side_of(self.fold, corner) for corner in body.ring)
        return nearest - body.radius_mm - self.gap / 2.0
