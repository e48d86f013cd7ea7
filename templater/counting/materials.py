"""What is needed besides stones: cloth, web, glue, sheets for stencils."""

from __future__ import annotations

import math
from collections.abc import Sequence

from templater.model.curves import Area, Box
from templater.model.parts import CutPart, HoleKind, PartKind, Pass
from templater.model.plan import ClothLine
from templater.model.stones import PlacedStone

_FLAT_MM = 0.1
LAY_SHARE = 0.65
"""How much of the cloth the parts cover when they are laid by hand, grain kept (from memory)."""

GLUE_MM = 0.25
"""A dot of glue, spread under a stone's whole back, is this thick (from memory)."""


def glue_ml(stones: Sequence[PlacedStone]) -> float:
    """The volume of all dots: the stones' areas (π/4·length·width) by the thickness of the glue."""
    area = math.fsum(math.pi / 4.0 * stone.length_mm * stone.width_mm for stone in stones)
    return round(area * GLUE_MM / 1000.0, 1)


def stencil_sheets(passes: Sequence[Pass]) -> tuple[int, int]:
    """How many stencils are to be cut, and how many of them from self-adhesive film."""
    stencils = {one.template: one.method for one in passes if one.kind is HoleKind.STENCIL}
    return len(stencils), sum(method == "film" for method in stencils.values())


def cloth_lines(parts: Sequence[CutPart], cloth_width_mm: float) -> tuple[ClothLine, ...]:
    """A line for each fabric and the web, in the order of the parts; unnamed cloth counts together.

    The length is an estimate: the parts' area over 65 % of the width, at least the longest part.
    """
    by_fabric: dict[tuple[str, bool], list[CutPart]] = {}
    for part in parts:
        by_fabric.setdefault((part.fabric, part.kind is PartKind.WEB), []).append(part)
    return tuple(
        _cloth_line(fabric, is_web, here, cloth_width_mm)
        for (fabric, is_web), here in by_fabric.items()
    )


def _cloth_line(fabric: str, is_web: bool, parts: Sequence[CutPart], width_mm: float) -> ClothLine:
    area = math.fsum(_area_mm2(part.cut) * part.copies for part in parts)
    longest = max(_along_grain_mm(part) for part in parts)
    return ClothLine(
        fabric=fabric,
        is_web=is_web,
        parts=sum(part.copies for part in parts),
        area_mm2=round(area, 1),
        width_mm=width_mm,
        length_mm=round(max(area / (width_mm * LAY_SHARE), longest), 1),
        longest_mm=round(longest, 1),
    )


def _along_grain_mm(part: CutPart) -> float:
    """The part's length along its grain, or the longer side of its box where it has none."""
    from templater.geometry.flatten import flatten

    outline = flatten(part.cut.outline, _FLAT_MM)
    if part.grain_deg is None:
        x0, y0, x1, y1 = _box(outline)
        return max(x1 - x0, y1 - y0)
    turn = math.radians(part.grain_deg)
    along = [x * math.cos(turn) + y * math.sin(turn) for x, y in outline]
    return max(along) - min(along)


def _box(points: Sequence[tuple[float, float]]) -> Box:
    return (
        min(x for x, _ in points),
        min(y for _, y in points),
        max(x for x, _ in points),
        max(y for _, y in points),
    )


def _area_mm2(area: Area) -> float:
    from templater.geometry.polygons import to_polygon

    return float(to_polygon(area, _FLAT_MM).area)
