"""Through an SVG tree in document order, to shapes on layers. No recursion: depth costs nothing.

Imports lxml; imported late.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from urllib.parse import unquote

from lxml import etree

from templater.geometry.measure import join_boxes, path_box
from templater.model.curves import IDENTITY, shift
from templater.model.problems import Source
from templater.reading.naming import role_of, unescaped
from templater.reading.pen import Pen, Subpath
from templater.reading.svg_css import StyleSheets
from templater.reading.svg_places import Places, nested_page
from templater.reading.svg_remarks import Remarks
from templater.reading.svg_scene import (
    Scene,
    called,
    inside_group,
    moved,
    name_of,
    window_of,
)
from templater.reading.svg_shapes import SHAPES, BadData, BadShape, Sizes, draw_shape
from templater.reading.svg_style import Style, styled
from templater.reading.svg_text import TEXTS, Text, text_of
from templater.reading.svg_transform import BadTransform
from templater.reading.svg_units import BadLength, Viewport
from templater.reading.svg_xml import href, in_svg, local
from templater.reading.tally import Tally

MOST_COPIES = 100_000
"""Elements that `use` may unfold to, over a whole file."""
MOST_SEGMENTS = 8_000_000
"""Lines and curves a whole file may draw."""
_NESTING = 64  # uses within uses
_GROUPS = frozenset({"g", "a", "svg", "symbol", "switch"})
_SILENT = frozenset(
    [
        "defs",
        "symbol",
        "clipPath",
        "mask",
        "marker",
        "pattern",
        "linearGradient",
        "radialGradient",
        "filter",
        "style",
        "script",
        "metadata",
        "title",
        "desc",
        "view",
        "cursor",
        "font",
        "font-face",
        "color-profile",
        "solidcolor",
        "hatch",
        "hatchpath",
        "meshgradient",
        "missing-glyph",
        "glyph",
        "stop",
        "param",
    ]
)
_MOVING = frozenset({"animate", "animateMotion", "animateTransform", "animateColor", "set"})


class TooMuch(RuntimeError):
    """A file that unfolds beyond all bounds."""


@dataclass(frozen=True, slots=True)
class Drawn:
    """One element's strokes with its surroundings, ready to become shapes."""

    subpaths: list[Subpath]
    scene: Scene
    source: Source
    width_mm: float


