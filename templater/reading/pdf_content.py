"""The graphics of a PDF page as shapes: a follower of its content stream's operators.

Source: ISO 32000-1, 8 "Graphics". What is painted counts: paths filled or stroked, not those that
only clip. White fills, which cannot be seen on paper, are left out and counted. Imported late:
what it handles are pikepdf's objects.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import pikepdf

from templater.geometry.joining import Traced
from templater.model.curves import Box, Line, Path, Point, Transform
from templater.model.drawing import AreaShape, LineShape, PointShape, Shape, TextShape
from templater.model.problems import Source
from templater.reading.areas import TooTangled, areas_of
from templater.reading.colours import WHITE
from templater.reading.naming import LINE_ROLES, role_of
from templater.reading.pdf_colours import BLACK_PAINT, SETS_FILL, SETS_STROKE, Paint, painted
from templater.reading.pdf_layers import PdfLayers
from templater.reading.pdf_paths import PATH_OPERATORS, clip_box, draw, lifted
from templater.reading.pdf_texts import PLAIN_FONT, Font, TextPen, font_of
from templater.reading.pen import Pen, Subpath

MOST_OPERATORS = 20_000_000
_DEEPEST = 24
_FILLS = {"f": False, "F": False, "f*": True, "B": False, "B*": True, "b": False, "b*": True}
_STROKES = {"S", "s", "B", "B*", "b", "b*"}
_CLOSES = {"s", "b", "b*"}
_TEXT = {"Tm", "Td", "TD", "TL", "T*", "Tj", "TJ", "'", '"'}
_CLIP_HAIR_MM = 0.1


class TooLong(ValueError):
    """A page of more operators than are read."""


@dataclass(frozen=True, slots=True)
class _State:
    """The part of the graphics state that matters here; `to_mm` is the CTM, then the page."""

    to_mm: Transform
    width: float = 1.0
    fill: Paint = BLACK_PAINT
    stroke: Paint = BLACK_PAINT
    clip: Box | None = None
    clip_exact: bool = True
    within: tuple[Subpath, ...] = ()
    """The innermost clip, which is what a shading fills."""
    within_evenodd: bool = False
    fill_seen: bool = True
    stroke_seen: bool = True
    font: Font = PLAIN_FONT
    size: float = 0.0


@dataclass(slots=True)
class LayerContent:
    """What was painted on one layer."""

    shapes: list[Shape] = field(default_factory=list)
    open: list[tuple[Traced, float]] = field(default_factory=list)
    """Open lines, each with its stroke's width in mm."""


@dataclass(slots=True)
class Content:
    """What the pages hold so far, by layer; and counts of what was met, each with its first place."""

    layers: dict[str, LayerContent] = field(default_factory=dict)
    counts: Counter[str] = field(default_factory=Counter)
    places: dict[str, Point | None] = field(default_factory=dict)
    painted: int = 0
    """How many paths were painted."""

    def count(self, what: str, at: Point | None = None, times: int = 1) -> None:
        self.counts[what] += times
        self.places.setdefault(what, at)


