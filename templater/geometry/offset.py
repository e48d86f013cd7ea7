"""Outlines widened by allowances that differ from edge to edge.

Lines and arcs are offset exactly, as lines and arcs; Béziers by way of arcs within a share of the
tolerance. Parts of the offset that would cross themselves are resolved by taking the union of
every edge's strip.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from templater.geometry.flatten import flatten
from templater.geometry.moves import reversed_path
from templater.geometry.offset_corners import Corner
from templater.geometry.offset_curves import (
    Band,
    Piecework,
    both_ways,
    inwards,
    piecework,
    together,
)
from templater.geometry.offset_regions import areas_of, joined, joined_beneath, shares
from templater.geometry.polygons import united, without
from templater.geometry.slits import blunted, bridged, inlets_bridged
from templater.model.curves import Area
from templater.model.ground import Edge

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

SLIT_MM = 4.0
"""Slits narrower than this are not cut out beside underlaps and between allowances (common practice,
no source: shears do not turn in them)."""
TONGUE_MM = 2.0
"""Tongues of underlap narrower than this are cut off (common practice, no source: they roll up)."""

MITRE_LIMIT = 4.0
"""A mitre reaches at most this many allowances beyond its corner: tips under 29° are trimmed.

Common practice in vector graphics (1/sin(θ/2) = 4 at θ = 29°); a sharper tip of cloth folds badly.
Of unequal allowances their mean counts: beside a raw edge (0) tips under 30° are trimmed.
"""


def offset_region(
    rings: Sequence[Sequence[Edge]],
    corner: Corner = "mitre",
    mitre_limit: float = MITRE_LIMIT,
    tolerance_mm: float = 0.02,
    inlet_mm: float = 0.0,
) -> tuple[Area, ...]:
    """A region with every edge's allowance added, largest part first.

    `rings[0]` is the outline, anticlockwise, the others its holes, clockwise, as in
    `Region.rings`. Inlets and holes that allowances narrow below `inlet_mm` are filled, but for
    those with an edge without allowance. Raises ValueError for a negative allowance or a tolerance
    that is not positive.
    """
    bands = [[(edge.path, edge.allowance_mm) for edge in ring] for ring in rings]
    if inlet_mm <= 0.0:
        return offset_bands(bands, corner, mitre_limit, tolerance_mm)
    work = _added(bands, corner, mitre_limit, tolerance_mm)
    whole = inlets_bridged(joined(work), _raw(bands, tolerance_mm), inlet_mm)
    return areas_of(whole, work.curves, work.bends, tolerance_mm)


def inset_region(
    rings: Sequence[Sequence[Edge]],
    corner: Corner = "mitre",
    mitre_limit: float = MITRE_LIMIT,
    tolerance_mm: float = 0.02,
) -> tuple[Area, ...]:
    """A region with every edge's allowance taken off, largest part first; empty if none is left."""
    around = [
        [(reversed_path(edge.path), edge.allowance_mm) for edge in reversed(ring)] for ring in rings
    ]
    return _areas(
        inwards(piecework(around, corner, mitre_limit, *shares(tolerance_mm))), tolerance_mm
    )


def offset_area(
    area: Area,
    width_mm: float,
    corner: Corner = "round",
    mitre_limit: float = MITRE_LIMIT,
    tolerance_mm: float = 0.02,
) -> tuple[Area, ...]:
    """An area widened by one width all round, or narrowed by a negative one."""
    paths = (area.outline, *area.holes)
    if width_mm >= 0.0:
        rings = [[(path, width_mm)] for path in paths]
        return offset_bands(rings, corner, mitre_limit, tolerance_mm)
    around = [[(reversed_path(path), -width_mm)] for path in paths]
    return _areas(
        inwards(piecework(around, corner, mitre_limit, *shares(tolerance_mm))), tolerance_mm
    )


def offset_bands(
    rings: Sequence[Sequence[Band]],
    corner: Corner,
    mitre_limit: float,
    tolerance_mm: float,
) -> tuple[Area, ...]:
    """As `offset_region`, of bare paths with their widths."""
    return _areas(_added(rings, corner, mitre_limit, tolerance_mm), tolerance_mm)


