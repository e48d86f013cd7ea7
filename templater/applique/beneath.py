"""The underlap of a zone, as far as the zones above it cover it."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace

from templater.applique.opening import Opened
from templater.applique.running_on import running_on
from templater.applique.unfold import EdgeRing, rings_area
from templater.geometry.moves import moved_area
from templater.geometry.offset import (
    MITRE_LIMIT,
    SLIT_MM,
    offset_beneath,
    offset_region,
    offset_signed,
)
from templater.geometry.offset_corners import Corner
from templater.geometry.offset_curves import Band
from templater.geometry.polygons import overlap, to_polygon
from templater.model.curves import Area
from templater.model.ground import Edge, EdgeKind, Ground, Zone

BACK_MM = 1.0
"""An underlap ends this far inside the outer edges of what covers it, so as not to peep out
(common practice, no source)."""

_SEWN = frozenset({EdgeKind.SEAM, EdgeKind.PIECE, EdgeKind.DART})


def is_lap(edge: Edge) -> bool:
    return edge.kind is EdgeKind.NEIGHBOUR and edge.allowance_mm > 0.0


def is_sewn(edge: Edge) -> bool:
    """Whether the cloth beyond the edge goes into a seam or a dart."""
    return edge.kind in _SEWN and edge.allowance_mm > 0.0


def lying_over(rings: Sequence[EdgeRing], ground: Ground, zone: Zone) -> tuple[EdgeRing, ...]:
    """The rings, with edges that lie over a lower zone free: their allowance is turned under."""
    above = {other.name for other in ground.zones if other.level > zone.level}
    return tuple(
        tuple(
            replace(edge, kind=EdgeKind.FREE)
            if edge.kind is EdgeKind.NEIGHBOUR and edge.name not in above
            else edge
            for edge in ring
        )
        for ring in rings
    )


def covers_of(ground: Ground, zone: Zone, tolerance_mm: float) -> tuple[Area, ...]:
    """The finished areas of the zones above, a little smaller but for the edges they share, and with
    what goes into a seam or round the garment's edge: an underlap goes there together with it.
    """
    found: list[Area] = []
    above = [z for z in ground.zones if z.piece == zone.piece and z.level > zone.level]
    inner = {zone.name, *(other.name for other in above)}
    for other in above:
        for region in other.regions:
            bands = [[_kept_back(edge, inner) for edge in ring] for ring in region.rings]
            found.extend(offset_signed(bands, "mitre", MITRE_LIMIT, tolerance_mm))
    return tuple(found)


def _kept_back(edge: Edge, inner: Collection[str]) -> Band:
    """Where the cover goes on beyond an edge, by the fold, a dart or another zone above, nothing
    peeps out.
    """
    if is_sewn(edge) or (edge.kind is EdgeKind.EDGE and edge.allowance_mm > 0.0):
        return edge.path, edge.allowance_mm
    shared = edge.kind is EdgeKind.NEIGHBOUR and edge.name in inner
    goes_on = edge.kind is EdgeKind.FOLD or (edge.kind is EdgeKind.DART and not edge.visible)
    return edge.path, 0.0 if shared or goes_on else -BACK_MM


def cut_areas(
    part: Opened, covers: Sequence[Area], corner: Corner, tolerance_mm: float
) -> tuple[Area, ...]:
    """A zone's cut line: every allowance, and the underlaps where they are covered."""
    if not any(is_lap(edge) for ring in part.rings for edge in ring):
        return offset_region(part.rings, corner, tolerance_mm=tolerance_mm, inlet_mm=SLIT_MM)
    above = list(covers)
    if part.fold is not None:
        above.extend(moved_area(area, part.fold.mirror) for area in covers)
    if corner == "mitre":
        above.extend(running_on(part.rings, above, MITRE_LIMIT, tolerance_mm, BACK_MM))
    areas = offset_beneath(
        [
            [(edge.path, 0.0 if is_lap(edge) else edge.allowance_mm) for edge in ring]
            for ring in part.rings
        ],
        [[(edge.path, edge.allowance_mm) for edge in ring] for ring in part.rings],
        above,
        corner,
        MITRE_LIMIT,
        tolerance_mm,
        BACK_MM,
    )
    # Where three zones meet in a point the band may show again beyond a gap, under the third:
    # what hangs by nothing is no underlap.
    own = to_polygon(rings_area(part.rings), tolerance_mm)
    return tuple(area for area in areas if overlap(to_polygon(area, tolerance_mm), own).area > 0.0)
