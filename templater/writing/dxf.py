"""A sheet as DXF: mm, true circles and arcs, named layers. R2010 by default, R12 for old machines.

The only module that writes by ezdxf, which is imported late. Lines and arcs become LWPOLYLINE with
bulges (a single one LINE or ARC); a path with Béziers becomes one SPLINE of degree 3 that passes
through the very same curve (its arcs to within 0.0001 mm), so that a closed outline stays one
closed thing to cut. R12 has neither: there they are POLYLINE, curves flattened to within 0.005 mm.
"""

from __future__ import annotations

import io
import math
from typing import Any

from templater.geometry.arcs import arc_cubics
from templater.geometry.flatten import arc_centre, flatten
from templater.lettering.font import bundled
from templater.lettering.shaping import shape, writable_text
from templater.model.curves import Arc, Area, Cubic, Line, Path, Point
from templater.model.sheets import Anchor, Circle, Lettering, Pen, Sheet, SheetLayer, Stroke
from templater.writing.cut_order import in_cut_order
from templater.writing.numbers import snap
from templater.writing.pens import PENS, PenStyle, rgb
from templater.writing.protocol import draw_sheet

_MM = 4  # $INSUNITS
_METRIC = 1  # $MEASUREMENT
_FORBIDDEN = '<>/\\":;?*|=`,'
_R12_FLAT_MM = 0.005
_FILL_FLAT_MM = 0.02
_STYLE = "LETTERING"


def dxf_bytes(sheet: Sheet, version: str = "R2010") -> bytes:
    """The sheet as DXF of `version` (R2010 or R12), its document order the cutting order. Raises ValueError for a number that is not
    finite and for other versions.
    """
    from ezdxf import options
    from ezdxf.document import Drawing

    if version not in {"R2010", "R12"}:
        raise ValueError(f"DXF is written as R2010 or R12, not {version}")
    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        document = Drawing.new(version)
        _prepare(document, sheet)
        draw_sheet(
            in_cut_order(sheet),
            DxfWriter(document, plain_only=version == "R12", layers=sheet.layers),
        )
        if version != "R12":  # which has no classes
            _put_classes_in_order(document)
        text = io.StringIO()
        document.write(text)
        return bytes(document.encode(text.getvalue()))
    finally:
        options.write_fixed_meta_data_for_testing = before


def _put_classes_in_order(document: Any) -> None:
    """The classes a version needs are a set in ezdxf whose order changes with the hash seed; those
    that are there already it leaves as they are.
    """
    document.classes.add_required_classes(document.dxfversion)
    document.classes.classes = dict(sorted(document.classes.classes.items()))


def layer_name(name: str) -> str:
    """The name with what DXF forbids in layer names replaced by a low line."""
    clean = "".join("_" if c in _FORBIDDEN or not c.isprintable() else c for c in name)
    return clean.strip()[:255] or "layer"


def _prepare(document: Any, sheet: Sheet) -> None:
    width, height = sheet.size_mm
    header = document.header
    if document.dxfversion > "AC1009":  # R12 knows neither
        header["$INSUNITS"] = _MM
        header["$MEASUREMENT"] = _METRIC
        header["$LASTSAVEDBY"] = "templater"
    header["$EXTMIN"], header["$EXTMAX"] = (0.0, 0.0, 0.0), (snap(width), snap(height), 0.0)
    header["$LIMMIN"], header["$LIMMAX"] = (0.0, 0.0), (snap(width), snap(height))
    header["$LTSCALE"] = 1.0
    layout = document.modelspace()
    layout.reset_extents((0.0, 0.0, 0.0), (snap(width), snap(height), 0.0))
    layout.reset_limits((0.0, 0.0), (snap(width), snap(height)))
    document.set_modelspace_vport(
        max(snap(height), 1.0), center=(snap(width / 2.0), snap(height / 2.0))
    )
    document.styles.add(_STYLE, font=bundled().file)
    for style in PENS.values():
        if style.dashes_mm and style.line_type not in document.linetypes:
            document.linetypes.add(style.line_type, pattern=_pattern(style))


def _pattern(style: PenStyle) -> list[float]:
    """Total length, then dashes above and gaps below 0, in mm."""
    signed = [d if i % 2 == 0 else -d for i, d in enumerate(style.dashes_mm)]
    return [round(sum(style.dashes_mm), 4), *signed]


