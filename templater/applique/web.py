"""Fusible web for a part: its own two lines.

Behind a raw edge the web is cut roughly outside, fused, and then cut through together with the
cloth on the true line. Behind an edge that is turned under it stops short of the fold, which would
be stiff otherwise, and is cut on that line at once; then it also keeps out of underlaps. The
allowance of a seam is always free of web, so that it is not sewn through and adds no bulk: there
the web is cut on the seam line at once. Imports shapely inside functions.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from templater.applique.beneath import cut_areas, is_sewn
from templater.applique.opening import Opened
from templater.applique.unfold import EdgeRing
from templater.applique.words import length_words
from templater.geometry.flatten import flatten
from templater.geometry.offset import MITRE_LIMIT, offset_area, offset_beside, offset_signed
from templater.geometry.offset_corners import Corner
from templater.geometry.offset_curves import Band
from templater.geometry.splitting import Place, cut_closed, nearest_place, point_at
from templater.model.curves import Area, Path
from templater.model.ground import Edge, EdgeKind

ROUGH_MM = 5.0
"""How far outside the web is cut roughly: about 3/16 in (quiltmaker.com; webcasty.com 2013)."""
TRIM_MM = 2.0
"""How far inside a turned edge the web ends (common practice, no source)."""

_ON_MM = 0.05
_SAME = 1e-6


@dataclass(frozen=True, slots=True)
class WebLines:
    """`cut`: where the web is cut before it is fused. `finished`: the line that counts."""

    cut: Area
    finished: Area
    words: tuple[str, ...]


def is_turned(edge: Edge) -> bool:
    """Whether the cloth beyond the edge is folded under, not sewn in or covered."""
    return edge.kind in {EdgeKind.FREE, EdgeKind.EDGE} and edge.allowance_mm > 0.0


def has_turned(rings: Iterable[EdgeRing]) -> bool:
    return any(is_turned(edge) for ring in rings for edge in ring)


def web_lines(
    part: Opened,
    cut: Area,
    covers: Sequence[Area],
    corner: Corner,
    tolerance_mm: float,
    display: str,
) -> WebLines | None:
    """The web's lines behind a part with this cut line, whose underlap lies beneath `covers`; None
    if none is left.
    """
    if has_turned(part.rings):
        return _cut_at_once(part.rings, tolerance_mm, display)
    rough = length_words(ROUGH_MM, display)
    if not any(is_sewn(edge) for ring in part.rings for edge in ring):
        outside = offset_area(cut, ROUGH_MM, "round", tolerance_mm=tolerance_mm)
        words = f"cut {rough} outside, fuse, then cut on the inner line"
        return WebLines(outside[0], cut, (words,))
    unsewn = tuple(
        tuple(replace(edge, allowance_mm=0.0) if is_sewn(edge) else edge for edge in ring)
        for ring in part.rings
    )
    finished = cut_areas(replace(part, rings=unsewn), covers, corner, tolerance_mm)
    if not finished:
        return None
    outside = _rough_but_at_seams(part.rings, finished[0], tolerance_mm)
    at_seams = f"cut {rough} outside, on the line at seams"
    return WebLines(outside[0], finished[0], (at_seams, "fuse, then cut on the inner line"))


def _rough_but_at_seams(
    rings: Sequence[EdgeRing], finished: Area, tolerance_mm: float
) -> tuple[Area, ...]:
    """The finished area cut roughly outside, but on its line where that is sewn, and nowhere over
    the allowance of a seam.
    """
    seams = [[(e.path, e.allowance_mm if is_sewn(e) else 0.0) for e in ring] for ring in rings]
    sewn = [path for ring in seams for path, width in ring if width > 0.0]
    paths = (finished.outline, *finished.holes)
    return offset_beside(
        [_rough_bands(path, sewn) for path in paths], seams, "round", MITRE_LIMIT, tolerance_mm
    )


def _rough_bands(ring: Path, sewn: Sequence[Path]) -> list[Band]:
    """The ring's segments, parted where a sewn edge ends, with how far beyond each web goes."""
    import shapely

    lines = shapely.MultiLineString([flatten(path, _ON_MM / 5.0) for path in sewn])
    places: list[Place] = []
    for place in sorted(nearest_place(ring, end) for p in sewn for end in (p.start, p.end)):
        if not places or place[0] != places[-1][0] or place[1] - places[-1][1] > _SAME:
            places.append(place)
    return [
        (
            Path((segment,), closed=False),
            0.0 if lines.distance(shapely.Point(point_at(segment, 0.5))) <= _ON_MM else ROUGH_MM,
        )
        for part in cut_closed(ring, places)
        for segment in part.segments
    ]


def _cut_at_once(rings: Sequence[EdgeRing], tolerance_mm: float, display: str) -> WebLines | None:
    bands = [[(edge.path, -TRIM_MM if is_turned(edge) else 0.0) for edge in ring] for ring in rings]
    trimmed = offset_signed(bands, "mitre", MITRE_LIMIT, tolerance_mm)
    if not trimmed:
        return None
    words = f"ends {length_words(TRIM_MM, display)} inside the turned edge"
    if any(is_sewn(edge) for ring in rings for edge in ring):
        words += ", on the line at seams"
    return WebLines(trimmed[0], trimmed[0], (words,))
