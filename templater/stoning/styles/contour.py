"""`contour`: rows that follow the outline inwards, the middle filled with what still fits."""

from __future__ import annotations

import math
from dataclasses import dataclass
from dataclasses import field as parameter
from itertools import pairwise
from typing import TYPE_CHECKING

from templater.geometry.polygons import differing, united, without
from templater.geometry.rng import Rng
from templater.model.curves import Point, Ring
from templater.model.stones import Field
from templater.stoning.styles.base import FillResult, FillStyle, Sizes, gathered, prepared

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

_SAFE_MM = 6e-4
_THINNED = 0.011
"""Kept beyond every distance, as a share of it: buffers thin their input by a hundredth of their width,
and no stone that lies square behind another may be dropped for that."""
_QUAD_SEGS = 16


@dataclass(frozen=True, slots=True)
class Parameters:
    """How rows follow each other."""

    row_gap: float | None = parameter(
        default=None,
        metadata={
            "doc": "gap between rows, mm; without it, the fill's own gap, opened evenly where that "
            "brings the rows together in the middle"
        },
    )
    fill_rest: bool = parameter(
        default=True,
        metadata={"doc": "fill what is left between rows and in the middle, smaller sizes too"},
    )


def fill(
    field: Field,
    params: Parameters,
    sizes: Sizes,
    gap_mm: float,
    rng: Rng,  # noqa: ARG001 (a style takes one; nothing here is left to chance)
) -> FillResult:
    """Rows that follow the outline inwards: sizes in turn, the first outermost."""
    import shapely

    from templater.geometry.kernels.packing import filled_up
    from templater.geometry.kernels.room import put, snapped, stands_free
    from templater.geometry.kernels.space import copied, roomier
    from templater.geometry.polygons import polygons_in, rings_of
    from templater.stoning.styles.seam import slits_eased

    space, start = prepared(field, sizes, gap_mm)
    stones = copied(start)
    apart = gap_mm if params.row_gap is None else max(params.row_gap, gap_mm)
    rest = _open_shape(field, gap_mm)
    if params.row_gap is None and len(sizes) == 1:
        apart = _closing_gap(rest, sizes[0][0].length_mm, gap_mm)
    row = 0
    while not rest.is_empty:
        size = row % len(sizes)
        radius = sizes[size][0].length_mm / 2.0
        line = rest.buffer(
            -((radius + (0.0 if row == 0 else apart)) * (1.0 + _THINNED) + _SAFE_MM), quad_segs=32
        )
        for polygon in polygons_in(line):
            for ring in rings_of(polygon):
                for x, y in _places(ring, 2.0 * radius + gap_mm + 3e-4):
                    at = snapped(x), snapped(y)
                    if stands_free(space, stones, *at, size, False, -1):
                        stones = roomier(stones, _doubled(stones))
                        put(space, stones, *at, size, 0)
        if line.is_empty and row % len(sizes) == len(sizes) - 1:
            break
        if not line.is_empty:
            rest = line.buffer(-radius * (1.0 + _THINNED), quad_segs=32)
            shapely.prepare(rest)
        row += 1
    if params.fill_rest:
        stones = filled_up(space, stones)
        if params.row_gap is None and len(sizes) == 1:
            stones = slits_eased(field, space, start, stones, sizes, gap_mm, apart)
    return gathered(stones, maximal=params.fill_rest)


def _doubled(stones: object) -> int:
    held, room = int(stones.held[0]), len(stones.x)  # type: ignore[attr-defined] # a Stones, typed late
    return room if held < room else 2 * room


