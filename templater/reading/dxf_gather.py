"""Entities, wherever they were found, as the shapes of a Drawing's layers."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from typing import TYPE_CHECKING

from templater.geometry.joining import JOIN_TOLERANCE_MM, Joined, join
from templater.geometry.joining_ends import near_groups
from templater.geometry.measure import join_boxes, path_box
from templater.model.curves import Box, Path, Point
from templater.model.drawing import (
    AreaShape,
    DrawingLayer,
    LineShape,
    PointShape,
    Shape,
    TextShape,
)
from templater.model.problems import Problem, Severity, Source
from templater.model.roles import SINGLE_STROKES
from templater.model.words import counted
from templater.reading.colours import with_colours
from templater.reading.naming import LINE_ROLES, role_of
from templater.reading.tidy import without_doubles

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
_FARTHEST_MM = 1e8
_MOST_MESSAGES = 20


_Somewhere = tuple[Source, Point | None]


@dataclass(slots=True)
class _Gathered:
    """What one layer holds so far."""

    loops: list[Loop] = field(default_factory=list)
    open: list[tuple[Path, Source]] = field(default_factory=list)
    widths: dict[str, float] = field(default_factory=dict)
    points: list[PointShape] = field(default_factory=list)
    dots: list[PointShape] = field(default_factory=list)
    """Lines without length."""
    hatches: int = 0
    texts: list[TextShape] = field(default_factory=list)


def gather(
    placed: Iterable[Placed], file: str, mm: float, *, role: Callable[[str], str] = role_of
) -> tuple[tuple[DrawingLayer, ...], list[Problem]]:
    """Entities as layers, in the order in which each layer is first drawn on.

    `role` tells a layer's role word, which decides what is joined and what is a hole: strokes of
    notches, drill and grain marks stay single, and no line is a hole in another.
    """
    gathered: dict[str, _Gathered] = {}
    problems: list[Problem] = []
    unread: dict[tuple[str, str], list[_Somewhere]] = {}
    for one in placed:
        kind = one.entity.dxftype()
        if kind in _NOTHING_TO_SEE:
            continue
        _take(one, file, mm, gathered, problems, unread)
    problems.extend(_unread_problems(unread))
    layers = []
    for name, held in gathered.items():
        shapes, faults = _shapes(held, role(name))
        problems.extend(faults)
        if shapes:
            coloured = _by_colour(held)
            read = partial(_of_colour, coloured, role(name))
            layers.append(with_colours(DrawingLayer(name, shapes), coloured, read))
    return tuple(layers), problems


def _take(
    one: Placed,
    file: str,
    mm: float,
    gathered: dict[str, _Gathered],
    problems: list[Problem],
    unread: dict[tuple[str, str], list[_Somewhere]],
) -> None:
    from templater.reading.dxf_areas import Loop
    from templater.reading.dxf_curves import paths_of, width_of
    from templater.reading.dxf_frame import Frame, Unreadable, frame_of, seen_from_above
    from templater.reading.dxf_hatch import hatch_loops
    from templater.reading.dxf_places import place_of, told
    from templater.reading.dxf_texts import point_of, text_of

    kind = one.entity.dxftype()
    source = one.source(file)
    held = gathered.setdefault(one.layer, _Gathered())
    try:
        frame = frame_of(one.matrix, mm)
        if kind in _TEXTS:
            if text := text_of(one.entity, frame, source):
                _need_reach((text.at,))
                held.texts.append(text)
        elif kind == "POINT":
            point = point_of(one.entity, frame, source)
            _need_reach((point.at,))
            held.points.append(point)
        elif kind in ("HATCH", "MPOLYGON"):
            held.hatches += 1
            loops, faults = hatch_loops(one.entity, frame, source, held.hatches)
            held.loops.extend(loops)
            problems.extend(faults)
        else:
            paths = paths_of(one.entity, frame)
            if paths is None:
                at = place_of(one.entity, frame)
                unread.setdefault((kind, one.layer), []).append((source, at))
                return
            if (width := width_of(one.entity)) > 0.0:
                held.widths[source.element] = width * abs(frame.world.determinant) ** 0.5
            for path in paths:
                _need_reach((path.start, *(segment.end for segment in path.segments)))
                if path.closed:
                    held.loops.append(Loop(path, source))
                elif path.start == path.end and len(path.segments) == 1:
                    held.dots.append(PointShape(path.start, source))
                else:
                    held.open.append((path, source))
    except Unreadable as fault:
        at = place_of(one.entity, Frame(one.matrix, mm, seen_from_above(one.matrix, mm)))
        problems.append(
            Problem(
                fault.code,
                fault.severity,
                f"{source.element} on layer “{source.layer}”{told(at)} cannot be read: "
                f"{fault.message}.",
                fault.mend,
                source,
                at,
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


def _by_colour(held: _Gathered) -> dict[str, _Gathered]:
    """What a layer holds, told apart by the colour it is drawn in."""
    found: dict[str, _Gathered] = {}

    def of(source: Source) -> _Gathered:
        return found.setdefault(source.colour, _Gathered(widths=held.widths))

    for loop in held.loops:
        of(loop.source).loops.append(loop)
    for line in held.open:
        of(line[1]).open.append(line)
    for point in held.points:
        of(point.source).points.append(point)
    for dot in held.dots:
        of(dot.source).dots.append(dot)
    for text in held.texts:
        of(text.source).texts.append(text)
    return found


def _of_colour(coloured: Mapping[str, _Gathered], role: str, colour: str) -> tuple[Shape, ...]:
    """One colour read for itself; what is wrong has been told of the whole layer."""
    shapes, _ = _shapes(coloured[colour], role)
    return shapes


def _need_reach(points: Iterable[Point]) -> None:
    """Raises Unreadable for points farther out than can be computed with to 0.0001 mm."""
    from templater.reading.dxf_frame import Unreadable

    if not all(abs(x) <= _FARTHEST_MM and abs(y) <= _FARTHEST_MM for x, y in points):
        raise Unreadable(
            "far-away",
            "it lies more than 100 km from the origin",
            "Move the drawing to its origin, or delete what strayed.",
        )


def _shapes(held: _Gathered, role: str) -> tuple[tuple[Shape, ...], list[Problem]]:
    from templater.reading.dxf_areas import Loop, areas_of

    if role in SINGLE_STROKES:
        joined = Joined((), tuple(held.open), ())
    else:
        joined = join(held.open, JOIN_TOLERANCE_MM)
    loops = [*held.loops, *(Loop(path, source) for path, source in joined.closed)]
    areas, faults = areas_of(loops, nest=role not in LINE_ROLES)
    lines = [
        LineShape(path, source, held.widths.get(source.element, 0.0))
        for path, source in joined.open
    ]
    dots, dropped = _apart_from(held.dots, held.open)
    points, doubles = without_doubles([*held.points, *dots])
    if dropped or doubles:
        faults = (*faults, _dropped_points([*dropped, *doubles]))
    return (*areas, *lines, *points, *held.texts), [*joined.problems, *faults]


def _apart_from(
    dots: list[PointShape], paths: Sequence[tuple[Path, Source]]
) -> tuple[list[PointShape], list[Shape]]:
    """Lines without length are points, but rubbish where they lie on the end of another line."""
    if not dots:
        return [], []
    ends = [point for path, _ in paths for point in (path.start, path.end)]
    touched: set[int] = set()
    for group in near_groups([*(dot.at for dot in dots), *ends], JOIN_TOLERANCE_MM):
        if group[-1] >= len(dots):
            touched.update(i for i in group if i < len(dots))
    kept = [dot for i, dot in enumerate(dots) if i not in touched]
    return kept, [dot for i, dot in enumerate(dots) if i in touched]


def _dropped_points(dropped: Sequence[Shape]) -> Problem:
    source = dropped[0].source
    return Problem(
        "points-dropped",
        Severity.NOTE,
        f"Left out on layer “{source.layer}”, as they lie on others or are lines without length at "
        f"the end of another: {counted(len(dropped), 'point')}.",
        "Nothing needs doing.",
        source,
    )


def _unread_problems(unread: dict[tuple[str, str], list[_Somewhere]]) -> list[Problem]:
    found = []
    from templater.reading.dxf_places import told

    for (kind, layer), places in unread.items():
        names = ", ".join(s.element + told(at) for s, at in places[:_MOST_MESSAGES])
        first, first_at = places[0]
        if kind in _ANNOTATIONS:
            found.append(
                Problem(
                    "annotation-left-out",
                    Severity.NOTE,
                    f"Left out on layer “{layer}”: {len(places)} of kind {kind} ({names}).",
                    "Nothing needs doing, unless lines of it are needed: then explode it.",
                    first,
                    first_at,
                )
            )
        else:
            found.append(
                Problem(
                    "entity-unsupported",
                    Severity.ERROR,
                    f"What cannot be read on layer “{layer}”: {len(places)} of kind {kind} ({names}).",
                    "Explode or flatten them into lines and polylines, or switch the layer off.",
                    first,
                    first_at,
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
