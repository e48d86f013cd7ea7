"""Rows of two zones in step: a stone that faces the other zone's corner stone across the line.

Each zone is still set alone: of the other its drawing is asked, never its stones. Imported late
(numpy, shapely).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Literal

from templater.geometry.chains import even_pitch
from templater.geometry.flatten import flatten
from templater.geometry.polygons import united
from templater.model.curves import Path, Point
from templater.model.ground import EdgeKind, Ground, Zone
from templater.model.stones import Obstacle, Size
from templater.stoning.corners import places_on
from templater.stoning.fields import make_field
from templater.stoning.flat_bits import FLAT_MM
from templater.stoning.strands import Marks, Strand, spans_between, strands

_ACROSS_MM = 0.05
_OPENS = 1.2
"""A row opens no more than by this for the sake of a facing stone: to its own corner beside it the
way may be short."""


def corners_across(
    zone: Zone,
    ground: Ground,
    size: Size,
    gap_mm: float,
    edge_mm: float,
    along: Literal["visible", "all"],
    obstacles: Sequence[Obstacle],
) -> list[Point]:
    """Where rows of the zones beside this one, if set like its own, begin and end along its edge."""
    lines: dict[str, list[Path]] = {}
    for region in zone.regions:
        for edge in (edge for ring in region.rings for edge in ring):
            if edge.kind is EdgeKind.NEIGHBOUR and not edge.border and not edge.path.closed:
                lines.setdefault(edge.name, []).append(edge.path)
    found: list[Point] = []
    for other in (other for other in ground.zones if other.name in lines):
        field = make_field(
            other, ground, gap_mm=gap_mm, edge_mm=edge_mm, along=along, obstacles=obstacles
        )
        ends = [at for strand in strands(field, size, gap_mm) for at in _ends(strand)]
        found += _beside(
            ends, lines[other.name], (size.width_mm + max(gap_mm, 2.0 * edge_mm)) / 2.0
        )
    return found


def _ends(strand: Strand) -> list[Point]:
    """The strand's tips, and its ends if it is open and they are none of a fold."""
    ends = [strand.at(corner.along_mm) for corner in strand.corners if corner.turn_deg > 0.0]
    if not strand.closed and not strand.starts_on_fold:
        ends.append(strand.line.points[0])
    if not strand.closed and not strand.ends_on_fold:
        ends.append(strand.line.points[-1])
    return ends


def _beside(points: Sequence[Point], lines: Sequence[Path], reach_mm: float) -> list[Point]:
    from shapely import LineString, distance
    from shapely import points as as_points

    if not points:
        return []
    line = united(LineString(flatten(path, FLAT_MM)) for path in lines)
    far = distance(as_points(points), line).tolist()
    return [at for at, mm in zip(points, far, strict=True) if mm <= reach_mm + _ACROSS_MM]


def facing_places(
    strand: Strand, marks: Marks, across: Sequence[Point], pitch_mm: float
) -> list[float]:
    """Places along a strand that face stones across the line, those left out for which the row would
    have to open between them and its own corners.
    """
    within = pitch_mm + _ACROSS_MM
    near = [place for place in places_on(strand.line, across, within) if place is not None]
    own = [strand.along(place) for place in marks.places]
    kept = sorted(
        {
            place
            for place in near
            if all(math.dist(strand.at(place), strand.at(o)) >= pitch_mm - 1e-6 for o in own)
        }
    )
    while True:
        trial = Marks([*own, *kept], marks.tips, marks.shut)
        faces = {strand.at(place): place for place in kept}
        loose = {
            faces[end]
            for span in spans_between(strand, trial)
            for end, other in _both_ways(span.line.points)
            if end in faces
            and other not in faces
            and even_pitch(span.line, pitch_mm) > _OPENS * pitch_mm
        }
        if not loose:
            return kept
        kept = [place for place in kept if place not in loose]


def _both_ways(points: Sequence[Point]) -> tuple[tuple[Point, Point], tuple[Point, Point]]:
    return (points[0], points[-1]), (points[-1], points[0])
