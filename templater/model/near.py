"""What lies near a zone, so that it can be handed all it depends on and no more."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from templater.model.curves import Arc, Cubic, Line, Point, Segment
from templater.model.ground import Ground, Zone

NEAR_MM = 5.0
"""Zones nearer than this can matter to each other's stones, whatever their gaps (common ones are
below 1 mm)."""

Cell = tuple[int, int]


def ground_around(ground: Ground, zone: Zone, reach_mm: float = NEAR_MM) -> Ground:
    """What one zone can depend on: its piece and what lies on it, and of the other zones those
    of its piece within `reach_mm`.
    """
    here = zone.piece
    others = tuple(z for z in ground.zones if z.piece == here and z.name != zone.name)
    return replace(
        ground,
        pieces=(ground.piece(here),),
        zones=(zone, *zones_near(zone, others, reach_mm)),
        rows=(),
        surfaces=(ground.surface(here),),
        keep_clear=tuple(keep for keep in ground.keep_clear if keep.piece == here),
        lows=tuple(low for low in ground.lows if low.piece == here),
        references=(),
    )


def zones_near(zone: Zone, others: Sequence[Zone], reach_mm: float = NEAR_MM) -> tuple[Zone, ...]:
    """Those of the other zones whose boundary comes within `reach_mm` of this zone's.

    Told by squares of that side which the boundaries touch: none nearer is left out, and none more
    than three sides away is taken in. Zones do not overlap, so that boundaries tell.
    """
    here = {
        (column + i, row + j)
        for column, row in _cells(zone, reach_mm)
        for i in (-1, 0, 1)
        for j in (-1, 0, 1)
    }
    return tuple(other for other in others if any(cell in here for cell in _cells(other, reach_mm)))


def _cells(zone: Zone, side_mm: float) -> Iterator[Cell]:
    """The squares that the boxes of short bits of a zone's boundary touch."""
    for region in zone.regions:
        for path in (region.area.outline, *region.area.holes):
            for segment in path.segments:
                for x0, y0, x1, y1 in _boxes(segment, side_mm):
                    for column in range(math.floor(x0 / side_mm), math.floor(x1 / side_mm) + 1):
                        for row in range(math.floor(y0 / side_mm), math.floor(y1 / side_mm) + 1):
                            yield column, row


def _boxes(segment: Segment, side_mm: float) -> Iterator[tuple[float, float, float, float]]:
    """Boxes that hold a segment, halved until none is longer than a square's side."""
    points = _hull(segment)
    xs, ys = [x for x, _ in points], [y for _, y in points]
    box = (min(xs), min(ys), max(xs), max(ys))
    if max(box[2] - box[0], box[3] - box[1]) <= side_mm:
        yield box
    else:
        for half in _halves(segment):
            yield from _boxes(half, side_mm)


def _hull(segment: Segment) -> tuple[Point, ...]:
    """Points whose box holds the segment."""
    match segment:
        case Line(start, end):
            return (start, end)
        case Cubic(start, control1, control2, end):
            return (start, control1, control2, end)
        case Arc(start, end, bulge):
            # No point of an arc is farther from its chord's middle than half the chord or its rise.
            (x, y), far = _middle(start, end), math.dist(start, end) / 2.0 * max(1.0, abs(bulge))
            return ((x - far, y - far), (x + far, y + far))


def _halves(segment: Segment) -> tuple[Segment, Segment]:
    match segment:
        case Line(start, end):
            middle = _middle(start, end)
            return Line(start, middle), Line(middle, end)
        case Cubic(start, control1, control2, end):
            a, b, c = _middle(start, control1), _middle(control1, control2), _middle(control2, end)
            d, e = _middle(a, b), _middle(b, c)
            return Cubic(start, a, d, _middle(d, e)), Cubic(_middle(d, e), e, c, end)
        case Arc(start, end, bulge):
            (x, y), (x0, y0), (x1, y1) = _middle(start, end), start, end
            # The rise is bulge times half the chord, to its right; half the angle, half the bulge's.
            top = (x + bulge * (y1 - y0) / 2.0, y - bulge * (x1 - x0) / 2.0)
            half = bulge / (1.0 + math.sqrt(1.0 + bulge * bulge))
            return Arc(start, top, half), Arc(top, end, half)


def _middle(a: Point, b: Point) -> Point:
    return ((a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0)