def _closing_gap(shape: BaseGeometry, width_mm: float, gap_mm: float) -> float:
    """The gap between rows of one size at which they meet in the middle of the widest place.

    At least `gap_mm`; with n rows across, each at most one part in n − 1 of a pitch above it.
    """
    import shapely

    if shape.is_empty:
        return gap_mm
    more = 1.0 + _THINNED
    across = 2.0 * (float(shapely.maximum_inscribed_circle(shape).length) - _SAFE_MM)
    across -= width_mm * more
    steps = math.floor(across / ((width_mm + gap_mm) * more + _SAFE_MM))
    # A hair less than it takes: the middle row is then still a line to string stones on.
    return max(gap_mm, (across / steps - 4e-3) / more - width_mm) if steps > 0 else gap_mm


def _places(ring: Ring, pitch_mm: float) -> list[Point]:
    """A stone at each corner of a row, evenly strung between; round a smooth one evenly."""
    from templater.geometry.chains import chain, even_chords
    from templater.geometry.chords import even_ring
    from templater.stoning.corners import kinks, rounded_ends

    line = chain((*ring, ring[0]))
    total = line.length_mm
    places = [corner.along_mm for corner in kinks(line, closed=True)]
    for bend in rounded_ends(line, pitch_mm, closed=True):
        apart = [abs(bend.along_mm - place) for place in places]
        if all(min(a, total - a) > pitch_mm for a in apart):
            places.append(bend.along_mm)
    if not places:
        return list(even_ring(_from_corner(ring), pitch_mm))
    cuts = sorted(place % total for place in places)
    found: list[Point] = []
    for low, high in pairwise([*cuts, cuts[0] + total]):
        part = line.part(low, min(high, total))
        if high > total and high - total > 1e-9:
            part = chain((*part.points, *line.part(0.0, high - total).points))
        steps = even_chords(part, pitch_mm)
        found += [part.at(step) for step in (steps[:-1] if len(steps) > 1 else steps)]
    return found


def _from_corner(ring: Ring) -> Ring:
    """The ring begun at its sharpest corner, so that rows start alike and corners get a stone."""
    count = len(ring)

    def sharpness(k: int) -> tuple[float, float, float]:
        (ax, ay), (bx, by), (cx, cy) = ring[k - 1], ring[k], ring[(k + 1) % count]
        ux, uy, vx, vy = bx - ax, by - ay, cx - bx, cy - by
        lengths = ((ux * ux + uy * uy) * (vx * vx + vy * vy)) ** 0.5
        turn = (ux * vx + uy * vy) / lengths if lengths > 0.0 else 1.0
        return (round(turn, 6), bx, by)

    first = min(range(count), key=sharpness)
    return (*ring[first:], *ring[:first])


def _open_shape(field: Field, gap_mm: float) -> BaseGeometry:
    """The zone less what walls keep clear and less the stones there, scallops between them closed."""
    from shapely import LineString, Point, Polygon

    shape = Polygon(field.rings[0])
    for ring in field.rings[1:]:
        shape = differing(shape, Polygon(ring))
    by_clearance: dict[float, list[LineString]] = {}
    for wall in field.walls:
        if wall.limit_mm < 0.0 and wall.clearance_mm > 0.0:
            by_clearance.setdefault(wall.clearance_mm, []).append(LineString([wall[:2], wall[2:4]]))
    for clearance, lines in sorted(by_clearance.items()):
        shape = without(shape, united(lines).buffer(clearance))
    if not field.obstacles:
        return shape
    discs = []
    # Circles become polygons that hold them, so that no stone of the first row is dropped.
    holding = 1.0 / math.cos(math.pi / (4 * _QUAD_SEGS))
    for stone in field.obstacles:
        body = Point(stone.corners[0]) if len(stone.corners) < 3 else Polygon(stone.corners)
        discs.append(
            body.buffer(
                (stone.radius_mm + (stone.gap_mm + gap_mm) / 2.0) * holding, quad_segs=_QUAD_SEGS
            )
        )
    widest = max(stone.radius_mm for stone in field.obstacles) + gap_mm + 1.0
    taken = united(discs)
    return without(shape, united([taken, taken.buffer(widest).buffer(-widest)]))


STYLE = FillStyle(
    "contour", "rows that follow the outline inwards, the middle filled", Parameters, fill
)
