"""What the shapes of each layer look like, and which layer lies in which: the facts proposals rest on.

Nothing here depends on where the drawing lies, how it is turned or mirrored, or on the order of
its layers. Imports shapely inside functions.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from templater.geometry.flatten import flatten
from templater.geometry.polygons import overlap, sound, united
from templater.model.curves import Path, Point
from templater.model.drawing import AreaShape, Drawing, DrawingLayer, LineShape, PointShape

if TYPE_CHECKING:
    from shapely import Polygon
    from shapely.geometry.base import BaseGeometry

_FLAT_MM = 0.01
ALONG_MM = 1.0
"""A line this near to an outline runs along it (our own choice: twice a pencil line)."""
_STRAIGHT_MM = 0.1
_MOSTLY = 0.9
_ROUND = 0.985
"""4π·area over the perimeter's square; 1 for a circle, 0.785 for a square."""


@dataclass(frozen=True, slots=True)
class LayerForm:
    """One layer: its closed shapes as polygons without holes, its lines, points and texts."""

    name: str
    closed: tuple[Polygon, ...]
    open: tuple[Path, ...]
    points: tuple[Point, ...]
    texts: int
    nested: bool
    """Whether closed shapes lie inside others of the same layer, or have holes."""

    @property
    def empty(self) -> bool:
        return not (self.closed or self.open or self.points or self.texts)

    @property
    def only_closed(self) -> bool:
        return bool(self.closed) and not self.open and not self.points

    @property
    def only_open(self) -> bool:
        return bool(self.open) and not self.closed and not self.points

    @property
    def only_points(self) -> bool:
        return bool(self.points) and not self.closed and not self.open

    @property
    def geometry(self) -> BaseGeometry:
        """All of it but the texts."""
        from shapely import GeometryCollection
        from shapely import Point as At

        return GeometryCollection(
            [*self.closed, *(line_of(path) for path in self.open), *map(At, self.points)]
        )

    @property
    def area_mm2(self) -> float:
        return float(sum(polygon.area for polygon in self.closed))

    def circles_mm(self) -> tuple[float, float] | None:
        """The smallest and largest diameter if every shape is a circle, else None."""
        if not self.only_closed:
            return None
        round_ones = [p for p in self.closed if 4 * math.pi * p.area >= _ROUND * p.length**2]
        if len(round_ones) < len(self.closed):
            return None
        across = [2.0 * math.sqrt(p.area / math.pi) for p in round_ones]
        return min(across), max(across)


@dataclass(frozen=True, slots=True)
class Forms:
    """Every layer's form, and for each layer by number those that hold most of it."""

    layers: tuple[LayerForm, ...]
    inside: tuple[tuple[int, ...], ...] = field(default=())

    def holds(self, number: int) -> tuple[int, ...]:
        """The layers that lie inside this one."""
        return tuple(k for k, around in enumerate(self.inside) if number in around)


def forms_of(drawing: Drawing) -> Forms:
    layers = tuple(_form(layer) for layer in drawing.layers)
    return Forms(layers, _inside(layers))


def _form(layer: DrawingLayer) -> LayerForm:
    from shapely import Polygon

    closed: list[Polygon] = []
    holes = False
    lines: list[Path] = []
    points: list[Point] = []
    texts = 0
    for shape in layer.shapes:
        match shape:
            case AreaShape(area):
                ring = flatten(area.outline, _FLAT_MM)
                if len(ring) > 2:
                    closed.append(sound(Polygon(ring)))
                holes = holes or bool(area.holes)
            case LineShape(path):
                lines.append(path)
            case PointShape(at):
                points.append(at)
            case _:
                texts += 1
    nested = holes or _nested(closed)
    return LayerForm(layer.name, tuple(closed), tuple(lines), tuple(points), texts, nested)


def _nested(closed: Sequence[Polygon]) -> bool:
    from shapely import STRtree

    if len(closed) < 2:
        return False
    one, other = STRtree(closed).query(closed, predicate="within")
    return bool((one != other).any())


def _inside(layers: Sequence[LayerForm]) -> tuple[tuple[int, ...], ...]:
    """For each layer those of the others whose closed shapes hold nine tenths of it."""
    whole = [united(layer.closed) if layer.closed else None for layer in layers]

    def held(number: int, other: int) -> bool:
        around, layer = whole[other], layers[number]
        if around is None or number == other:
            return False
        if layer.closed:
            here = whole[number]
            assert here is not None
            if here.area >= around.area:
                return False
            shared = overlap(here, around)
            return bool(shared.area >= _MOSTLY * here.area)
        geometry = layer.geometry
        near = around.buffer(ALONG_MM)
        if layer.open:
            return bool(overlap(geometry, near).length >= _MOSTLY * geometry.length)
        return bool(layer.points) and bool(geometry.within(near))

    numbers = range(len(layers))
    return tuple(tuple(o for o in numbers if held(n, o)) for n in numbers)


def line_of(path: Path) -> BaseGeometry:
    from shapely import LineString

    points = flatten(path, _FLAT_MM)
    return LineString([*points, points[0]] if path.closed else points)


def straight(path: Path) -> bool:
    """Whether a path runs straight from its start to its end, within 0.1 mm."""
    (x0, y0), (x1, y1) = path.start, path.end
    length = math.hypot(x1 - x0, y1 - y0)
    if path.closed or length <= _STRAIGHT_MM:
        return False
    return all(
        abs((x1 - x0) * (y - y0) - (y1 - y0) * (x - x0)) <= _STRAIGHT_MM * length
        for x, y in flatten(path, _FLAT_MM)
    )


def along(line: BaseGeometry, polygons: Sequence[Polygon]) -> bool:
    """Whether nine tenths of a line lie within 1 mm of the polygons' outlines."""
    return any(
        overlap(line, polygon.boundary.buffer(ALONG_MM)).length >= _MOSTLY * line.length
        for polygon in polygons
    )


def mirrors(path: Path, polygon: Polygon) -> bool:
    """Whether the polygon is its own mirror image about the straight path, to a hundredth of it."""
    from shapely.affinity import affine_transform

    from templater.model.curves import mirror_about

    m = mirror_about(path.start, path.end)
    image = affine_transform(polygon, [m.a, m.c, m.b, m.d, m.e, m.f])
    shared = overlap(polygon, image)
    return bool(shared.area >= 0.99 * polygon.area)
