"""Parts laid on the cloth they are cut of, for the length to buy: grain along the cloth, 0° or 180°.

On doubled cloth each mirrored pair is laid once; what has no twin, and what is backed with web
before it is cut, is laid on the cloth opened out, beyond the doubled length.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from templater.model.ground import Side
from templater.model.parts import CutPart, PartKind
from templater.model.plan import ClothLine
from templater.model.problems import Problem, Problems, Severity
from templater.sheets.lay import quick_lay
from templater.sheets.lay_shapes import LayShape

if TYPE_CHECKING:
    from templater.job.schema import Job

SPACING_MM = 5.0
"""Between parts on cloth: room for shears (common practice, no source)."""
_FLAT_MM = 0.1


def lay_cloth(
    cloths: Sequence[ClothLine], parts: Sequence[CutPart], job: Job
) -> tuple[tuple[ClothLine, ...], Problems]:
    """The lines of cloth with the length that the parts take as laid; web stays an estimate.

    A warning for each cloth of which a part is wider than the cloth: that stays an estimate too.
    """
    found: list[ClothLine] = []
    problems: list[Problem] = []
    for cloth in cloths:
        own = [
            part for part in parts if part.fabric == cloth.fabric and part.kind is not PartKind.WEB
        ]
        if cloth.is_web or not own:
            found.append(cloth)
            continue
        length = _length(own, parts, job)
        if length is None:
            problems.append(_too_wide(cloth))
            found.append(cloth)
        else:
            folded = job.templates.cloth.folded
            found.append(replace(cloth, length_mm=length, laid=True, folded=folded))
    return tuple(found), tuple(problems)


def _length(own: Sequence[CutPart], parts: Sequence[CutPart], job: Job) -> float | None:
    cloth = job.templates.cloth
    if not cloth.folded:
        return _laid_length(own, cloth.width)
    webbed = {(part.piece, part.zone) for part in parts if part.kind is PartKind.WEB}
    pairs: dict[tuple[str, str, int, PartKind], list[CutPart]] = {}
    for part in own:
        if part.side in {Side.LEFT, Side.RIGHT} and (part.piece, part.zone) not in webbed:
            pairs.setdefault((part.piece, part.zone, part.region, part.kind), []).append(part)
    doubled = [twins[0] for twins in pairs.values() if len({part.side for part in twins}) == 2]
    twice = {part.id for twins in pairs.values() if twins[0] in doubled for part in twins}
    opened = [part for part in own if part.id not in twice]
    lengths = (_laid_length(doubled, cloth.width / 2.0), _laid_length(opened, cloth.width))
    if lengths[0] is None or lengths[1] is None:
        return None
    return round(lengths[0] + lengths[1], 1)


def _laid_length(parts: Sequence[CutPart], width_mm: float) -> float | None:
    """How much of cloth that wide the parts take; None if one does not go across it."""
    from shapely.affinity import affine_transform

    if not parts:
        return 0.0
    shapes = [_shape(part) for part in parts for _ in range(part.copies)]
    boxes = [shape.geometry.bounds for shape in shapes]
    # Longer than all of them one after the other, so that one length of cloth takes them.
    room = 1.5 * sum(max(b[2] - b[0], b[3] - b[1]) + SPACING_MM for b in boxes)
    tops = []
    for shape, spot in zip(shapes, quick_lay(shapes, width_mm, room, SPACING_MM), strict=True):
        if spot is None:
            return None
        m = spot.move
        tops.append(affine_transform(shape.geometry, (m.a, m.c, m.b, m.d, m.e, m.f)).bounds[3])
    return round(float(max(tops)), 1)


def _shape(part: CutPart) -> LayShape:
    """The part as worn, turned so that its grain runs up; without a grain it may lie any way."""
    import shapely
    from shapely.affinity import affine_transform, rotate

    from templater.geometry.polygons import to_polygon

    move = part.to_side
    worn = affine_transform(
        to_polygon(part.cut, _FLAT_MM), (move.a, move.c, move.b, move.d, move.e, move.f)
    )
    if part.grain_deg is None:
        return LayShape(worn, (0, 90, 180, 270))
    turned = rotate(worn, 90.0 - move.turned(part.grain_deg), origin=(0.0, 0.0))
    # Snapped, so that the lay does not hang on the last bits of a sine.
    return LayShape(shapely.set_precision(turned, 0.001), (0, 180))


def _too_wide(cloth: ClothLine) -> Problem:
    return Problem(
        "part-wider-than-cloth",
        Severity.WARNING,
        f"a part of {cloth.fabric or 'the cloth'} does not go across cloth {cloth.width_mm:g} mm "
        "wide with its grain along it; the length to buy is an estimate by area",
        "give [templates] cloth its true width, or opened out (folded = false), or another grain",
    )