class DxfWriter:
    """Draws into an ezdxf document's model space. A layer bears its first pen; what differs says so."""

    def __init__(self, document: Any, *, plain_only: bool, layers: tuple[SheetLayer, ...]) -> None:
        self._document = document
        self._space = document.modelspace()
        self._plain_only = plain_only
        self._layer = "0"
        self._layer_pen: Pen | None = None
        self._text_styles: dict[str, str] = {}
        self._first_pens = {layer.name: _first_pen(layer) for layer in layers}

    def begin_layer(self, name: str) -> None:
        self._layer = layer_name(name)
        self._layer_pen = self._first_pens[name]
        if self._layer not in self._document.layers:
            layer = self._document.layers.add(self._layer)
            style = PENS[self._layer_pen]
            layer.dxf.linetype = style.line_type
            if not self._plain_only:
                layer.dxf.lineweight = round(style.width_mm * 100)
                layer.rgb = tuple(round(255 * share) for share in rgb(style.colour))

    def end_layer(self) -> None:
        self._layer_pen = None

    def circle(self, circle: Circle) -> None:
        self._space.add_circle(
            (circle.x_mm, circle.y_mm), circle.diameter_mm / 2.0, dxfattribs=self._style(circle.pen)
        )

    def stroke(self, path: Path, pen: Pen) -> None:
        style = self._style(pen)
        if any(isinstance(segment, Cubic) for segment in path.segments):
            if self._plain_only:
                points = [(x, y, 0.0) for x, y in flatten(path, _R12_FLAT_MM)]
                self._polyline(points, style, closed=path.closed)
            else:
                self._spline(path, style)
            return
        if len(path.segments) == 1 and not path.closed:
            self._single(path.segments[0], style)
            return
        corners = [(*s.start, s.bulge if isinstance(s, Arc) else 0.0) for s in path.segments]
        if not path.closed:
            corners.append((*path.end, 0.0))
        self._polyline(corners, style, closed=path.closed)

    def fill(self, area: Area, colour: str) -> None:
        """A solid hatch; R12 has none, and there the fill, which carries no meaning alone, is left out."""
        if self._plain_only:
            return
        hatch = self._space.add_hatch(dxfattribs={"layer": self._layer})
        hatch.rgb = tuple(round(255 * share) for share in rgb(colour))
        for flag, path in ((1, area.outline), *((16, hole) for hole in area.holes)):
            hatch.paths.add_polyline_path(
                [(x, y) for x, y in flatten(path, _FILL_FLAT_MM)], is_closed=True, flags=flag
            )

    def lettering(self, lettering: Lettering) -> None:
        from ezdxf.enums import TextEntityAlignment

        anchors = {
            Anchor.START: TextEntityAlignment.LEFT,
            Anchor.MIDDLE: TextEntityAlignment.CENTER,
            Anchor.END: TextEntityAlignment.RIGHT,
        }
        attributes = {
            "layer": self._layer,
            "height": lettering.height_mm,
            "rotation": lettering.turn_deg,
            "style": self._text_style(lettering.text),
            "linetype": "CONTINUOUS",
        }
        if lettering.mirrored:
            attributes["text_generation_flag"] = 2
        # Two percent signs begin a control code in DXF text (%%d is °), one stands for itself.
        words = writable_text(lettering.text).replace("%%", "% %")
        text = self._space.add_text(words, dxfattribs=attributes)
        text.set_placement(lettering.at, align=anchors[lettering.anchor])

    def _text_style(self, text: str) -> str:
        """The text style of the font that has what the one that is shipped lacks."""
        others = [face.file for face in shape(text).faces if face is not bundled()]
        if not others:
            return _STYLE
        if others[0] not in self._text_styles:
            name = f"{_STYLE}-{len(self._text_styles) + 2}"
            self._document.styles.add(name, font=others[0])
            self._text_styles[others[0]] = name
        return self._text_styles[others[0]]

    def _style(self, pen: Pen) -> dict[str, Any]:
        if pen is self._layer_pen:
            return {"layer": self._layer}
        style = PENS[pen]
        attributes: dict[str, Any] = {"layer": self._layer, "linetype": style.line_type}
        if not self._plain_only:
            red, green, blue = (round(255 * share) for share in rgb(style.colour))
            attributes["lineweight"] = round(style.width_mm * 100)
            attributes["true_color"] = red << 16 | green << 8 | blue
        return attributes

    def _single(self, segment: Line | Arc | Cubic, style: dict[str, Any]) -> None:
        if isinstance(segment, Arc) and segment.bulge != 0.0 and segment.start != segment.end:
            centre, radius, sweep = arc_centre(segment)
            ends = [_angle_deg(centre, segment.start), _angle_deg(centre, segment.end)]
            start, end = ends if sweep > 0.0 else reversed(ends)
            self._space.add_arc(centre, radius, start, end, dxfattribs=style)
        else:
            self._space.add_line(segment.start, segment.end, dxfattribs=style)

    def _polyline(
        self, corners: list[tuple[float, float, float]], style: dict[str, Any], *, closed: bool
    ) -> None:
        add = self._space.add_polyline2d if self._plain_only else self._space.add_lwpolyline
        add(corners, format="xyb", close=closed, dxfattribs=style)

    def _spline(self, path: Path, style: dict[str, Any]) -> None:
        """Joined cubics as one B-spline: control points end to end, every inner knot three times."""
        cubics: list[Cubic] = []
        for segment in path.segments:
            match segment:
                case Line():
                    cubics.append(_straight(segment.start, segment.end))
                case Arc():
                    cubics.extend(arc_cubics(segment))
                case Cubic():
                    cubics.append(segment)
        points = [cubics[0].start]
        for cubic in cubics:
            points += [cubic.control1, cubic.control2, cubic.end]
        count = len(cubics)
        inner = [float(knot) for knot in range(1, count) for _ in range(3)]
        knots = [0.0] * 4 + inner + [float(count)] * 4
        spline = self._space.add_spline(dxfattribs=style)
        spline.dxf.degree = 3
        spline.control_points = [(snap(x), snap(y), 0.0) for x, y in points]
        spline.knots = knots
        spline.closed = path.closed


def _first_pen(layer: SheetLayer) -> Pen:
    for item in layer.items:
        if isinstance(item, Stroke | Circle):
            return item.pen
    return Pen.NOTE


def _straight(start: Point, end: Point) -> Cubic:
    """A line as a cubic, its handles at the thirds."""
    (x0, y0), (x1, y1) = start, end
    return Cubic(
        start,
        (x0 + (x1 - x0) / 3.0, y0 + (y1 - y0) / 3.0),
        (x0 + (x1 - x0) * 2.0 / 3.0, y0 + (y1 - y0) * 2.0 / 3.0),
        end,
    )


def _angle_deg(centre: Point, point: Point) -> float:
    return math.degrees(math.atan2(point[1] - centre[1], point[0] - centre[0])) % 360.0
