"""The drawing's shapes sorted by role, each told with its name; what is in the wrong form is said."""

from __future__ import annotations

import difflib
import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from templater.geometry.flatten import flatten
from templater.ground.colour_parts import told_apart
from templater.ground.recast import recast
from templater.ground.roles import nearest_role, read_layer_name
from templater.job.locate import in_job
from templater.model.curves import Area, Path, Point
from templater.model.drawing import (
    AreaShape,
    Drawing,
    DrawingLayer,
    LineShape,
    PointShape,
    Shape,
)
from templater.model.names import plain_name
from templater.model.problems import Problem, Problems, Severity, Source
from templater.model.roles import Role
from templater.model.words import counted

UNUSED = "unused-layer"
_MOST_NAMED = 12


@dataclass(frozen=True, slots=True)
class Named:
    """A shape with the name its layer gave it."""

    name: str
    shape: Shape

    @property
    def source(self) -> Source:
        return self.shape.source


@dataclass(frozen=True, slots=True)
class Sorted:
    """Shapes by role, in document order; of the pieces in `halves` the file gives one half."""

    by_role: Mapping[Role, tuple[Named, ...]]
    problems: Problems = field(default=())
    halves: tuple[str, ...] = ()

    def of(self, role: Role) -> tuple[Named, ...]:
        return self.by_role.get(role, ())


def sort_shapes(drawing: Drawing, overrides: Mapping[str, str]) -> Sorted:
    """Every shape under its layer's role. Layers without a role are reported as unused."""
    by_role: dict[Role, list[Named]] = {}
    problems: list[Problem] = list(_not_there(drawing, overrides))
    for layer in told_apart(drawing, overrides).layers:
        read = read_layer_name(layer.name, overrides)
        if read.role is None:
            if layer.shapes:
                problems.append(_unused(drawing.file, layer))
            continue
        recast_shapes, found = recast(layer.name, layer.shapes, read.role)
        problems.extend(found)
        by_role.setdefault(read.role, []).extend(Named(read.name, s) for s in recast_shapes)
    sorted_shapes = {role: tuple(named) for role, named in by_role.items()}
    return Sorted(sorted_shapes, tuple(problems), drawing.halves)


def _unused(file: str, drawn: DrawingLayer) -> Problem:
    layer, near = drawn.name, nearest_role(drawn.name)
    shapes = counted(len(drawn.shapes), "shape")
    called = f'the layer "{layer}"' if layer else "what lies on no named layer"
    mend = (
        (f'Did you mean "{near} …"? ' if near else "")
        + "Begin the layer's name with a role (such as zone, piece, row, clear), or say what it is under [layers] in the job."
    )
    return Problem(
        UNUSED,
        Severity.WARNING,
        f"{called} ({shapes}) has no role and is not used",
        mend,
        Source(file, layer),
        _start(drawn.shapes[0]),
    )


def _not_there(drawing: Drawing, overrides: Mapping[str, str]) -> Iterator[Problem]:
    """A name under `[layers]` that the drawing does not have would go unheard."""
    names = {
        plain_name(part.name): part.name
        for layer in drawing.layers
        for part in (layer, *layer.by_colour)
    }
    for key in overrides:
        if plain_name(key) in names:
            continue
        near = difflib.get_close_matches(plain_name(key), names, n=1, cutoff=0.5)
        listed = ", ".join(f'"{layer.name}"' for layer in drawing.layers[:_MOST_NAMED])
        yield Problem(
            "unknown-layer",
            Severity.WARNING,
            f'the drawing has no layer "{key}"',
            f'Did you mean "{names[near[0]]}"?' if near else f"It has: {listed or 'none'}.",
            in_job("layers", key),
        )


def _start(shape: Shape) -> Point:
    match shape:
        case AreaShape(area):
            return area.outline.start
        case LineShape(path):
            return path.start
        case _:
            return shape.at


def closed_areas(
    named: Iterable[Named], what: str
) -> tuple[list[tuple[str, Area, Source]], Problems]:
    """The closed shapes among these; open lines and points are errors that say where the gap is."""
    areas: list[tuple[str, Area, Source]] = []
    problems: list[Problem] = []
    for item in named:
        match item.shape:
            case AreaShape(area, source):
                areas.append((item.name, area, source))
            case LineShape(path, source):
                gap = math.dist(path.start, path.end)
                problems.append(
                    Problem(
                        "open-outline",
                        Severity.ERROR,
                        f'the outline of {what} "{item.name}" is open: its ends are {gap:.2f} mm apart',
                        "Join the two ends in the drawing so that the line closes.",
                        source,
                        path.end,
                    )
                )
            case PointShape(at, source):
                problems.append(
                    Problem(
                        "not-an-outline",
                        Severity.ERROR,
                        f'{what} "{item.name}" holds a point, which has no area',
                        "Take the point out, or move it to a layer for points (drill, notch).",
                        source,
                        at,
                    )
                )
            case _:
                pass  # a text on the layer is a note
    return areas, tuple(problems)


def lines_of(named: Iterable[Named]) -> list[tuple[str, Path, Source]]:
    """The paths among these, open ones and outlines alike."""
    found: list[tuple[str, Path, Source]] = []
    for item in named:
        match item.shape:
            case LineShape(path, source):
                found.append((item.name, path, source))
            case AreaShape(area, source):
                found.append((item.name, area.outline, source))
            case _:
                pass
    return found


def points_of(named: Iterable[Named]) -> list[tuple[Point, Source]]:
    """A point for each: itself, the middle of a small circle, the start of a short stroke."""
    found: list[tuple[Point, Source]] = []
    for item in named:
        match item.shape:
            case PointShape(at, source):
                found.append((at, source))
            case LineShape(path, source):
                found.append((path.start, source))
            case AreaShape(area, source):
                ring = flatten(area.outline, 0.01)
                xs, ys = zip(*ring, strict=True)
                found.append((((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2), source))
            case _:
                pass
    return found