class Walk:
    """One walk through one file."""

    def __init__(self, root: etree._Element, file: str, sheets: StyleSheets, tally: Tally) -> None:
        self._file, self._sheets, self._tally = file, sheets, tally
        self._remarks = Remarks(tally)
        self._root = root
        self._places = Places(root)
        self._copies = self._segments = 0
        self._page_scale = 1.0
        self._swatches: dict[str, str] = {}
        self.roles_seen: dict[str, Source] = {}
        self._stack: list[tuple[etree._Element, Scene, etree._Element | None]] = []

    def run(self, scene: Scene) -> Iterator[Drawn | Text]:
        """Everything drawn, in order. Raises TooMuch."""
        declared = self._sheets.declared(self._root)
        self._page_scale = math.sqrt(abs(scene.to_mm.determinant))
        inside = replace(scene, style=styled(scene.style, declared, scene.viewport))
        source = Source(self._file, "", called(self._root), self._root.sourceline)
        if declared.get("transform") not in {None, "none", ""}:
            self._remarks.tell(
                "page-transformed",
                source,
                "the whole page carries a transform, which programs treat differently; it was"
                " left out",
                "put the drawing into one group that carries the transform",
            )
        self._remarks.effects(declared, source)
        if declared.get("display") == "none":
            self._tally.count("hidden", source)
            return
        self._push(self._root, inside)
        while self._stack:
            element, here, user = self._stack.pop()
            yield from self._visit(element, here, user)

    def _push(self, parent: etree._Element, scene: Scene) -> None:
        scene = replace(scene, depth=scene.depth + 1)
        for child in reversed(parent):
            if isinstance(child.tag, str):
                self._stack.append((child, scene, None))

    def _visit(
        self, element: etree._Element, scene: Scene, user: etree._Element | None
    ) -> Iterator[Drawn | Text]:
        """One element; `user` is the `use` that brought it here, if any."""
        name = local(element)
        if not in_svg(element) or (name in _SILENT and not (name == "symbol" and user is not None)):
            return
        if scene.within:
            self._copies += 1
            if self._copies > MOST_COPIES:
                raise TooMuch(f"its copies (use) unfold to more than {MOST_COPIES} elements")
        source = Source(self._file, scene.layer, called(element), element.sourceline)
        if name in _MOVING:
            self._remarks.animated(source)
            return
        declared = self._sheets.declared(element)
        if declared.get("display") == "none" or not self._allowed(element, source):
            if declared.get("display") == "none":
                self._hidden(element, scene, source)
            return
        try:
            style = styled(scene.style, declared, scene.viewport)
            scene = replace(scene, style=style)
            scene = moved(scene, declared, lambda: _box_of(element, name, declared, scene))
        except BadTransform as bad:
            self._remarks.fail("transform-broken", source, str(bad))
            return
        self._remarks.effects(declared, source)
        if name in _GROUPS:
            self._group(element, name, scene, declared, user)
        elif name == "use":
            self._use(element, scene, declared, source)
        elif name in SHAPES:
            yield from self._shape(element, name, scene, declared, source)
        elif name in TEXTS:
            if scene.style.visible:
                source = replace(source, colour=scene.style.area_colour)
                yield from text_of(element, scene, source, self._sheets)
            else:
                self._tally.count("hidden", source)
        elif name in {"image", "foreignObject"}:
            what = "a picture" if name == "image" else "foreign content"
            self._remarks.tell(
                "not-a-drawing",
                source,
                f"{what} was left out: only lines and areas can be read",
                "trace it to paths in the editor if it should count, else ignore this",
            )
        else:
            self._remarks.tell(
                "element-unknown",
                source,
                f"<{name}> is not understood and was left out",
                "turn it into paths in the editor if it should count",
            )

    def _hidden(self, element: etree._Element, scene: Scene, source: Source) -> None:
        """Count what is hidden; a hidden layer with a role is named."""
        inside = inside_group(scene, element, copied=False) if local(element) in _GROUPS else scene
        if inside.role and inside.layer != scene.layer:
            self._remarks.tell(
                "hidden-layer",
                source,
                f"the layer “{inside.layer}” is hidden and was left out",
                "show it in the editor before saving if it should count",
            )
        else:
            self._tally.count("hidden", source)

    def _group(
        self,
        element: etree._Element,
        name: str,
        scene: Scene,
        declared: dict[str, str],
        user: etree._Element | None,
    ) -> None:
        scene = inside_group(scene, element, copied=user is not None)
        by_id = unescaped(element.get("id") or "")
        if role_of(by_id) and not scene.role:
            self._remarks.tell(
                "name-overruled",
                Source(self._file, scene.layer, called(element), element.sourceline),
                f"the group's label or title “{scene.layer}” counts before its id “{by_id}”, so it"
                " has no role",
                f"name it “{by_id}” in the editor's list of layers if that is what it is",
            )
        if scene.role:
            self.roles_seen.setdefault(
                scene.layer, Source(self._file, scene.layer, called(element), element.sourceline)
            )
        if name in {"svg", "symbol"}:
            sizes = Sizes(element, declared, scene.viewport, scene.style.font_px)
            wanted = None if user is None else Sizes(user, {}, scene.viewport, scene.style.font_px)
            source = Source(self._file, scene.layer, called(element), element.sourceline)
            try:
                page = nested_page(element, sizes, wanted)
            except (BadLength, BadShape) as bad:
                self._remarks.fail("page-broken", source, str(bad))
                return
            if page is None:
                self._tally.count("zero-size", source)
                return
            to_inner, viewport, shown = page
            shows_all = declared.get("overflow") in {"visible", "auto"}
            window = scene.window_mm if shows_all else window_of(scene, shown)
            scene = replace(
                scene, to_mm=to_inner.then(scene.to_mm), viewport=viewport, window_mm=window
            )
        if name == "switch":
            for child in element:
                if in_svg(child) and local(child) not in _SILENT and self._allowed(child, None):
                    self._stack.append((child, scene, None))
                    return
            return
        self._push(element, scene)

    def _use(
        self, element: etree._Element, scene: Scene, declared: dict[str, str], source: Source
    ) -> None:
        scene = inside_group(scene, element, copied=True)
        target_name = href(element)
        if not target_name.startswith("#"):
            where = f"“{target_name[:40]}”" if target_name else "nothing"
            self._remarks.tell(
                "copy-lost",
                source,
                f"a copy (use) refers to {where}, outside this file, and was left out",
                "unlink the copy in the editor, so that it becomes a shape of its own",
            )
            return
        found = self._places.find(target_name[1:]) or self._places.find(unquote(target_name[1:]))
        if found is None:
            self._remarks.tell(
                "copy-lost",
                source,
                f"a copy (use) refers to “{target_name[:40]}”, which is not in the file; it was"
                " left out",
                "delete the copy, or unlink it in the editor and save again",
            )
            return
        number, target = found
        if (
            number in scene.within
            or self._places.holds(target, element)
            or (len(scene.within) >= _NESTING)
        ):
            self._remarks.fail(
                "copy-of-itself",
                source,
                f"a copy (use) of “{target_name[:40]}” contains itself",
                "delete that copy in the editor",
            )
            return
        sizes = Sizes(element, declared, scene.viewport, scene.style.font_px)
        try:
            x, y = sizes.get("x"), sizes.get("y")
        except BadShape as bad:
            self._remarks.fail("shape-broken", source, str(bad))
            return
        within = (*scene.within, number)
        scene = replace(scene, to_mm=shift(x, y).then(scene.to_mm), within=within)
        self._stack.append((target, scene, element))

    def _shape(
        self,
        element: etree._Element,
        name: str,
        scene: Scene,
        declared: dict[str, str],
        source: Source,
    ) -> Iterator[Drawn]:
        if not scene.style.visible:
            self._tally.count("hidden", source)
            return
        own = name_of(element)
        if role_of(own) and not scene.role:
            self._remarks.tell(
                "name-on-shape",
                source,
                f"the shape is called “{own}”, but only a group makes a layer, so the name does not"
                " count",
                f"put the shape into a group (or layer) named “{own}”",
            )
        if len(element) and any(local(child) in _MOVING for child in element):
            self._remarks.animated(source)
        pen = Pen(scene.to_mm)
        try:
            draw_shape(name, Sizes(element, declared, scene.viewport, scene.style.font_px), pen)
        except BadData as bad:
            self._remarks.fail("path-broken", source, str(bad))
            return
        except BadShape as bad:
            self._remarks.fail("shape-broken", source, str(bad))
            return
        if scene.style.marker and name not in {"rect", "circle", "ellipse"}:
            self._tally.count("markers", source)
        subpaths = pen.lift()
        if not subpaths:
            self._tally.count("zero-size", source)
            return
        self._segments += sum(len(s.segments) for s in subpaths)
        if self._segments > MOST_SEGMENTS:
            raise TooMuch(f"it draws more than {MOST_SEGMENTS} lines and curves")
        scale = math.sqrt(abs(scene.to_mm.determinant))
        if declared.get("vector-effect", "").startswith("non-scaling-stroke"):
            scale = self._page_scale
        width_mm = scene.style.stroke_width * scale if scene.style.stroked else 0.0
        scene = replace(scene, style=self._inked(scene.style))
        source = replace(source, colour=scene.style.area_colour)
        yield Drawn(subpaths, scene, source, width_mm)

    def _inked(self, style: Style) -> Style:
        """The style with its swatches looked up."""
        fill, stroke = (self._swatch(c) for c in (style.fill_colour, style.stroke_colour))
        if (fill, stroke) == (style.fill_colour, style.stroke_colour):
            return style
        return replace(style, fill_colour=fill, stroke_colour=stroke)

    def _swatch(self, colour: str) -> str:
        if not colour.startswith("url("):
            return colour
        if colour not in self._swatches:
            self._swatches[colour] = self._places.swatch(colour, self._sheets)
        return self._swatches[colour]

    def _allowed(self, element: etree._Element, source: Source | None) -> bool:
        """Conditional processing (SVG 2, 5.8), as for a reader of English."""
        if element.get("requiredExtensions", "").strip():
            return False
        language = element.get("systemLanguage")
        if language is None:
            return True
        if source is not None:
            self._tally.count("language", source)
        return any(part.strip().lower().split("-")[0] == "en" for part in language.split(","))


def _box_of(
    element: etree._Element, name: str, declared: dict[str, str], scene: Scene
) -> Viewport | None:
    """The box around a shape, without its stroke, in its own user units; None of other things."""
    if name not in SHAPES:
        return None
    pen = Pen(IDENTITY)
    try:
        draw_shape(name, Sizes(element, declared, scene.viewport, scene.style.font_px), pen)
    except (BadData, BadShape):  # told when it is drawn
        return Viewport(0.0, 0.0, 0.0, 0.0)
    paths = [subpath.path() for subpath in pen.lift() if subpath.segments]
    x0, y0, x1, y1 = join_boxes(map(path_box, paths)) if paths else (0.0, 0.0, 0.0, 0.0)
    return Viewport(x0, y0, x1 - x0, y1 - y0)
