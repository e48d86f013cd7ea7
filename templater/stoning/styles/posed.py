"""Filling in the zone's own frame, so that a turned or mirrored zone is filled alike."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace

from templater.geometry.pose import inverse, pose_of
from templater.model.curves import Point, Ring, Transform
from templater.model.ground import Fold
from templater.model.stones import Field
from templater.stoning.styles.base import FillResult

MARGIN_MM = 3e-4
"""Added to gaps in the zone's own frame, half of it to walls: places are snapped once more after."""


def in_own_frame(
    field: Field, gap_mm: float, work: Callable[[Field, float], FillResult]
) -> FillResult:
    """The stones that `work` sets in the field moved to its own frame, moved back and snapped.

    A zone with a fold stays where it is: centred stones have to lie on the fold exactly.
    """
    if field.fold is not None:
        return work(field, gap_mm)
    pose = pose_of(field.rings)
    found = work(_moved(field, pose), gap_mm + MARGIN_MM)
    back = inverse(pose)
    places = [back.apply(place) for place in zip(found.x_mm, found.y_mm, strict=True)]
    rows = sorted(
        (round(y, 4) + 0.0, round(x, 4) + 0.0, size)
        for (x, y), size in zip(places, found.size_index, strict=True)
    )
    return replace(
        found,
        x_mm=tuple(x for _, x, _ in rows),
        y_mm=tuple(y for y, _, _ in rows),
        size_index=tuple(size for _, _, size in rows),
    )


def _moved(field: Field, pose: Transform) -> Field:
    def ring(points: Iterable[Point]) -> Ring:
        # Rounded, so that the last bits of a turned drawing do not decide anything.
        return tuple((round(x, 7), round(y, 7)) for x, y in map(pose.apply, points))

    def ordered(points: Ring) -> Ring:
        # Nor the corner at which a ring was begun, nor the way it was run in a mirror image.
        turned = ring(reversed(points) if pose.mirrors else points)
        first = turned.index(min(turned))
        return (*turned[first:], *turned[:first])

    walls = []
    for wall in field.walls:
        (x0, y0), (x1, y1) = sorted(ring((wall[:2], wall[2:4])))
        walls.append(
            wall._replace(
                x0=x0, y0=y0, x1=x1, y1=y1, clearance_mm=wall.clearance_mm + MARGIN_MM / 2.0
            )
        )
    return replace(
        field,
        rings=tuple(ordered(points) for points in field.rings),
        walls=tuple(sorted(walls)),
        lows=tuple(
            area._replace(rings=tuple(ring(points) for points in area.rings)) for area in field.lows
        ),
        obstacles=tuple(sorted(o._replace(corners=ring(o.corners)) for o in field.obstacles)),
        fold=None if field.fold is None else Fold(*ring((field.fold.start, field.fold.end))),
        row_lines=(),
    )
