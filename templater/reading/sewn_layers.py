"""The numbered layers of one sewn-product piece as layers with role words, and pieces moved apart."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from templater.geometry.measure import join_boxes, path_box
from templater.geometry.moves import moved_area, moved_path, reversed_path
from templater.model.curves import Area, Box, Transform, shift
from templater.model.drawing import (
    AreaShape,
    DrawingLayer,
    LineShape,
    PointShape,
    Shape,
    TextShape,
)
from templater.model.problems import Problem, Problems, Severity, Source
from templater.reading.dxf_gather import gather
from templater.reading.naming import role_of
from templater.reading.sewn_table import (
    GUIDE_POINTS,
    NOTCH_KINDS,
    NUMBERED,
    QUALITY_CURVES,
    number_of,
)

if TYPE_CHECKING:
    from templater.reading.dxf_walk import Placed

_APART_MM = 50.0


@dataclass(frozen=True, slots=True)
class PieceShapes:
    """One piece's layers, its outline's first."""

    name: str
    layers: tuple[DrawingLayer, ...]


def _role(layer: str) -> str:
    number = number_of(layer)
    return role_of(layer) if number is None else NUMBERED.get(number, "")


def layers_of(
    placed: Iterable[Placed], file: str, mm: float, name: str
) -> tuple[PieceShapes, Problems]:
    """A piece's numbered layers under our names, and what was left out or not understood."""
    numbered, problems = gather(placed, file, mm, role=_role)
    kept: dict[str, list[Shape]] = {f"piece {name}": []}
    unknown: list[str] = []
    cut_outs: list[AreaShape] = []
    for layer in numbered:
        number = number_of(layer.name)
        if number in GUIDE_POINTS or number in QUALITY_CURVES:
            problems.append(_left_out(file, layer, name, number))
            continue
        if role_of(layer.name):
            kept.setdefault(layer.name, []).extend(layer.shapes)
            continue
        word = NUMBERED.get(-1 if number is None else number)
        if word is None:
            unknown.append(layer.name)
            word = f"layer {layer.name} of"
        for shape in layer.shapes:
            if isinstance(shape, TextShape):
                kept.setdefault(f"note {name}", []).append(shape)
            elif word == "cut-out" and isinstance(shape, AreaShape):
                cut_outs.append(shape)
                kept.setdefault(f"clear {name}", []).append(shape)
            elif number in NOTCH_KINDS:
                kept.setdefault(f"notch {name}", []).append(_as_notch(shape, number))
            else:
                kept.setdefault(f"{word} {name}", []).append(shape)
    outlines = kept[f"piece {name}"]
    kept[f"piece {name}"] = [_with_holes(shape, cut_outs) for shape in outlines]
    if unknown:
        problems.append(_not_understood(file, name, unknown))
    if not any(isinstance(shape, AreaShape) for shape in outlines):
        problems.append(_no_outline(file, name))
    layers = tuple(DrawingLayer(key, tuple(shapes)) for key, shapes in kept.items() if shapes)
    return PieceShapes(name, layers), tuple(problems)


def _as_notch(shape: Shape, number: int) -> Shape:
    source = replace(shape.source, element=f"{NOTCH_KINDS[number]} notch, {shape.source.element}")
    return replace(shape, source=source)


def _with_holes(shape: Shape, cut_outs: Sequence[AreaShape]) -> Shape:
    """The outline with the cut-outs that lie inside it as holes."""
    if not isinstance(shape, AreaShape) or not cut_outs:
        return shape
    from templater.geometry.polygons import to_polygon

    around = to_polygon(shape.area, 0.01)
    inside = [one for one in cut_outs if around.contains(to_polygon(one.area, 0.01))]
    holes = (*shape.area.holes, *(reversed_path(one.area.outline) for one in inside))
    return replace(shape, area=Area(shape.area.outline, holes))


def _left_out(file: str, layer: DrawingLayer, name: str, number: int | None) -> Problem:
    what = GUIDE_POINTS.get(-1 if number is None else number, "quality curves")
    return Problem(
        "sewn-guides-left-out",
        Severity.NOTE,
        f"Left out of the piece “{name}”: the {len(layer.shapes)} {what} of layer {layer.name}, "
        "which repeat what its lines have.",
        source=Source(file, layer.name),
    )


def _not_understood(file: str, name: str, unknown: Sequence[str]) -> Problem:
    return Problem(
        "sewn-layers-unknown",
        Severity.WARNING,
        f"Layers of the piece “{name}” that were not understood: {', '.join(unknown)}. They are "
        f"kept as “layer {unknown[0]} of {name}” and so on.",
        "Give those that are needed a role in the job under [layers].",
        Source(file, unknown[0]),
    )


def _no_outline(file: str, name: str) -> Problem:
    return Problem(
        "piece-without-outline",
        Severity.ERROR,
        f"The piece “{name}” has no closed outline on layer 1.",
        "Close its boundary in the program that made the file.",
        Source(file, "1"),
    )


def moved_apart(pieces: Sequence[PieceShapes], file: str) -> tuple[list[PieceShapes], Problems]:
    """The pieces side by side, 50 mm apart, if any two lie on each other; else as they are."""
    boxes = [_box(piece) for piece in pieces]
    if not any(
        _overlap(one, other)
        for i, one in enumerate(boxes)
        for other in boxes[:i]
        if one is not None and other is not None
    ):
        return list(pieces), ()
    moved, x = [], 0.0
    for piece, box in zip(pieces, boxes, strict=True):
        if box is None:
            moved.append(piece)
            continue
        moved.append(_moved(piece, shift(x - box[0], -box[1])))
        x += box[2] - box[0] + _APART_MM
    return moved, (
        Problem(
            "pieces-moved-apart",
            Severity.NOTE,
            f"The pieces of “{file}” lie on each other; they were moved side by side, unturned.",
            source=Source(file),
        ),
    )


def _overlap(one: Box, other: Box) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def _box(piece: PieceShapes) -> Box | None:
    boxes = [
        path_box(shape.area.outline if isinstance(shape, AreaShape) else shape.path)
        for layer in piece.layers
        for shape in layer.shapes
        if isinstance(shape, AreaShape | LineShape)
    ]
    return join_boxes(boxes) if boxes else None


def _moved(piece: PieceShapes, move: Transform) -> PieceShapes:
    return replace(
        piece,
        layers=tuple(
            replace(layer, shapes=tuple(_moved_shape(shape, move) for shape in layer.shapes))
            for layer in piece.layers
        ),
    )


def _moved_shape(shape: Shape, move: Transform) -> Shape:
    match shape:
        case AreaShape():
            return replace(shape, area=moved_area(shape.area, move))
        case LineShape():
            return replace(shape, path=moved_path(shape.path, move))
        case PointShape() | TextShape():
            return replace(shape, at=move.apply(shape.at))
