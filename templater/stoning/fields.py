"""Where the stones of one zone may lie: its boundary as walls, what is kept clear, the fold.

Everything is flattened here, once, so that the error never costs clearance: chords that cut into
the zone's side are safe as they are, all others have the tolerance added to their clearance.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Literal

from templater.geometry.flatten import flatten
from templater.geometry.measure import box_of, join_boxes
from templater.geometry.polygons import polygons_in, rings_of
from templater.model.curves import Arc, Area, Box, Cubic, Line, Path, Point, Ring, Segment
from templater.model.ground import Edge, EdgeKind, Fold, Ground, KeepClear, Make, Zone
from templater.model.stones import Field, LowArea, Obstacle, Wall

if TYPE_CHECKING:
    from shapely import MultiPolygon, Polygon

FLAT_MM = 0.0005
REACH_MM = 25.0
"""How far beyond a zone's box something can still matter to its stones, besides its own reach."""

Bit = tuple[Point, Point, float]
"""A straight bit of boundary and the clearance a stone keeps from it."""


@dataclass(frozen=True, slots=True)
class _Run:
    """A stretch of boundary: its bits in order, whether an outline row follows it."""

    bits: tuple[Bit, ...]
    rowed: bool


def make_field(
    zone: Zone,
    ground: Ground,
    *,
    gap_mm: float,
    edge_mm: float,
    along: Literal["visible", "all"] = "visible",
    obstacles: Sequence[Obstacle] = (),
) -> Field:
    """The field of one zone for stones that keep `gap_mm` among themselves.

    Stones keep `edge_mm` from the zone's boundary, and at least half their gap where another zone
    lies beyond it or at a fold; on a piece made `fold` they keep half their gap from the fold
    alone, unless centred on it.
    """
    piece = ground.piece(zone.piece)
    joined = piece.make is Make.FOLD and piece.fold is not None
    others = _others_near(zone, ground, gap_mm) if edge_mm < gap_mm / 2.0 else None
    rings: list[Ring] = []
    walls: list[Wall] = []
    lines: list[tuple[Ring, bool]] = []
    for region in zone.regions:
        for ring in region.rings:
            runs = [_run(edge, gap_mm, edge_mm, along, others) for edge in ring]
            rings.append(tuple(start for run in runs for start, _, _ in run.bits))
            walls += [
                Wall(*start, *end, clearance)
                for edge, run in zip(ring, runs, strict=True)
                if not (joined and edge.kind is EdgeKind.FOLD)
                for start, end, clearance in run.bits
            ]
            lines += _row_lines(runs)
    box = join_boxes(box_of(ring) for ring in rings)
    fold = (
        piece.fold
        if joined and piece.fold is not None and _reaches(piece.fold, box, gap_mm)
        else None
    )
    if fold is not None:
        walls.append(_fold_wall(fold, box, gap_mm))
    clear = [keep for keep in ground.keep_clear if keep.piece == zone.piece and _near(keep, box)]
    for keep in clear:
        walls += _clear_walls(keep, box)
    lows: list[LowArea] = []
    for low in ground.lows:
        low_rings = tuple(flatten(p, FLAT_MM) for p in (low.area.outline, *low.area.holes))
        if low.piece == zone.piece and _meet(box_of(low_rings[0]), box, REACH_MM):
            lows.append(LowArea(low.height_mm, low_rings))
            walls += [
                Wall(*start, *end, clearance, low.height_mm)
                for path in (low.area.outline, *low.area.holes)
                for start, end, clearance in _bits(path.segments, 0.0, safe_left=False)
            ]
    free, area_mm2 = _less_clear(rings, clear)
    return Field(
        zone=zone.name,
        piece=zone.piece,
        rings=free,
        walls=tuple(walls),
        lows=tuple(lows),
        obstacles=tuple(o for o in obstacles if _meet(_obstacle_box(o), box, REACH_MM)),
        fold=fold,
        row_lines=tuple(lines),
        area_mm2=area_mm2,
        flat_mm=FLAT_MM,
    )


