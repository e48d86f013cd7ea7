"""The shapes of a layer whose role the job gives, as a reader would have read them had the layer
borne that role itself: loose lines of an outline joined, lines within lines no holes.
"""

from __future__ import annotations

from collections.abc import Sequence

from templater.geometry.joining import join
from templater.geometry.measure import signed_path_area
from templater.geometry.moves import reversed_path
from templater.model.curves import Area, Path
from templater.model.drawing import AreaShape, LineShape, Shape
from templater.model.problems import Problems
from templater.model.roles import AREA_ROLES, LINE_ROLES, Role, role_and_name

_NO_AREA_MM2 = 1e-6


def recast(layer: str, shapes: Sequence[Shape], role: Role) -> tuple[tuple[Shape, ...], Problems]:
    """The layer's shapes for a role that may not be the one its own name says.

    Readers join loose lines only on layers whose names ask for outlines, and take a line inside
    another for a hole unless the name is one of a line.
    """
    own, _ = role_and_name(layer)
    if role in LINE_ROLES:
        return tuple(single for shape in shapes for single in _without_holes(shape)), ()
    if role not in AREA_ROLES or own in AREA_ROLES:
        return tuple(shapes), ()
    return _joined(shapes)


def _without_holes(shape: Shape) -> tuple[Shape, ...]:
    """A line's loops each for itself."""
    if not isinstance(shape, AreaShape) or not shape.area.holes:
        return (shape,)
    rings = (shape.area.outline, *(reversed_path(hole) for hole in shape.area.holes))
    return tuple(AreaShape(Area(ring), shape.source) for ring in rings)


def _joined(shapes: Sequence[Shape]) -> tuple[tuple[Shape, ...], Problems]:
    """Loose lines joined where their ends meet; what closes is an area, the rest stays a line."""
    loose = [shape for shape in shapes if isinstance(shape, LineShape)]
    if not loose:
        return tuple(shapes), ()
    joined = join([(shape.path, shape.source) for shape in loose])
    widths = {shape.source: shape.width_mm for shape in loose}
    made: list[Shape] = [shape for shape in shapes if not isinstance(shape, LineShape)]
    for path, source in joined.closed:
        outline = _anticlockwise(path)
        made.append(LineShape(path, source) if outline is None else AreaShape(outline, source))
    made.extend(LineShape(p, source, widths.get(source, 0.0)) for p, source in joined.open)
    return tuple(made), joined.problems


def _anticlockwise(path: Path) -> Area | None:
    area_mm2 = signed_path_area(path)
    if abs(area_mm2) <= _NO_AREA_MM2:
        return None
    return Area(path if area_mm2 > 0.0 else reversed_path(path))
