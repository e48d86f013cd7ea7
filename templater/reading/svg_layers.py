"""What an SVG file draws, sorted into shapes on layers, with stated tolerances.

A speck below 0.05 mm is dropped, an outline open by no more than 0.05 mm closed, loose lines of an
outline joined where their ends lie within 0.05 mm, doubles within 0.001 mm dropped; each counted.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field, replace

from templater.geometry.measure import signed_ring_area
from templater.model.curves import Box, Line, Path, Point, Segment
from templater.model.drawing import (
    DrawingLayer,
    LineShape,
    PointShape,
    Shape,
    TextShape,
)
from templater.model.problems import Severity, Source
from templater.reading.areas import SLIVER_MM, TooTangled, areas_of
from templater.reading.naming import LINE_ROLES
from templater.reading.pen import Subpath
from templater.reading.svg_finish import finished_layer, shapes_inside
from templater.reading.svg_text import Text
from templater.reading.svg_walk import Drawn
from templater.reading.tally import Tally
from templater.reading.tidy import TINY_MM

FARTHEST_MM = 1e6
"""A kilometre: what lies farther out is a mistake."""
_POINT_ROLES = frozenset({"notch", "drill"})
_OFF_PAGE_MM = 0.05


@dataclass(slots=True)
class Layers:
    """Layers in the order in which they first get a shape."""

    tally: Tally
    page: Box | None
    _shapes: dict[str, list[Shape]] = field(default_factory=dict)

    def add(self, drawn: Drawn | Text) -> None:
        """Sort one element's strokes or text onto its layer."""
        layer = drawn.scene.layer
        if isinstance(drawn, Text):
            if _out_of_range((drawn.at,)):
                self._lost(drawn.source)
                return
            self._keep(
                layer,
                TextShape(drawn.text, drawn.at, drawn.height_mm, drawn.turn_deg, drawn.source),
            )
            return
        style, role = drawn.scene.style, drawn.scene.role
        if not style.filled and not style.stroked:
            self.tally.count("unpainted-kept" if role else "unpainted", drawn.source)
            if not role:
                return
        closed: list[Path] = []
        for subpath in drawn.subpaths:
            self._sort(subpath, drawn, closed)
        if not closed:
            return
        groups = [[path] for path in closed] if role in LINE_ROLES else [closed]
        for group in groups:
            self._areas(group, drawn)

    def _sort(self, subpath: Subpath, drawn: Drawn, closed: list[Path]) -> None:
        """One subpath: a point, a line, or one of the closed paths for the fill rule."""
        style, role, layer = drawn.scene.style, drawn.scene.role, drawn.scene.layer
        source = drawn.source
        lost = subpath.zero_length
        if not subpath.segments:
            if (lost or subpath.closed) and (style.stroked or role in _POINT_ROLES):
                if not _out_of_range((subpath.start,)):
                    self._keep(layer, PointShape(subpath.start, _lined(drawn)))
                    return
                self._lost(source)
            elif lost or subpath.closed:
                self.tally.count("zero-size", source, subpath.start)
            return
        if lost:
            self.tally.count("zero-length", source, subpath.start, lost)
        box = _ends_box(subpath.segments)
        if _out_of_range((box[:2], box[2:])):
            self._lost(source)
            return
        if _small(subpath.segments, box):
            if role in _POINT_ROLES:
                middle = ((box[0] + box[2]) / 2.0, (box[1] + box[3]) / 2.0)
                self._keep(layer, PointShape(middle, _lined(drawn)))
            else:
                self.tally.count("tiny", source, subpath.start)
            return
        self._compare_with_pages(box, drawn)
        if subpath.by_a_hair:
            self.tally.count("closed-by-a-hair", source, subpath.start)
        path = subpath.path()
        if path.closed:
            closed.append(path)
        elif style.filled and not role and _has_inside(path):
            self.tally.count("closed-as-filled", source, path.start)
            closed.append(Path((*path.segments, Line(path.end, path.start)), closed=True))
        else:
            self._keep(layer, LineShape(path, _lined(drawn), drawn.width_mm))

    def _areas(self, closed: list[Path], drawn: Drawn) -> None:
        layer, source = drawn.scene.layer, drawn.source
        try:
            inside = areas_of(closed, evenodd=drawn.scene.style.evenodd)
        except TooTangled as tangled:
            self.tally.tell(
                "too-tangled",
                Severity.ERROR,
                f"Line {source.line}, {source.element}: {tangled}; no inside can be found.",
                "Simplify or unite the shape in the editor.",
                source,
                closed[0].start,
            )
            return
        shapes = shapes_inside(inside, source, _lined(drawn), drawn.width_mm, self.tally)
        self._shapes.setdefault(layer, []).extend(shapes)

    def _keep(self, layer: str, shape: Shape) -> None:
        self._shapes.setdefault(layer, []).append(shape)

    def _lost(self, source: Source) -> None:
        self.tally.tell(
            "out-of-range",
            Severity.ERROR,
            f"Line {source.line}, {source.element}: it reaches more than a kilometre away.",
            "Delete it, or correct its numbers, in an editor.",
            source,
        )

    def _compare_with_pages(self, box: Box, drawn: Drawn) -> None:
        """Say what a nested page would cut off, and count what lies beyond the page."""
        window = drawn.scene.window_mm
        if window is not None and _beyond(box, window):
            source = drawn.source
            self.tally.tell(
                "clipped",
                Severity.WARNING,
                f"Line {source.line}, {source.element}: it reaches beyond the inner page that"
                " holds it, which would cut it off; it was read whole.",
                "Cut the shape in the editor if the cut-off form is the one you want.",
                source,
                (box[0], box[1]),
            )
        elif self.page is not None and _beyond(box, self.page):
            self.tally.count("off-page", drawn.source, (box[0], box[1]))

    def finished(self) -> tuple[DrawingLayer, ...]:
        """The layers, loose outlines joined and doubles dropped."""
        return tuple(
            finished_layer(name, shapes, self.tally) for name, shapes in self._shapes.items()
        )