def _run(
    edge: Edge,
    gap_mm: float,
    edge_mm: float,
    along: Literal["visible", "all"],
    others: MultiPolygon | None,
) -> _Run:
    if edge.kind is EdgeKind.NEIGHBOUR or edge.kind is EdgeKind.FOLD:
        clearance = max(edge_mm, gap_mm / 2.0)
    else:
        clearance = edge_mm
    bits = _bits(edge.path.segments, clearance, safe_left=True)
    if others is not None and clearance < gap_mm / 2.0:
        bits = [part for bit in bits for part in _split_near(bit, others, gap_mm / 2.0)]
    rowed = edge.kind is not EdgeKind.FOLD and (edge.visible or along == "all")
    return _Run(tuple(bits), rowed)


def _bits(segments: Iterable[Segment], clearance_mm: float, *, safe_left: bool) -> list[Bit]:
    """Segments as straight bits. `safe_left`: stones lie to the left only, so that chords of curves
    that turn left lose nothing.
    """
    bits: list[Bit] = []
    for segment in segments:
        points = flatten(Path((segment,), closed=False), FLAT_MM)
        exact = isinstance(segment, Line) or (safe_left and _turns_left(segment))
        grown = clearance_mm if exact else clearance_mm + FLAT_MM
        bits += [(start, end, grown) for start, end in pairwise(points) if start != end]
    return bits


def _turns_left(segment: Segment) -> bool:
    """Whether a curve bends to the left all along, so that its chords lie on its left."""
    match segment:
        case Line():
            return True
        case Arc():
            return segment.bulge >= 0.0
        case Cubic():
            corners = (segment.start, segment.control1, segment.control2, segment.end)
            return all(_cross(*triple) >= 0.0 for triple in _triples((*corners, corners[0])))


def _triples(points: Sequence[Point]) -> Iterable[tuple[Point, Point, Point]]:
    return zip(points, points[1:], points[2:], strict=False)


def _cross(a: Point, b: Point, c: Point) -> float:
    return (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0])


def _row_lines(runs: Sequence[_Run]) -> list[tuple[Ring, bool]]:
    """The stretches of a ring that carry a row, joined across the ring's start."""
    if all(run.rowed for run in runs):
        return [(tuple(start for run in runs for start, _, _ in run.bits), True)]
    first = next(k for k, run in enumerate(runs) if not run.rowed)
    lines: list[tuple[Ring, bool]] = []
    points: list[Point] = []
    for run in (*runs[first:], *runs[:first], _Run((), rowed=False)):
        if run.rowed and run.bits:
            points += _points_of(run.bits)[1 if points else 0 :]
        elif not run.rowed and points:
            lines.append((tuple(points), False))
            points = []
    return lines


def _points_of(bits: Sequence[Bit]) -> list[Point]:
    return [bits[0][0], *(end for _, end, _ in bits)]


def _others_near(zone: Zone, ground: Ground, gap_mm: float) -> MultiPolygon | None:
    """Every place at most a gap from another zone of the piece (None: there is none)."""
    from shapely import union_all

    shapes = [
        _polygon([flatten(p, FLAT_MM) for p in (region.area.outline, *region.area.holes)])
        for other in ground.zones
        if other.name != zone.name and other.piece == zone.piece
        for region in other.regions
    ]
    # The buffer may fall short of its distance by a hundredth: GEOS thins its input.
    return (
        union_all([shape.buffer(gap_mm * 1.02 + FLAT_MM) for shape in shapes]) if shapes else None
    )


def _split_near(bit: Bit, others: MultiPolygon, clearance_mm: float) -> list[Bit]:
    """A bit cut where it comes near another zone; the near parts keep `clearance_mm`."""
    from shapely import LineString, get_parts

    start, end, clearance = bit
    line = LineString((start, end))
    near = line.intersection(others)
    if near.is_empty or near.length == 0.0:
        return [bit]
    if near.length >= line.length * (1.0 - 1e-9):
        return [(start, end, max(clearance, clearance_mm))]
    spans = sorted(
        (line.project(part.interpolate(0.0)), line.project(part.interpolate(part.length)))
        for part in get_parts(near)
        if part.length > 0.0
    )
    cuts: list[tuple[float, float, float]] = []
    done = 0.0
    for low, high in (sorted(span) for span in spans):
        if low > done:
            cuts.append((done, low, clearance))
        cuts.append((low, high, max(clearance, clearance_mm)))
        done = high
    if done < line.length:
        cuts.append((done, line.length, clearance))

    def at(distance: float) -> Point:
        t = distance / line.length
        if t <= 0.0:
            return start
        if t >= 1.0:
            return end
        return (start[0] + t * (end[0] - start[0]), start[1] + t * (end[1] - start[1]))

    return [(at(low), at(high), kept) for low, high, kept in cuts if at(low) != at(high)]


