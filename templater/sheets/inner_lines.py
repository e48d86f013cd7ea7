"""Lines within a part: the fold it is cut across, creases, darts, and inner seams."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from templater.geometry.flatten import flatten
from templater.geometry.polygons import overlap, polyline, to_polygon, without
from templater.model.curves import Path, Point, Segment
from templater.model.ground import EdgeKind, Fold, Ground, Side
from templater.model.parts import CutPart, PartKind

_FLAT_MM = 0.02


def finished_lines(part: CutPart) -> tuple[Path, ...]:
    """The finished line where it is not the cut line itself, in stretches."""
    from shapely import LineString

    edge = to_polygon(part.cut, _FLAT_MM / 4.0).boundary.buffer(2.0 * _FLAT_MM)
    paths: list[Path] = []
    for ring in (part.finished.outline, *part.finished.holes):
        apart = [
            not edge.covers(LineString(flatten(Path((segment,), closed=False), _FLAT_MM / 4.0)))
            for segment in ring.segments
        ]
        if all(apart):
            paths.append(ring)
            continue
        # Begin after a stretch left out, so that no stretch is cut in two at the ring's start.
        first = apart.index(False)
        run: list[Segment] = []
        for place in range(first, first + len(apart) + 1):
            if apart[place % len(apart)]:
                run.append(ring.segments[place % len(apart)])
            elif run:
                paths.append(Path(tuple(run), closed=False))
                run = []
    return tuple(paths)


def inner_lines(
    part: CutPart, ground: Ground, avoid: Any
) -> tuple[tuple[Path, ...], tuple[Path, ...]]:
    """Fold lines, and seam and dart lines, within the part's cut line, in its reference frame.

    They are broken where they would run through `avoid`, a polygon round the label.
    """
    piece = ground.piece(part.piece)
    cut = without(to_polygon(part.cut, _FLAT_MM), avoid)
    folds: list[Path] = []
    seams: list[Path] = []
    both = part.side is Side.CENTRE
    if both and piece.fold is not None:
        folds += _clipped(_long(piece.fold), cut)
    mirror = piece.fold.mirror.apply if both and piece.fold is not None else None
    for leg in _closed_legs(part, ground):
        seams += _both(leg, cut, mirror)
    if part.kind is PartKind.PIECE:
        for crease in piece.creases:
            folds += _both(flatten(crease, _FLAT_MM), cut, mirror)
        for dart in piece.darts:
            seams += _both((dart.left, dart.tip, dart.right), cut, mirror)
        for seam in piece.seams:
            # A seam along the edge is the edge; only inner ones are drawn.
            points = flatten(seam.path, _FLAT_MM)
            if _is_inner(points, part):
                seams += _both(points, cut, mirror)
    return tuple(folds), tuple(seams)


def _closed_legs(part: CutPart, ground: Ground) -> Iterator[tuple[Point, ...]]:
    """Where the darts closed in a part lie on it: over the sewn darts of the garment."""
    drawn: set[str] = set()
    for half in part.halves:
        region = ground.zone(part.zone).regions[half.region - 1]
        for edge in (edge for ring in region.rings for edge in ring):
            if edge.kind is EdgeKind.DART and edge.name not in drawn and not edge.visible:
                yield tuple(half.to_part.apply(at) for at in flatten(edge.path, _FLAT_MM))
        drawn |= {edge.name for ring in region.rings for edge in ring}


def _both(points: tuple[Point, ...], cut: Any, mirror: Any) -> list[Path]:
    paths = _clipped(points, cut)
    if mirror is not None:
        paths += _clipped(tuple(mirror(point) for point in points), cut)
    return paths


def _is_inner(points: tuple[Point, ...], part: CutPart) -> bool:
    from shapely import LineString

    edge = to_polygon(part.finished, _FLAT_MM).boundary
    return not edge.buffer(0.5).covers(LineString(points))


def _long(fold: Fold) -> tuple[Point, Point]:
    """The fold's line, drawn out well beyond any piece."""
    (x0, y0), (x1, y1) = fold.start, fold.end
    dx, dy = x1 - x0, y1 - y0
    length = (dx * dx + dy * dy) ** 0.5
    far = 10_000.0 / length
    return (x0 - dx * far, y0 - dy * far), (x1 + dx * far, y1 + dy * far)


def _clipped(points: tuple[Point, ...], cut: Any) -> list[Path]:
    from shapely import LineString, get_parts

    inside = overlap(LineString(points), cut)
    return [
        polyline([(x, y) for x, y in part.coords], closed=False)
        for part in get_parts(inside)
        if part.geom_type == "LineString" and part.length > 0.1
    ]
