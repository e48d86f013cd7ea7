"""A layer of an SVG file made ready: loose lines of an outline joined, doubles dropped, counted."""

from __future__ import annotations

import math
from collections.abc import Sequence

from templater.geometry.joining import JOIN_TOLERANCE_MM, join
from templater.model.curves import Path
from templater.model.drawing import AreaShape, DrawingLayer, LineShape, Shape
from templater.model.problems import Source
from templater.reading.areas import SLIVER_MM, Inside, areas_of
from templater.reading.colours import in_colours, with_colours
from templater.reading.naming import role_of
from templater.reading.tally import Tally
from templater.reading.tidy import without_doubles

_JOINED_ROLES = frozenset({"piece", "zone", "low"})


def finished_layer(name: str, shapes: Sequence[Shape], tally: Tally) -> DrawingLayer:
    """The layer, and its colours each for itself; what was done is counted once."""
    coloured = in_colours(shapes, lambda shape: shape.source.colour)
    return with_colours(
        DrawingLayer(name, _finished(name, shapes, tally)),
        coloured,
        lambda colour: _finished(name, coloured[colour], Tally(tally.file)),
    )


def _finished(name: str, shapes: Sequence[Shape], tally: Tally) -> tuple[Shape, ...]:
    joined = _joined(shapes, tally) if role_of(name) in _JOINED_ROLES else shapes
    kept, dropped = without_doubles(joined)
    for shape in dropped:
        tally.count("doubled", shape.source)
    return tuple(kept)


def _joined(shapes: Sequence[Shape], tally: Tally) -> Sequence[Shape]:
    """Outlines drawn as loose lines, joined."""
    loose = [shape for shape in shapes if isinstance(shape, LineShape)]
    if len(loose) < 2:
        return shapes
    joined = join([(line.path, line.source) for line in loose], JOIN_TOLERANCE_MM)
    tally.adopt(joined.problems)
    if not joined.closed:
        return shapes
    widths = {id(line.source): line.width_mm for line in loose}
    made: list[Shape] = [shape for shape in shapes if not isinstance(shape, LineShape)]
    for path, source in joined.closed:
        tally.count("joined", source, path.start)
        made.extend(shapes_inside(areas_of([path], evenodd=False), source, source, 0.0, tally))
    made.extend(
        LineShape(path, source, widths.get(id(source), 0.0)) for path, source in joined.open
    )
    return made


def shapes_inside(
    inside: Inside, source: Source, lined: Source, width_mm: float, tally: Tally
) -> list[Shape]:
    """The areas, from `source`, and what encloses nothing as lines, from `lined`."""
    made: list[Shape] = [AreaShape(area, source) for area in inside.areas]
    for path in inside.lines:
        tally.count("no-width", source, path.start)
        made.append(LineShape(_one_way(path), lined, width_mm))
    for path in inside.covered:
        tally.count("covered", source, path.start)
    if inside.resolved:
        tally.count("crossing", source, inside.areas[0].outline.start)
    return made


def _one_way(path: Path) -> Path:
    """A closed path without width as an open line: out only, where it comes back the same way."""
    half = len(path.segments) // 2
    if len(path.segments) % 2 == 0 and half:
        out = [path.start, *(s.end for s in path.segments[:half])]
        back = [path.start, *(s.start for s in reversed(path.segments[half:]))]
        if all(math.dist(a, b) <= SLIVER_MM for a, b in zip(out, back, strict=True)):
            return Path(path.segments[:half], closed=False)
    return Path(path.segments[:-1] if half else path.segments, closed=False)
