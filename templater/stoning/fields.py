"""Where the stones of one zone may lie: its boundary as walls, what is kept clear, the fold."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from templater.geometry.flatten import flatten
from templater.geometry.measure import box_of, join_boxes
from templater.geometry.polygons import overlap, united
from templater.model.curves import Box, Point, Ring
from templater.model.ground import Edge, EdgeKind, Fold, Ground, Make, Zone
from templater.model.stones import Field, LowArea, Obstacle, Wall
from templater.stoning.clear_shapes import REACH_MM, clear_walls, is_near, less_clear
from templater.stoning.flat_bits import FLAT_MM, Bit, bits, meet, polygon

if TYPE_CHECKING:
    from shapely import MultiPolygon


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
    lies beyond it, at a dart or at a fold; on a piece made `fold` they keep half their gap from the fold
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
            runs = _joined([_run(edge, gap_mm, edge_mm, along, others) for edge in ring])
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
    clear = [keep for keep in ground.keep_clear if keep.piece == zone.piece and is_near(keep, box)]
    for keep in clear:
        walls += clear_walls(keep, box)
    lows: list[LowArea] = []
    for low in ground.lows:
        low_rings = tuple(flatten(p, FLAT_MM) for p in (low.area.outline, *low.area.holes))
        if low.piece == zone.piece and meet(box_of(low_rings[0]), box, REACH_MM):
            lows.append(LowArea(low.height_mm, low_rings))
            walls += [
                Wall(*start, *end, clearance, low.height_mm)
                for path in (low.area.outline, *low.area.holes)
                for start, end, clearance in bits(path.segments, 0.0, safe_left=False)
            ]
    free, area_mm2 = less_clear(rings, clear)
    return Field(
        zone=zone.name,
        piece=zone.piece,
        rings=free,
        walls=tuple(walls),
        lows=tuple(lows),
        obstacles=tuple(o for o in obstacles if meet(_obstacle_box(o), box, REACH_MM)),
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
    if edge.kind in {EdgeKind.NEIGHBOUR, EdgeKind.FOLD, EdgeKind.DART}:
        clearance = max(edge_mm, gap_mm / 2.0)
    else:
        clearance = edge_mm
    found = bits(edge.path.segments, clearance, safe_left=True)
    if others is not None and clearance < gap_mm / 2.0:
        found = [part for bit in found for part in _split_near(bit, others, gap_mm / 2.0)]
    # What meets the zone's own other half across a dart is no outline of it.
    inner = edge.kind is EdgeKind.FOLD or (edge.kind is EdgeKind.DART and not edge.visible)
    rowed = not inner and not edge.border and (edge.visible or along == "all")
    return _Run(tuple(found), rowed)


def _joined(runs: Sequence[_Run]) -> list[_Run]:
    """The runs of a ring with each beginning to the bit where the one before it ends."""
    last = next(run.bits[-1][1] for run in reversed(runs) if run.bits)
    made: list[_Run] = []
    for run in runs:
        bits_of = run.bits
        if bits_of:
            _, end, clearance = bits_of[0]
            bits_of = ((last, end, clearance), *bits_of[1:]) if end != last else bits_of[1:]
            last = run.bits[-1][1]
        made.append(_Run(bits_of, run.rowed))
    return made


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
    shapes = [
        polygon([flatten(p, FLAT_MM) for p in (region.area.outline, *region.area.holes)])
        for other in ground.zones
        if other.name != zone.name and other.piece == zone.piece
        for region in other.regions
    ]
    # The buffer may fall short of its distance by a hundredth: GEOS thins its input.
    return united(shape.buffer(gap_mm * 1.02 + FLAT_MM) for shape in shapes) if shapes else None


def _split_near(bit: Bit, others: MultiPolygon, clearance_mm: float) -> list[Bit]:
    """A bit cut where it comes near another zone; the near parts keep `clearance_mm`."""
    from shapely import LineString, get_parts

    start, end, clearance = bit
    line = LineString((start, end))
    near = overlap(line, others)
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


def _obstacle_box(obstacle: Obstacle) -> Box:
    x0, y0, x1, y1 = box_of(obstacle.corners)
    r = obstacle.radius_mm
    return (x0 - r, y0 - r, x1 + r, y1 + r)