def _lined(drawn: Drawn) -> Source:
    """The source of what is seen as a line: it has the colour of the stroke."""
    return replace(drawn.source, colour=drawn.scene.style.line_colour)


def _ends_box(segments: Iterable[Segment]) -> Box:
    """The box of all ends."""
    xs, ys = [], []
    for segment in segments:
        x, y = segment.end
        xs.append(x)
        ys.append(y)
    first = next(iter(segments)).start
    xs.append(first[0])
    ys.append(first[1])
    return (min(xs), min(ys), max(xs), max(ys))


def _small(segments: list[Segment], box: Box) -> bool:
    """Whether everything fits into a speck; curves bulge beyond their ends, so they are measured."""
    if max(box[2] - box[0], box[3] - box[1]) >= TINY_MM:
        return False
    from templater.geometry.measure import path_box

    real = path_box(Path(tuple(segments), closed=False))
    return max(real[2] - real[0], real[3] - real[1]) < TINY_MM


def _out_of_range(points: Iterable[Point]) -> bool:
    return not all(abs(x) <= FARTHEST_MM and abs(y) <= FARTHEST_MM for x, y in points)


def _beyond(box: Box, page: Box) -> bool:
    return (
        box[0] < page[0] - _OFF_PAGE_MM
        or box[1] < page[1] - _OFF_PAGE_MM
        or box[2] > page[2] + _OFF_PAGE_MM
        or box[3] > page[3] + _OFF_PAGE_MM
    )


def _has_inside(path: Path) -> bool:
    """Whether an open path, closed by a straight line, would enclose more than a sliver."""
    from templater.geometry.flatten import flatten

    ring = flatten(path, 0.01)
    if len(ring) < 3:
        return False
    xs, ys = [p[0] for p in ring], [p[1] for p in ring]
    size = math.hypot(max(xs) - min(xs), max(ys) - min(ys))
    return abs(signed_ring_area(ring)) > SLIVER_MM * size