class Follower:
    """Follows one page. `page_layer` names what lies on no layer of its own."""

    def __init__(
        self, file: str, page_layer: str, layers: PdfLayers, content: Content, start: Transform
    ) -> None:
        self._file, self._page_layer = file, page_layer
        self._layers, self._content = layers, content
        self._marks: list[tuple[str, bool] | None] = []
        self._fonts: dict[tuple[int, int], Font] = {}
        self._start = start
        self._number = 0
        self._operators = 0

    def follow(self, page: Any, resources: Any, clip: Box) -> None:
        """The page's content. Raises TooLong; pikepdf's errors for a broken stream."""
        self._stream(page, resources, _State(self._start, clip=clip), ())

    def _stream(
        self, stream: Any, resources: Any, state: _State, forms: tuple[tuple[int, int], ...]
    ) -> None:
        stack: list[_State] = []
        pen: Pen | None = None
        clipping = ""
        texts = TextPen()
        marked = len(self._marks)
        for instruction in pikepdf.parse_content_stream(stream):
            operands: Any = instruction.operands
            operator = str(instruction.operator)
            self._operators += 1
            if self._operators > MOST_OPERATORS:
                raise TooLong(f"it has more than {MOST_OPERATORS:,} operators")
            if operator in PATH_OPERATORS:
                if pen is None:
                    pen = Pen(state.to_mm)
                draw(pen, operator, [float(value) for value in operands])
            elif operator in _FILLS or operator in _STROKES or operator == "n":
                if pen is not None:
                    drawn = lifted(pen, closes=operator in _CLOSES)
                    self._paint(operator, drawn, state)
                    if clipping:
                        state = _clipped(state, drawn, evenodd=clipping == "W*")
                pen, clipping = None, ""
            elif operator in ("W", "W*"):
                clipping = operator
            elif operator == "q":
                stack.append(state)
            elif operator == "Q":
                state = stack.pop() if stack else state
            elif operator == "Do":
                self._object(str(operands[0]), resources, state, forms)
            elif operator in _TEXT:
                texts.font, texts.size = state.font, state.size
                texts.operate(operator, list(operands))
            elif operator == "BT":
                texts.begin()
            elif operator == "ET":
                self._write(texts, state)
            elif operator in ("BMC", "BDC"):
                self._marks.append(self._marked(operator, operands, resources))
            elif operator == "EMC":
                if len(self._marks) > marked:
                    self._marks.pop()
            elif operator == "INLINE IMAGE":
                self._content.count("images")
            elif operator == "sh":
                self._shade(state)
            else:
                state = self._set(operator, operands, resources, state)
        del self._marks[marked:]

    def _set(self, operator: str, operands: Any, resources: Any, state: _State) -> _State:
        """Operators that change the state."""
        if operator in SETS_FILL or operator in SETS_STROKE:
            spaces = None if resources is None else resources.get("/ColorSpace")
            if operator in SETS_FILL:
                return replace(state, fill=painted(state.fill, operator, operands, spaces))
            return replace(state, stroke=painted(state.stroke, operator, operands, spaces))
        match operator:
            case "cm":
                a, b, c, d, e, f = (float(value) for value in operands)
                return replace(state, to_mm=Transform(a, b, c, d, e, f).then(state.to_mm))
            case "w":
                return replace(state, width=float(operands[0]))
            case "Tf":
                font = _resource(resources, "/Font", operands[0])
                known = PLAIN_FONT if font is None else self._font(font)
                return replace(state, font=known, size=float(operands[1]))
            case "gs":
                settings = _resource(resources, "/ExtGState", operands[0])
                return (
                    state
                    if settings is None
                    else replace(
                        state,
                        width=float(settings.get("/LW", state.width)),
                        fill_seen=float(settings.get("/ca", state.fill_seen)) > 0.0,
                        stroke_seen=float(settings.get("/CA", state.stroke_seen)) > 0.0,
                    )
                )
            case _:
                return state

    def _font(self, font: Any) -> Font:
        key = tuple(font.objgen)
        if key == (0, 0):
            return font_of(font)
        if key not in self._fonts:
            self._fonts[key] = font_of(font)
        return self._fonts[key]

    def _marked(self, operator: str, operands: Any, resources: Any) -> tuple[str, bool] | None:
        if operator != "BDC" or str(operands[0]) != "/OC" or len(operands) < 2:
            return None
        content = _resource(resources, "/Properties", operands[1])
        return None if content is None else self._layers.layer_of(content)

    def _object(
        self, name: str, resources: Any, state: _State, forms: tuple[tuple[int, int], ...]
    ) -> None:
        found = _resource(resources, "/XObject", name)
        if found is None:
            self._content.count("objects missing")
            return
        kind = str(found.get("/Subtype", ""))
        if kind == "/Image":
            if self._layer() is not None:
                self._content.count("images", state.to_mm.apply((0.0, 0.0)))
            return
        if kind != "/Form":
            return
        key = tuple(found.objgen)
        if key in forms or len(forms) >= _DEEPEST:
            self._content.count("forms in themselves")
            return
        layer = self._layers.layer_of(found["/OC"]) if "/OC" in found else None
        self._marks.append(layer)
        a, b, c, d, e, f = (float(value) for value in found.get("/Matrix", (1, 0, 0, 1, 0, 0)))
        inner = replace(state, to_mm=Transform(a, b, c, d, e, f).then(state.to_mm))
        if "/BBox" in found:
            x0, y0, x1, y1 = (float(value) for value in found["/BBox"])
            pen = Pen(inner.to_mm)
            draw(pen, "re", [x0, y0, x1 - x0, y1 - y0])
            inner = replace(_clipped(inner, pen.lift(), evenodd=False), within=inner.within)
        self._stream(found, found.get("/Resources", resources), inner, (*forms, key))
        self._marks.pop()

    def _layer(self) -> str | None:
        """The layer painted on now, None where it is not shown."""
        named = [mark for mark in self._marks if mark is not None]
        for name, shown in named:
            if not shown:
                self._layers.hidden[name] = self._layers.hidden.get(name, 0) + 1
                return None
        return named[-1][0] if named else self._page_layer

    def _paint(self, operator: str, drawn: Sequence[Subpath], state: _State) -> None:
        fills = operator in _FILLS and state.fill_seen
        strokes = operator in _STROKES and state.stroke_seen
        solid = [subpath for subpath in drawn if subpath.segments]
        if operator == "n" or not drawn:
            return
        layer = self._layer()
        if layer is None:
            return
        at = drawn[0].start
        if not (fills or strokes):
            self._content.count("see-through", at)
            return
        if fills and not strokes and state.fill.white:
            self._content.count("white fills", at)
            return
        if not self._is_seen(solid, state):
            self._content.count("clipped away", at)
            return
        self._number += 1
        self._content.painted += 1
        colour = state.fill.colour if fills else ""
        if strokes and colour in {"", WHITE}:
            colour = state.stroke.colour
        element = f"path {self._number} of {self._page_layer}"
        source = Source(self._file, layer, element, colour=colour)
        held = self._content.layers.setdefault(layer, LayerContent())
        if fills:
            self._fill(held, solid, source, evenodd=_FILLS[operator], stroked=strokes)
            return
        held.shapes.extend(
            PointShape(subpath.start, source)
            for subpath in drawn
            if not subpath.segments and (subpath.closed or subpath.zero_length)
        )
        closed = [subpath.path() for subpath in solid if subpath.closed]
        # a line inside another is its hole, but not where lines are meant as lines
        apart = [[path] for path in closed] if role_of(layer) in LINE_ROLES else [closed]
        for paths in apart:
            self._inside(held, paths, source, evenodd=True, stroked=True)
        scale = math.sqrt(abs(state.to_mm.determinant))
        held.open.extend(((s.path(), source), state.width * scale) for s in solid if not s.closed)

    def _shade(self, state: _State) -> None:
        """A shading, which colours all that the clip leaves: the shape is the clip's."""
        if not state.within:
            self._content.count("shadings")
            return
        drawn = [replace(subpath, segments=list(subpath.segments)) for subpath in state.within]
        shaded = replace(state, fill=Paint(colour=""), clip_exact=True)
        self._paint("f*" if state.within_evenodd else "f", drawn, shaded)

    def _fill(
        self,
        held: LayerContent,
        solid: Sequence[Subpath],
        source: Source,
        *,
        evenodd: bool,
        stroked: bool,
    ) -> None:
        paths = []
        for subpath in solid:
            if not subpath.closed:
                end = subpath.segments[-1].end
                if end != subpath.start:
                    subpath.segments.append(Line(end, subpath.start))
                    self._content.count("closed as filled", end)
                subpath.closed = True
            paths.append(subpath.path())
        self._inside(held, paths, source, evenodd=evenodd, stroked=stroked)

    def _inside(
        self,
        held: LayerContent,
        paths: Sequence[Path],
        source: Source,
        *,
        evenodd: bool,
        stroked: bool,
    ) -> None:
        if not paths:
            return
        try:
            inside = areas_of(paths, evenodd=evenodd)
        except TooTangled:
            self._content.count("too tangled", paths[0].start)
            return
        if inside.resolved:
            self._content.count("crossing", paths[0].start)
        if inside.covered:
            self._content.count("covered", inside.covered[0].start, len(inside.covered))
        if stroked:  # drawn out and back: what is seen is a line
            held.shapes.extend(LineShape(path, source) for path in inside.lines)
        elif inside.lines:
            self._content.count("without width", inside.lines[0].start, len(inside.lines))
        held.shapes.extend(AreaShape(area, source) for area in inside.areas)

    def _is_seen(self, solid: Sequence[Subpath], state: _State) -> bool:
        """Whether any of it lies within the clip; what is clipped in part is counted."""
        if state.clip is None or not solid:
            return True
        points = [p for s in solid for p in (s.start, *(g.end for g in s.segments))]
        xs, ys = [p[0] for p in points], [p[1] for p in points]
        x0, y0, x1, y1 = state.clip
        if max(xs) < x0 or min(xs) > x1 or max(ys) < y0 or min(ys) > y1:
            return False
        hair = _CLIP_HAIR_MM
        inside = (
            min(xs) >= x0 - hair
            and max(xs) <= x1 + hair
            and min(ys) >= y0 - hair
            and max(ys) <= y1 + hair
        )
        if not inside or not state.clip_exact:
            self._content.count("clipped in part", points[0])
        return True

    def _write(self, texts: TextPen, state: _State) -> None:
        layer = self._layer()
        lines = texts.take()
        self._content.count("texts unreadable", None, texts.unreadable)
        texts.unreadable = 0
        if layer is None:
            return
        for line in lines:
            place = line.matrix.then(state.to_mm)
            height = line.size * math.hypot(place.c, place.d)
            element = f"text on {self._page_layer}"
            source = Source(self._file, layer, element, colour=state.fill.colour)
            held = self._content.layers.setdefault(layer, LayerContent())
            words = line.words.strip()
            held.shapes.append(
                TextShape(words, (place.e, place.f), height, place.turned(0.0), source)
            )


def _clipped(state: _State, drawn: Sequence[Subpath], *, evenodd: bool) -> _State:
    """The state under a further clip: exact for an upright rectangle, else its box."""
    found = clip_box(drawn)
    if found is None:
        return state
    box, upright = found
    if state.clip is not None:
        a, b = state.clip, box
        box = (max(a[0], b[0]), max(a[1], b[1]), min(a[2], b[2]), min(a[3], b[3]))
    exact = state.clip_exact and upright
    return replace(state, clip=box, clip_exact=exact, within=tuple(drawn), within_evenodd=evenodd)


def _resource(resources: Any, kind: str, name: Any) -> Any:
    """A named resource; properties may also stand in place."""
    if isinstance(name, pikepdf.Dictionary):
        return name
    group = None if resources is None else resources.get(kind)
    return None if group is None else group.get(str(name))
