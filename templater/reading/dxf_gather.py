"""Entities, wherever they were found, as the shapes of a Drawing's layers."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from templater.geometry.measure import join_boxes, path_box
from templater.model.curves import Box, Path
from templater.model.drawing import (
    AreaShape,
    DrawingLayer,
    LineShape,
    PointShape,
    Shape,
    TextShape,
)
from templater.model.problems import Problem, Severity, Source
from templater.reading.joining import JOIN_TOLERANCE_MM, join

if TYPE_CHECKING:
    from templater.reading.dxf_areas import Loop
    from templater.reading.dxf_walk import Placed

_TEXTS = ("TEXT", "MTEXT", "ATTRIB")
_NOTHING_TO_SEE = ("ATTDEF", "VIEWPORT", "SEQEND", "ACAD_PROXY_OBJECT")
_ANNOTATIONS = (
    "DIMENSION",
    "ARC_DIMENSION",
    "LARGE_RADIAL_DIMENSION",
    "LEADER",
    "MULTILEADER",
    "MLEADER",
    "TOLERANCE",
    "IMAGE",
    "WIPEOUT",
    "RAY",
    "XLINE",
    "ACAD_TABLE",
    "OLEFRAME",
    "OLE2FRAME",
    "PDFUNDERLAY",
    "DWFUNDERLAY",
    "DGNUNDERLAY",
    "LIGHT",
    "SUN",
    "GEOPOSITIONMARKER",
)
_MOST_MESSAGES = 20


@dataclass(slots=True)
class _Gathered:
    """What one layer holds so far."""

    loops: list[Loop] = field(default_factory=list)
    open: list[tuple[Path, Source]] = field(default_factory=list)
    widths: dict[str, float] = field(default_factory=dict)
    points: list[PointShape] = field(default_factory=list)
    texts: list[TextShape] = field(default_factory=list)


def gather(
    placed: Iterable[Placed], file: str, mm: float
) -> tuple[tuple[DrawingLayer, ...], list[Problem]]:
    """Entities as layers, in the order in which each layer is first drawn on."""
    gathered: dict[str, _Gathered] = {}
    problems: list[Problem] = []
    unread: dict[tuple[str, str], list[Source]] = {}
    for one in placed:
        kind = one.entity.dxftype()
        if kind in _NOTHING_TO_SEE:
            continue
        _take(one, file, mm, gathered, problems, unread)
    problems.extend(_unread_problems(unread))
    layers = []
    for name, held in gathered.items():
        shapes, faults = _shapes(held)
        problems.extend(faults)
        if shapes:
            layers.append(DrawingLayer(name, shapes))
    return tuple(layers), problems


def _take(
    one: Placed,
    file: str,
    mm: float,
    gathered: dict[str, _Gathered],
    problems: list[Problem],
    unread: dict[tuple[str, str], list[Source]],
) -> None:
    from templater.reading.dxf_areas import Loop
    from templater.reading.dxf_curves import paths_of
    from templater.reading.dxf_frame import Unreadable, frame_of
    from templater.reading.dxf_hatch import hatch_loops
    from templater.reading.dxf_texts import point_of, text_of
    from templater.reading.dxf_walk import source_of

    kind = one.entity.dxftype()
    source = source_of(one.entity, file, one.layer, one.blocks)
    held = gathered.setdefault(one.layer, _Gathered())
    try:
        frame = frame_of(one.matrix, mm)
        if kind in _TEXTS:
            if text := text_of(one.entity, frame, source):
                held.texts.append(text)
        elif kind == "POINT":
            held.points.append(point_of(one.entity, frame, source))
        elif kind in ("HATCH", "MPOLYGON"):
            group = 1 + max((loop.group for loop in held.loops), default=0)
            loops, faults = hatch_loops(one.entity, frame, source, group)
            held.loops.extend(loops)
            problems.extend(faults)
        else:
            paths = paths_of(one.entity, frame)
            if paths is None:
                unread.setdefault((kind, one.layer), []).append(source)
                return
            if kind == "LWPOLYLINE" and (width := one.entity.dxf.get("const_width", 0.0)) > 0.0:
                held.widths[source.element] = width * abs(frame.world.determinant) ** 0.5
            for path in paths:
                if path.closed:
                    held.loops.append(Loop(path, source))
                elif path.start == path.end and len(path.segments) == 1:
                    held.points.append(PointShape(path.start, source))
                else:
                    held.open.append((path, source))
    except Unreadable as fault:
        problems.append(
            Problem(
                fault.code,
                fault.severity,
                f"{source.element} on layer “{source.layer}” cannot be read: {fault.message}.",
                fault.mend,
                source,
            )
        )
    except Exception as error:  # noqa: BLE001  one foreign entity must not end the reading
        problems.append(
            Problem(
                "entity-unreadable",
                Severity.ERROR,
                f"{source.element} on layer “{source.layer}” cannot be read "
                f"({type(error).__name__}: {error}).",
                "Delete it in the drawing, or draw it again.",
                source,
            )
        )


def _shapes(held: _Gathered) -> tuple[tuple[Shape, ...], list[Problem]]:
    from templater.reading.dxf_areas import Loop, areas_of

    joined = join(held.open, JOIN_TOLERANCE_MM)
    loops = [*held.loops, *(Loop(path, source) for path, source in joined.closed)]
    areas, faults = areas_of(loops)
    lines = [
        LineShape(path, source, held.widths.get(source.element, 0.0))
        for path, source in joined.open
    ]
    return (*areas, *lines, *held.points, *held.texts), [*joined.problems, *faults]


def _unread_problems(unread: dict[tuple[str, str], list[Source]]) -> list[Problem]:
    found = []
    for (kind, layer), sources in unread.items():
        names = ", ".join(source.element for source in sources[:_MOST_MESSAGES])
        if kind in _ANNOTATIONS:
            found.append(
                Problem(
                    "annotation-left-out",
                    Severity.NOTE,
                    f"{len(sources)} of kind {kind} on layer “{layer}” were left out: {names}.",
                    "Nothing needs doing, unless lines of it are needed: then explode it.",
                    sources[0],
                )
            )
        else:
            found.append(
                Problem(
                    "entity-unsupported",
                    Severity.ERROR,
                    f"{len(sources)} of kind {kind} on layer “{layer}” cannot be read: {names}.",
                    "Explode or flatten them into lines and polylines, or switch the layer off.",
                    sources[0],
                )
            )
    return found


def box_of_layers(layers: Iterable[DrawingLayer]) -> Box | None:
    """The box around every shape, None without one."""
    boxes: list[Box] = []
    for layer in layers:
        for shape in layer.shapes:
            match shape:
                case AreaShape():
                    boxes.append(path_box(shape.area.outline))
                case LineShape():
                    boxes.append(path_box(shape.path))
                case PointShape() | TextShape():
                    x, y = shape.at
                    boxes.append((x, y, x, y))
    return join_boxes(boxes) if boxes else None