def offset_beside(
    rings: Sequence[Sequence[Band]],
    free: Sequence[Sequence[Band]],
    corner: Corner,
    mitre_limit: float,
    tolerance_mm: float,
) -> tuple[Area, ...]:
    """As `offset_bands` of `rings`, but nothing is added where `free` would add something."""
    added, away = (_added(each, corner, mitre_limit, tolerance_mm) for each in (rings, free))
    curves, bends = together((added, away))
    cuts = (*added.cuts, *away.strips)
    return _areas(replace(added, curves=curves, bends=bends, cuts=cuts), tolerance_mm)


def offset_signed(
    rings: Sequence[Sequence[Band]],
    corner: Corner,
    mitre_limit: float,
    tolerance_mm: float,
) -> tuple[Area, ...]:
    """As `offset_bands`, where a negative width takes cloth off beside its edge."""
    outward = [[(path, max(width, 0.0)) for path, width in ring] for ring in rings]
    inward = [
        [(reversed_path(path), max(-width, 0.0)) for path, width in reversed(ring)]
        for ring in rings
    ]
    added = piecework(outward, corner, mitre_limit, *shares(tolerance_mm))
    taken = piecework(inward, corner, mitre_limit, *shares(tolerance_mm))
    return _areas(both_ways(added, taken), tolerance_mm)


def offset_beneath(
    rings: Sequence[Sequence[Band]],
    laps: Sequence[Sequence[Band]],
    covers: Sequence[Area],
    corner: Corner,
    mitre_limit: float,
    tolerance_mm: float,
    back_mm: float = 0.0,
) -> tuple[Area, ...]:
    """As `offset_bands` of `rings`, and what `laps` add to that as far as it lies beneath `covers`.

    `laps` are the same rings with the widths of their underlaps as well. Slits between the two are
    bridged where the covers, which go on for `back_mm`, or cloth to be turned under are beside, and
    inlets between allowances as by `offset_region`.
    """
    fit = shares(tolerance_mm)
    plain, lapped = (piecework(each, corner, mitre_limit, *fit) for each in (rings, laps))
    above = [
        piecework(
            [[(path, 0.0)] for path in (area.outline, *area.holes)], corner, mitre_limit, *fit
        )
        for area in covers
    ]
    curves, bends = together((plain, lapped, *above))
    found = joined_beneath(plain, lapped, above, tolerance_mm)
    turned = without(found.plain, joined(replace(plain, strips=())))
    room = united([found.hidden.buffer(back_mm), turned.buffer(SLIT_MM)])
    whole = bridged(found.whole, found.plain, room, SLIT_MM)
    whole = blunted(whole, found.plain, TONGUE_MM)
    lapped_edge = without(whole.boundary, found.plain.boundary.buffer(tolerance_mm))
    kept = united([_raw(rings, tolerance_mm), lapped_edge.buffer(tolerance_mm)])
    whole = inlets_bridged(whole, kept, SLIT_MM)
    return areas_of(whole, curves, bends, tolerance_mm)


def _added(
    rings: Sequence[Sequence[Band]], corner: Corner, mitre_limit: float, tolerance_mm: float
) -> Piecework:
    if any(width < 0.0 for ring in rings for _, width in ring):
        raise ValueError("an allowance must not be negative")
    return piecework(rings, corner, mitre_limit, *shares(tolerance_mm))


def _raw(rings: Sequence[Sequence[Band]], tolerance_mm: float) -> BaseGeometry:
    """The edges without allowance, where they are cut on the line."""
    import shapely

    lines = [
        shapely.LineString(flatten(path, tolerance_mm / 10.0))
        for ring in rings
        for path, width in ring
        if width == 0.0
    ]
    return shapely.MultiLineString(lines).buffer(tolerance_mm)


def _areas(work: Piecework, tolerance_mm: float) -> tuple[Area, ...]:
    return areas_of(joined(work), work.curves, work.bends, tolerance_mm)
