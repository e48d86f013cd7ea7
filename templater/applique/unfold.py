"""A half drawn to the fold, opened out to the whole that is cut from one cloth."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from templater.geometry.measure import signed_path_area
from templater.geometry.moves import moved_path, reversed_path
from templater.model.curves import Arc, Area, Cubic, Line, Path, Point, Segment, Transform
from templater.model.ground import Edge, EdgeKind, Fold

EdgeRing = tuple[Edge, ...]


def touches_fold(rings: Iterable[EdgeRing]) -> bool:
    return any(edge.kind is EdgeKind.FOLD for ring in rings for edge in ring)


def unfolded(rings: Sequence[EdgeRing], fold: Fold) -> tuple[EdgeRing, ...]:
    """The rings of the opened-out whole, outline first: fold edges gone, the rest mirrored.

    Every stretch of ring from the fold back to the fold closes with its own mirror image; a ring
    that stays clear of the fold is there twice.
    """
    mirror = fold.mirror
    opened: list[EdgeRing] = []
    for ring in rings:
        runs = _runs(ring)
        if runs is None:
            opened.extend((ring, _mirrored(ring, mirror)))
        else:
            opened.extend((*run, *_mirrored(run, mirror)) for run in runs)
    return tuple(sorted(opened, key=lambda ring: -signed_path_area(ring_path(ring))))


def _runs(ring: EdgeRing) -> list[EdgeRing] | None:
    """The stretches between fold edges; None if there is no fold edge."""
    firsts = [i for i, edge in enumerate(ring) if edge.kind is EdgeKind.FOLD]
    if not firsts:
        return None
    turned = (*ring[firsts[0] + 1 :], *ring[: firsts[0] + 1])
    runs: list[EdgeRing] = []
    run: list[Edge] = []
    for edge in turned:
        if edge.kind is not EdgeKind.FOLD:
            run.append(edge)
        elif run:
            runs.append(tuple(run))
            run = []
    return runs


def _mirrored(run: EdgeRing, mirror: Transform) -> EdgeRing:
    return tuple(
        replace(edge, path=reversed_path(moved_path(edge.path, mirror))) for edge in reversed(run)
    )


def ring_path(ring: EdgeRing) -> Path:
    """A ring's edges as one closed path; ends are put exactly on the next start."""
    segments = [segment for edge in ring for segment in edge.path.segments]
    closed = [
        ended_at(segment, segments[(i + 1) % len(segments)].start)
        for i, segment in enumerate(segments)
    ]
    return Path(tuple(closed), closed=True)


def ended_at(segment: Segment, end: Point) -> Segment:
    """A segment with its end moved by a rounding error."""
    match segment:
        case Line():
            return Line(segment.start, end)
        case Arc():
            return Arc(segment.start, end, segment.bulge)
        case Cubic():
            return Cubic(segment.start, segment.control1, segment.control2, end)


def started_at(segment: Segment, start: Point) -> Segment:
    """A segment with its start moved by a rounding error."""
    match segment:
        case Line():
            return Line(start, segment.end)
        case Arc():
            return Arc(start, segment.end, segment.bulge)
        case Cubic():
            return Cubic(start, segment.control1, segment.control2, segment.end)


def rings_area(rings: Sequence[EdgeRing]) -> Area:
    """The area inside rings, outline first."""
    outline, *holes = (ring_path(ring) for ring in rings)
    return Area(outline, tuple(holes))
