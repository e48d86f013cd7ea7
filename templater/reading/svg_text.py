"""Texts of an SVG file, kept as notes. Imports lxml; imported late."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from lxml import etree

from templater.model.curves import Point
from templater.model.problems import Source
from templater.reading.svg_css import StyleSheets
from templater.reading.svg_scene import Scene
from templater.reading.svg_style import Style, styled
from templater.reading.svg_units import BadLength, length
from templater.reading.svg_xml import in_svg, local

TEXTS = frozenset({"text", "flowRoot"})
"""SVG's own, and the text flowing into a box of SVG 1.2, which never came but is written."""
_LINES = frozenset({"flowPara", "flowDiv", "flowLine"})
_WORDS = _LINES | {"tspan", "textPath", "a", "tref", "altGlyph", "flowSpan"}


@dataclass(frozen=True, slots=True)
class Text:
    """One text with its surroundings, ready to become a shape."""

    text: str
    at: Point
    height_mm: float
    turn_deg: float
    scene: Scene
    source: Source


def text_of(
    element: etree._Element, scene: Scene, source: Source, sheets: StyleSheets
) -> Iterator[Text]:
    """The text of one of TEXTS with its parts joined; nothing if there is none."""
    words: list[str] = []
    places: dict[str, str] = {}
    sizes: list[float] = []
    stack: list[tuple[etree._Element, Style, bool]] = [(element, scene.style, True)]
    while stack:
        part, style, opening = stack.pop()
        if not opening:
            words.append(part.tail or "")
            continue
        for name in ("x", "y"):
            own = (part.get(name) or "").replace(",", " ").split()
            if own:
                begun = any(word.strip() for word in words)
                if not begun:
                    places.setdefault(name, own[0])
                elif name == "y":
                    words.append(" ")  # a new line of the same text
        if local(part) in _LINES:
            words.append(" ")
        words.append(part.text or "")
        if (part.text or "").strip():
            sizes.append(style.font_px)
        for child in reversed(part):
            stack.append((child, style, False))
            if in_svg(child) and local(child) in _WORDS:
                declared = sheets.declared(child)
                inner = styled(style, declared, scene.viewport)
                if declared.get("display") != "none" and inner.visible:
                    stack.append((child, inner, True))
    text = " ".join("".join(words).split())
    if not text:
        return
    region = next((e for e in element.iter(etree.Element) if local(e) == "rect"), None)
    if region is not None:
        places = {"x": region.get("x", "0"), "y": region.get("y", "0")}
    at = scene.to_mm.apply(
        (_place(places.get("x"), scene, across=True), _place(places.get("y"), scene, across=False))
    )
    height = sizes[0] if sizes else scene.style.font_px
    height_mm = height * math.sqrt(abs(scene.to_mm.determinant))
    yield Text(text, at, height_mm, scene.to_mm.turned(0.0), scene, source)


def _place(text: str | None, scene: Scene, *, across: bool) -> float:
    if text is None:
        return 0.0
    share_of = scene.viewport.width if across else scene.viewport.height
    try:
        return length(text, share_of, scene.style.font_px, scene.viewport)
    except BadLength:
        return 0.0
