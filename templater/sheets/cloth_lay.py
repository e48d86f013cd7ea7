"""Parts laid on the cloth they are cut of, for the length to buy: grain along the cloth, 0° or 180°.

On doubled cloth each mirrored pair is laid once; what has no twin, and what is backed with web
before it is cut, is laid on the cloth opened out, beyond the doubled length.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from templater.model.curves import Transform, shift
from templater.model.ground import Side
from templater.model.parts import CutPart, PartKind
from templater.model.plan import ClothLine, ClothSpot
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
        lay = _laid(own, parts, job)
        if lay is None:
            problems.append(_too_wide(cloth))
            found.append(cloth)
        else:
            spots, doubled, length = lay
            folded = job.templates.cloth.folded
            found.append(
                replace(
                    cloth,
                    length_mm=length,
                    laid=True,
                    folded=folded,
                    spots=spots,
                    doubled_mm=doubled,
                )
            )
    return tuple(found), tuple(problems)


def _laid(
    own: Sequence[CutPart], parts: Sequence[CutPart], job: Job
) -> tuple[tuple[ClothSpot, ...], float, float] | None:
    """Where the parts lie, how much of the length is for those cut double, and the length."""
    cloth = job.templates.cloth
    doubled = _pairs(own, parts) if cloth.folded else []
    twins = {(part.piece, part.zone, part.region, part.kind) for part in doubled}
    opened = [p for p in own if (p.piece, p.zone, p.region, p.kind) not in twins]
    first, second = _lay(doubled, cloth.width / 2.0), _lay(opened, cloth.width)
    if first is None or second is None:
        return None
    (double_spots, below), (open_spots, above) = first, second
    up = shift(0.0, below)
    return (
        (
            *(ClothSpot(part, move, doubled=True) for part, move in double_spots),
            *(ClothSpot(part, _snapped(move.then(up))) for part, move in open_spots),
        ),
        below,
        round(below + above, 1),
    )


def _pairs(own: Sequence[CutPart], parts: Sequence[CutPart]) -> list[CutPart]:
    """The first of each mirrored pair that is not backed with web before it is cut."""
    webbed = {(part.piece, part.zone) for part in parts if part.kind is PartKind.WEB}
    pairs: dict[tuple[str, str, int, PartKind], list[CutPart]] = {}
    for part in own:
        if part.side in {Side.LEFT, Side.RIGHT} and (part.piece, part.zone) not in webbed:
            pairs.setdefault((part.piece, part.zone, part.region, part.kind), []).append(part)
    return [twins[0] for twins in pairs.values() if len({part.side for part in twins}) == 2]


def _lay(
    parts: Sequence[CutPart], width_mm: float
) -> tuple[list[tuple[str, Transform]], float] | None:
    """Where the parts lie on cloth that wide and how much of it they take; None if one does not go
    across it.
    """
    from shapely.affinity import affine_transform

    if not parts:
        return [], 0.0
    copies = [part for part in parts for _ in range(part.copies)]
    shapes = [_shape(part) for part in copies]
    boxes = [shape.geometry.bounds for shape in shapes]
    # Longer than all of them one after the other, so that one length of cloth takes them.
    room = 1.5 * sum(max(b[2] - b[0], b[3] - b[1]) + SPACING_MM for b in boxes)
    spots = quick_lay(shapes, width_mm, room, SPACING_MM)
    moves, tops = [], []
    for part, shape, spot in zip(copies, shapes, spots, strict=True):
        if spot is None:
            return None
        m = spot.move
        tops.append(affine_transform(shape.geometry, (m.a, m.c, m.b, m.d, m.e, m.f)).bounds[3])
        moves.append((part.id, _snapped(part.to_side.then(_upright(part)).then(m))))
    return moves, round(float(max(tops)), 1)


def _upright(part: CutPart) -> Transform:
    """The turn that lets the grain run up; none without a grain."""
    if part.grain_deg is None:
        return Transform()
    turn = math.radians(90.0 - part.to_side.turned(part.grain_deg))
    c, s = math.cos(turn), math.sin(turn)
    return Transform(c, s, -s, c)


def _snapped(move: Transform) -> Transform:
    """Turns to 1e-9, shifts to 0.0001 mm: no part hangs on the last bits of a sine."""
    a, b, c, d = (round(value, 9) + 0.0 for value in (move.a, move.b, move.c, move.d))
    return Transform(a, b, c, d, round(move.e, 4) + 0.0, round(move.f, 4) + 0.0)


def _shape(part: CutPart) -> LayShape:
    """The part as worn, turned so that its grain runs up; without a grain it may lie any way."""
    import shapely
    from shapely.affinity import affine_transform

    from templater.geometry.polygons import to_polygon

    move = part.to_side.then(_upright(part))
    upright = affine_transform(
        to_polygon(part.cut, _FLAT_MM), (move.a, move.c, move.b, move.d, move.e, move.f)
    )
    if part.grain_deg is None:
        return LayShape(upright, (0, 90, 180, 270))
    # Snapped, so that the lay does not hang on the last bits of a sine.
    return LayShape(shapely.set_precision(upright, 0.001), (0, 180))


def _too_wide(cloth: ClothLine) -> Problem:
    return Problem(
        "part-wider-than-cloth",
        Severity.WARNING,
        f"a part of {cloth.fabric or 'the cloth'} does not go across cloth {cloth.width_mm:g} mm "
        "wide with its grain along it; the length to buy is an estimate by area",
        "give [templates] cloth its true width, or opened out (folded = false), or another grain",
    )
