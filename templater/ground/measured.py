"""Scaling a drawing by one length the maker measured on the real thing."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from templater.geometry.measure import path_length
from templater.geometry.moves import moved_area, moved_path
from templater.model.curves import Transform
from templater.model.drawing import (
    AreaShape,
    Drawing,
    DrawingLayer,
    LineShape,
    PointShape,
    Shape,
    TextShape,
)
from templater.model.names import plain_name
from templater.model.problems import Problem, Problems, Severity, Source

if TYPE_CHECKING:
    from templater.job.schema import Job


def to_measure(drawing: Drawing, job: Job) -> tuple[Drawing, Problems]:
    """The drawing scaled so that the lines of the named layer together have the measured length."""
    if job.measured is None:
        return drawing, ()
    wanted = plain_name(job.measured.layer)
    lines = [
        shape.path if isinstance(shape, LineShape) else shape.area.outline
        for layer in drawing.layers
        for part in (layer, *layer.by_colour)
        if plain_name(part.name) == wanted
        for shape in part.shapes
        if isinstance(shape, LineShape | AreaShape)
    ]
    drawn_mm = sum(path_length(path) for path in lines)
    if drawn_mm == 0.0:
        names = ", ".join(f'"{layer.name}"' for layer in drawing.layers)
        return drawing, (
            Problem(
                "nothing-measured",
                Severity.ERROR,
                f'measured names the layer "{job.measured.layer}", which holds no line',
                f"The drawing's layers are: {names}.",
                Source(drawing.file, job.measured.layer),
            ),
        )
    scale = job.measured.length / drawn_mm
    return _scaled(drawing, scale), (
        Problem(
            "scaled",
            Severity.NOTE,
            f'the drawing is scaled by {scale:.5f}, so that "{job.measured.layer}" measures '
            f"{job.measured.length:.1f} mm instead of {drawn_mm:.1f} mm",
            "",
            Source(drawing.file, job.measured.layer),
        ),
    )


def _scaled(drawing: Drawing, scale: float) -> Drawing:
    transform = Transform(a=scale, d=scale)

    def of(shape: Shape) -> Shape:
        match shape:
            case AreaShape(area):
                return replace(shape, area=moved_area(area, transform))
            case LineShape(path, _, width_mm):
                return replace(shape, path=moved_path(path, transform), width_mm=width_mm * scale)
            case PointShape(at):
                return replace(shape, at=transform.apply(at))
            case TextShape(_, at, height_mm):
                return replace(shape, at=transform.apply(at), height_mm=height_mm * scale)

    def scaled(layer: DrawingLayer) -> DrawingLayer:
        return replace(
            layer,
            shapes=tuple(of(shape) for shape in layer.shapes),
            by_colour=tuple(scaled(part) for part in layer.by_colour),
        )

    layers = tuple(scaled(layer) for layer in drawing.layers)
    width_mm, height_mm = drawing.size_mm
    return replace(drawing, layers=layers, size_mm=(width_mm * scale, height_mm * scale))
