"""A sheet as SVG: real mm, named layers, plain attributes that cutting software reads.

The y axis is flipped here, coordinate by coordinate, so that the file needs no transform. The
only module that knows svgwrite (no longer developed), which is imported late.
"""

from __future__ import annotations

import re
from typing import Any

from templater.geometry.arcs import split_arc
from templater.lettering import text_width_mm
from templater.lettering.font import font_size_mm
from templater.model.curves import Arc, Area, Cubic, Line, Path, Point
from templater.model.sheets import Anchor, Circle, Lettering, Pen, Sheet
from templater.writing.cut_order import in_cut_order
from templater.writing.numbers import plain, xml_text
from templater.writing.pens import PENS
from templater.writing.protocol import draw_sheet
from templater.writing.svg_fonts import embedded_fonts, font_family, svg_words

_QUARTER_DEG = 90.0


def svg_bytes(sheet: Sheet) -> bytes:
    """The sheet as UTF-8 SVG 1.1, its document order the cutting order. Raises ValueError for a number that is not finite."""
    from xml.etree import ElementTree as ET

    writer = SvgWriter(sheet)
    draw_sheet(in_cut_order(sheet), writer)
    tree = writer.document.get_xml()
    for empty in tree.findall("defs"):
        tree.remove(empty)
    if fonts := embedded_fonts(writer.texts):
        style = ET.Element("style")
        style.text = fonts
        tree.insert(1, style)  # after the title
    for unused in ("xmlns:ev", "xmlns:xlink", "baseProfile"):
        tree.attrib.pop(unused, None)
    ET.indent(tree, space=" ")
    body: str = ET.tostring(tree, encoding="unicode")
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{body}\n'.encode()


class _Made:
    """An element whose attributes are texts already, in alphabetical order as svgwrite has them.

    Made by svgwrite itself, thousands of holes take about twice as long and come to the same.
    """

    def __init__(self, tag: str, attributes: dict[str, str]) -> None:
        from xml.etree import ElementTree as ET

        self._element = ET.Element(tag, attributes)

    def get_xml(self) -> Any:
        return self._element


class SvgWriter:
    """Draws into a svgwrite document; runs of one pen share a group."""

    def __init__(self, sheet: Sheet) -> None:
        import svgwrite

        width, height = (plain(length) for length in sheet.size_mm)
        self.document: Any = svgwrite.Drawing(
            size=(f"{width}mm", f"{height}mm"),
            viewBox=f"0 0 {width} {height}",
            debug=False,
        )
        self.document.set_desc(title=xml_text(sheet.title))
        self._height_mm = sheet.size_mm[1]
        self._layer: Any = None
        self._run: Any = None
        self._run_pen: Pen | None = None
        self._ids: set[str] = set()
        self.texts: list[str] = []

    def begin_layer(self, name: str) -> None:
        name = xml_text(name)
        self._layer = self.document.g(id=self._fresh_id(name), **{"data-name": name})
        self._layer.set_desc(title=name)
        self._run = self._run_pen = None

    def end_layer(self) -> None:
        self.document.add(self._layer)

    def stroke(self, path: Path, pen: Pen) -> None:
        self._group(pen).elements.append(_Made("path", {"d": self._path_data(path)}))

    def circle(self, circle: Circle) -> None:
        x, y = self._at((circle.x_mm, circle.y_mm))
        attributes = {"cx": x, "cy": y}
        if circle.tag:
            attributes["data-stone"] = xml_text(circle.tag)
        attributes["r"] = plain(circle.diameter_mm / 2.0, 5)
        self._group(circle.pen).elements.append(_Made("circle", attributes))

    def fill(self, area: Area, colour: str) -> None:
        data = " ".join(self._path_data(path) for path in (area.outline, *area.holes))
        self._run = self._run_pen = None
        self._layer.add(
            self.document.path(d=data, fill=colour, stroke="none", **{"fill-rule": "evenodd"})
        )

    def lettering(self, lettering: Lettering) -> None:
        text = xml_text(lettering.text)
        x, y = self._at(lettering.at)
        attributes = {
            "font-size": plain(font_size_mm(lettering.height_mm)),
            "textLength": plain(text_width_mm(text, lettering.height_mm)),
            "lengthAdjust": "spacingAndGlyphs",
        }
        if lettering.anchor is not Anchor.START:
            attributes["text-anchor"] = lettering.anchor.value
        moves = []
        if lettering.turn_deg:
            moves.append(f"rotate({plain(-lettering.turn_deg)} {x} {y})")
        if lettering.mirrored:
            moves.append(f"matrix(-1 0 0 1 {plain(2 * float(x))} 0)")
        if moves:
            attributes["transform"] = " ".join(moves)
        if "  " in text:
            attributes["xml:space"] = "preserve"
        self._run = self._run_pen = None
        self.texts.append(text)
        self._layer.add(
            self.document.text(
                svg_words(text),
                insert=(x, y),
                fill=PENS[lettering.pen].colour,
                **{"font-family": font_family(text)},
                **attributes,
            )
        )

    def _group(self, pen: Pen) -> Any:
        if self._run is None or self._run_pen is not pen:
            style = PENS[pen]
            attributes = {
                "stroke": style.colour,
                "stroke-width": plain(style.width_mm),
                "stroke-linejoin": "round",
            }
            if style.dashes_mm:
                attributes["stroke-dasharray"] = " ".join(plain(d) for d in style.dashes_mm)
            self._run = self.document.g(fill="none", **attributes)
            self._run_pen = pen
            self._layer.add(self._run)
        return self._run

    def _at(self, point: Point) -> tuple[str, str]:
        return (plain(point[0]), plain(self._height_mm - point[1]))

    def _path_data(self, path: Path) -> str:
        words = ["M", *self._at(path.start)]
        last = path.segments[-1]
        shown = path.segments[:-1] if path.closed and isinstance(last, Line) else path.segments
        for segment in shown:
            match segment:
                case Line():
                    words += ["L", *self._at(segment.end)]
                case Arc():
                    words += self._arc_data(segment)
                case Cubic():
                    words.append("C")
                    for point in (segment.control1, segment.control2, segment.end):
                        words += self._at(point)
        if path.closed:
            words.append("Z")
        return " ".join(words)

    def _arc_data(self, arc: Arc) -> list[str]:
        """In quarters at most: a half circle's centre would hang on its radius' last decimal."""
        words: list[str] = []
        for part in split_arc(arc, _QUARTER_DEG):
            if part.bulge == 0.0 or part.start == part.end:
                words += ["L", *self._at(part.end)]
                continue
            (x0, y0), (x1, y1) = part.start, part.end
            chord = ((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5
            radius = plain(chord * (1.0 + part.bulge**2) / (4.0 * abs(part.bulge)), 6)
            words += ["A", radius, radius, "0", "0", "0" if part.bulge > 0.0 else "1"]
            words += self._at(part.end)
        return words

    def _fresh_id(self, name: str) -> str:
        """An XML name made of the layer's, not used before in this file."""
        stem = re.sub(r"[^\w.-]+", "-", name).strip("-.") or "layer"
        if not (stem[0].isalpha() or stem[0] == "_"):
            stem = f"layer-{stem}"
        number, wanted = 1, stem
        while wanted in self._ids:
            number += 1
            wanted = f"{stem}-{number}"
        self._ids.add(wanted)
        return wanted
