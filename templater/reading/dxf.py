"""DXF to a Drawing: every version from R12 on, ASCII or binary, in mm, in the file's own frame.

Lines stay lines, arcs and bulges exact arcs, ellipses Béziers within 1e-5 mm, splines exact
cubics. Blocks are resolved: contents on layer "0" lie on their reference's layer. Loose lines and
arcs of a layer are joined end to end (`joining`), closed outlines become areas (`dxf_areas` says
how one inside another counts). Imports ezdxf when called.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from templater.geometry.measure import join_boxes, path_box
from templater.model.curves import Box, Path
from templater.model.drawing import (
    AreaShape,
    Drawing,
    DrawingLayer,
    LineShape,
    PointShape,
    Shape,
    TextShape,
)
from templater.model.problems import Problem, Severity, Source
from templater.reading.dxf_load import audited, load_document
from templater.reading.dxf_units import (
    Unit,
    assumed_unit_problem,
    header_unit,
    named_unit,
    unknown_unit,
)
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


def read_dxf(
    data: bytes, file: str, *, unit: str | None = None, size: str | None = None
) -> Drawing:
    """The drawing in a DXF file. Never raises for bad content: see the Drawing's problems.

    `unit` ("mm", "cm", "in") goes before what the file says. `size` chooses one of the sizes of a
    sewn-product file; other files have none.
    """
    nothing = (0.0, 0.0)
    if unit is not None and named_unit(unit) is None:
        return Drawing(file, (), nothing, "unknown", (unknown_unit(unit, file),))
    loaded = load_document(data, file)
    if loaded.document is None:
        return Drawing(file, (), nothing, "unknown", loaded.problems)
    told = header_unit(loaded.document, data)
    asked = named_unit(unit) if unit is not None else None
    found = told if asked is None else Unit(asked, f"{unit} as the job says", assumed=False)
    problems = list(loaded.problems)
    if asked is not None and not told.assumed and abs(told.mm / asked - 1.0) > 1e-6:
        problems.append(
            Problem(
                "unit-overridden",
                Severity.NOTE,
                f"The job says one unit of “{file}” is {asked:g} mm; the file's header says "
                f"{told.mm:g} mm.",
                source=Source(file),
            )
        )
    from templater.reading.dxf_walk import Walk, paper_problem

    walk = Walk(loaded.document, file)
    layers, faults = gather(walk.entities(), file, found.mm)
    problems.extend((*walk.problems, *faults))
    if not loaded.recovered:  # recovering has audited already
        problems.extend(audited(loaded.document, file))
    if paper := paper_problem(loaded.document, file):
        problems.append(paper)
    box = box_of_layers(layers)
    extent = (0.0, 0.0) if box is None else (box[2] - box[0], box[3] - box[1])
    if box is None:
        problems.append(
            Problem(
                "drawing-empty",
                Severity.ERROR,
                f"“{file}” has nothing in it that can be seen and read.",
                "Draw in model space, on layers that are on and thawed, and save again.",
                Source(file),
            )
        )
    elif found.assumed:
        problems.append(assumed_unit_problem(file, extent))
    return Drawing(file, layers, extent, found.words, tuple(problems))


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
