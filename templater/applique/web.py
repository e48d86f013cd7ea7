"""Fusible web for a part: its own two lines.

Behind a raw edge the web is cut roughly outside, fused, and then cut through together with the
cloth on the true line. Behind an edge that is turned under it stops short of the fold, which would
be stiff otherwise, and is cut on that line at once; then it also keeps out of underlaps and, but
for what the stitches catch, out of seams.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from templater.applique.unfold import EdgeRing
from templater.applique.words import length_words
from templater.geometry.offset import MITRE_LIMIT, offset_area, offset_signed
from templater.model.curves import Area
from templater.model.ground import Edge, EdgeKind

ROUGH_MM = 5.0
"""How far outside the web is cut roughly: about 3/16 in (quiltmaker.com; webcasty.com 2013)."""
TRIM_MM = 2.0
"""How far inside a turned edge the web ends (common practice, no source)."""
CAUGHT_MM = 3.0
"""How far into a seam allowance the web goes, to be caught by the stitches (common practice with
interfacing: about 1/8 in)."""


@dataclass(frozen=True, slots=True)
class WebLines:
    """`cut`: where the web is cut before it is fused. `finished`: the line that counts."""

    cut: Area
    finished: Area
    words: str


def is_turned(edge: Edge) -> bool:
    """Whether the cloth beyond the edge is folded under, not sewn in or covered."""
    return edge.kind in {EdgeKind.FREE, EdgeKind.EDGE} and edge.allowance_mm > 0.0


def has_turned(rings: Iterable[EdgeRing]) -> bool:
    return any(is_turned(edge) for ring in rings for edge in ring)


def web_lines(
    rings: Sequence[EdgeRing], cut: Area, tolerance_mm: float, display: str
) -> WebLines | None:
    """The web's lines behind a part with these edges and this cut line; None if none is left."""
    if not has_turned(rings):
        rough = offset_area(cut, ROUGH_MM, "round", tolerance_mm=tolerance_mm)
        words = f"cut {length_words(ROUGH_MM, display)} outside, fuse, then cut on the inner line"
        return WebLines(rough[0], cut, words)
    bands = [[(edge.path, _reach_mm(edge)) for edge in ring] for ring in rings]
    trimmed = offset_signed(bands, "mitre", MITRE_LIMIT, tolerance_mm)
    if not trimmed:
        return None
    words = f"ends {length_words(TRIM_MM, display)} inside the turned edge"
    if any(_reach_mm(edge) > 0.0 for ring in rings for edge in ring):
        words += f", {length_words(CAUGHT_MM, display)} beyond seams"
    return WebLines(trimmed[0], trimmed[0], words)


def _reach_mm(edge: Edge) -> float:
    """How far beyond an edge web goes that is cut at once."""
    if is_turned(edge):
        return -TRIM_MM
    if edge.kind is EdgeKind.NEIGHBOUR:
        return 0.0
    return min(edge.allowance_mm, CAUGHT_MM)