def _reaches(fold: Fold, box: Box, gap_mm: float) -> bool:
    """Whether a zone's box comes within half a gap of the fold line."""
    (fx, fy), (ex, ey) = fold.start, fold.end
    length = math.hypot(ex - fx, ey - fy)
    sides = [
        ((ex - fx) * (y - fy) - (ey - fy) * (x - fx)) / length
        for x in (box[0], box[2])
        for y in (box[1], box[3])
    ]
    return min(sides) <= gap_mm / 2.0 and max(sides) >= -gap_mm / 2.0


def _fold_wall(fold: Fold, box: Box, gap_mm: float) -> Wall:
    """The fold along the whole of a zone: every stone not centred on it keeps half a gap."""
    (fx, fy), (ex, ey) = fold.start, fold.end
    length = math.hypot(ex - fx, ey - fy)
    dx, dy = (ex - fx) / length, (ey - fy) / length
    along = [(x - fx) * dx + (y - fy) * dy for x in (box[0], box[2]) for y in (box[1], box[3])]
    low, high = min(along) - REACH_MM, max(along) + REACH_MM
    return Wall(
        fx + low * dx, fy + low * dy, fx + high * dx, fy + high * dy, gap_mm / 2.0, is_fold=True
    )


def _paths_of(keep: KeepClear) -> tuple[Path, ...]:
    if isinstance(keep.shape, Area):
        return (keep.shape.outline, *keep.shape.holes)
    return (keep.shape,)


def _near(keep: KeepClear, box: Box) -> bool:
    return _meet(box_of(flatten(_paths_of(keep)[0], 0.1)), box, keep.reach_mm + REACH_MM)


def _clear_walls(keep: KeepClear, box: Box) -> list[Wall]:
    return [
        Wall(*start, *end, clearance)
        for path in _paths_of(keep)
        for start, end, clearance in _bits(path.segments, keep.reach_mm, safe_left=False)
        if _meet(box_of((start, end)), box, clearance + REACH_MM)
    ]


def _meet(one: Box, other: Box, within_mm: float) -> bool:
    return (
        one[0] <= other[2] + within_mm
        and other[0] <= one[2] + within_mm
        and one[1] <= other[3] + within_mm
        and other[1] <= one[3] + within_mm
    )


def _obstacle_box(obstacle: Obstacle) -> Box:
    x0, y0, x1, y1 = box_of(obstacle.corners)
    r = obstacle.radius_mm
    return (x0 - r, y0 - r, x1 + r, y1 + r)


def _polygon(rings: Sequence[Ring]) -> Polygon:
    from shapely import Polygon

    return Polygon(rings[0], rings[1:])


def _less_clear(
    rings: Sequence[Ring], clear: Sequence[KeepClear]
) -> tuple[tuple[Ring, ...], float]:
    """The zone's rings less the clear areas, and the area less what clear shapes reach over."""
    from shapely import LineString, union_all

    whole = even_odd(rings)
    if not clear:
        return tuple(rings), float(whole.area)
    areas, reaches = [], []
    for keep in clear:
        flat = [flatten(path, FLAT_MM) for path in _paths_of(keep)]
        if isinstance(keep.shape, Area):
            shape = _polygon(flat)
            areas.append(shape)
        else:
            points = flat[0]
            shape = LineString((*points, points[0]) if keep.shape.closed else points)
        reaches.append(shape.buffer(keep.reach_mm, quad_segs=32))
    left = whole.difference(union_all(reaches))
    hard = [area for area in areas if area.intersects(whole)]
    if not hard:
        return tuple(rings), float(left.area)
    rest = whole.difference(union_all(hard))
    free = tuple(ring for polygon in polygons_in(rest) for ring in rings_of(polygon))
    return free, float(left.area)


def even_odd(rings: Sequence[Ring]) -> Polygon | MultiPolygon:
    """The rings as one shape, inside by the even-odd rule."""
    from shapely import Polygon

    shape = Polygon()
    for ring in rings:
        shape = shape.symmetric_difference(Polygon(ring))
    return shape
