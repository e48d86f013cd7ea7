"""Drawing in mm on a PDF canvas: layers, one reusable form for each kind of circle, embedded text.

Content streams are scaled once, so that they hold mm with four decimals. Imported late
(reportlab). reportlab writes pages and forms, `pdf_fonts` the text; `pdf_finish` adds what
reportlab cannot.
"""

from __future__ import annotations

import io
import math
from functools import cache
from typing import Any

from templater.geometry.arcs import arc_cubics
from templater.lettering import text_width_mm
from templater.lettering.font import cap_height, font_size_mm
from templater.model.curves import Arc, Area, Cubic, Line, Path, Point
from templater.model.problems import Problem, Refused, Severity
from templater.model.sheets import Anchor, Circle, Lettering, Pen
from templater.writing.numbers import plain
from templater.writing.pdf_fonts import PdfFonts
from templater.writing.pens import PENS, PenStyle, rgb

POINTS_PER_MM = 72.0 / 25.4
MOST_MM = 14400.0 / POINTS_PER_MM
"""The longest side of a PDF page: 14,400 points. Source: ISO 32000-1, annex C."""
_ENDS = "0 J 1 j"
"""Lines end where they end, so that a bar measures what it should; corners are round, without spikes."""


class PdfCanvas:
    """A reportlab canvas spoken to in mm. It is a `SheetWriter` for the page or form begun last."""

    def __init__(self, title: str) -> None:
        self._buffer = io.BytesIO()
        self._canvas: Any = _bare_canvas(self._buffer)
        self._canvas.setTitle(title)
        self._canvas.setCreator("templater")
        self._canvas.setProducer("templater")
        self.layer_names: list[str] = []
        self.fonts = PdfFonts()
        self._bookmarks = 0
        self._circles: dict[tuple[float, Pen], str] = {}

    # Pages and forms

    def begin_page(self, width_mm: float, height_mm: float) -> None:
        """A page of this size, to be drawn on in mm. Raises Refused above PDF's largest page."""
        if max(width_mm, height_mm) > MOST_MM:
            raise Refused((_too_long(max(width_mm, height_mm)),))
        self._canvas.setPageSize((width_mm * POINTS_PER_MM, height_mm * POINTS_PER_MM))
        self.raw(f"{plain(POINTS_PER_MM, 10)} 0 0 {plain(POINTS_PER_MM, 10)} 0 0 cm")
        self.raw(_ENDS)

    def bookmark(self, title: str, level: int) -> None:
        """List the page begun last in the file's outline, below the last entry of a lower level."""
        self._bookmarks += 1
        key = f"page{self._bookmarks}"
        self._canvas.bookmarkPage(key)
        self._canvas.addOutlineEntry(title, key, level=level, closed=level > 0)

    def end_page(self) -> None:
        self._canvas.showPage()

    def begin_form(self, name: str, box: tuple[float, float, float, float]) -> None:
        """A form in mm, placed later as often as wanted. Circles it needs are defined beforehand."""
        self._canvas.beginForm(name, *box)
        self.raw(_ENDS)

    def end_form(self) -> None:
        self._canvas.endForm()

    def place_form(self, name: str, x_mm: float = 0.0, y_mm: float = 0.0) -> None:
        self.raw(f"q 1 0 0 1 {plain(x_mm)} {plain(y_mm)} cm")
        self._canvas.doForm(name)
        self.raw("Q")

    def raw(self, operators: str) -> None:
        """Operators as they stand in the content stream."""
        self._canvas._code.append(operators)  # noqa: SLF001  (reportlab's own way in for operators)

    def define_circles(self, circles: list[tuple[float, Pen]]) -> None:
        """The forms for these diameters and pens; forms cannot be begun within a page's drawing."""
        for diameter_mm, pen in circles:
            if (diameter_mm, pen) in self._circles:
                continue
            name = f"circle{len(self._circles) + 1}"
            self._circles[diameter_mm, pen] = name
            reach = diameter_mm / 2.0 + PENS[pen].width_mm
            self.begin_form(name, (-reach, -reach, reach, reach))
            self._pen(pen)
            self.raw(_circle_data(diameter_mm / 2.0) + " S")
            self.end_form()

    def finish(self) -> bytes:
        """The file as reportlab writes it. No page may be open."""
        self._canvas.save()
        return self._buffer.getvalue()

    # SheetWriter

    def begin_layer(self, name: str) -> None:
        if name not in self.layer_names:
            self.layer_names.append(name)
        self.raw(f"/OC /{property_name(self.layer_names.index(name))} BDC")

    def end_layer(self) -> None:
        self.raw("EMC")

    def stroke(self, path: Path, pen: Pen) -> None:
        self.raw("q")
        self._pen(pen)
        self.raw(f"{path_data(path)} S")
        self.raw("Q")

    def circle(self, circle: Circle) -> None:
        self.place_form(self._circles[circle.diameter_mm, circle.pen], circle.x_mm, circle.y_mm)

    def fill(self, area: Area, colour: str) -> None:
        data = " ".join(path_data(path) for path in (area.outline, *area.holes))
        self.raw(f"q {colour_data(colour)} rg {data} f* Q")

    def lettering(self, lettering: Lettering) -> None:
        height = lettering.height_mm
        width = text_width_mm(lettering.text, height)
        shift = {Anchor.START: 0.0, Anchor.MIDDLE: -width / 2.0, Anchor.END: -width}
        turn = math.radians(lettering.turn_deg)
        cos, sin = plain(math.cos(turn), 7), plain(math.sin(turn), 7)
        minus_sin = plain(-math.sin(turn), 7)
        x, y = lettering.at
        self.raw(f"q {cos} {sin} {minus_sin} {cos} {plain(x)} {plain(y)} cm")
        if lettering.mirrored:
            self.raw("-1 0 0 1 0 0 cm")
        self.raw(f"{colour_data(PENS[lettering.pen].colour)} rg")
        start, scale = shift[lettering.anchor], height / cap_height()
        self.raw(self.fonts.show(lettering.text, font_size_mm(height), start, scale))
        self.raw("Q")

    # Beyond the protocol: pages' own furniture

    def styled(self, path: Path, style: PenStyle) -> None:
        """A path in a style of its own."""
        self.raw("q")
        self._style(style)
        self.raw(f"{path_data(path)} S")
        self.raw("Q")

    def place_circle(self, diameter_mm: float, pen: Pen) -> None:
        """A circle defined before, about the origin."""
        self._canvas.doForm(self._circles[diameter_mm, pen])

    def faint(self, share: float) -> None:
        """Draw everything until the state is restored with this share of its ink."""
        self._canvas.setStrokeAlpha(share)
        self._canvas.setFillAlpha(share)

    def _pen(self, pen: Pen) -> None:
        self._style(PENS[pen])

    def _style(self, style: PenStyle) -> None:
        self.raw(_style_data(style))


def _bare_canvas(file: io.BytesIO) -> Any:
    """A canvas whose pages begin with nothing: reportlab's own first words name a font we do not
    use. Streams are compressed at the end, once, by pikepdf.
    """
    from reportlab.pdfgen.canvas import Canvas

    class BareCanvas(Canvas):  # type: ignore[misc]  # reportlab carries no types
        def _make_preamble(self) -> None:
            self._preamble = ""

    return BareCanvas(file, invariant=1, pageCompression=0)


def _too_long(length_mm: float) -> Problem:
    return Problem(
        "page-too-long",
        Severity.ERROR,
        f"a PDF page is at most {MOST_MM:.0f} mm long; this sheet is {length_mm:.0f} mm",
        'give templates.sheet a length, or leave "pdf" out of templates.formats',
    )


def property_name(index: int) -> str:
    """The name by which content streams call the layer of this index."""
    return f"layer{index + 1}"


def path_data(path: Path) -> str:
    """The path as PDF path operators."""
    words = [f"{_at(path.start)} m"]
    for segment in path.segments:
        match segment:
            case Line():
                words.append(f"{_at(segment.end)} l")
            case Arc():
                if segment.bulge == 0.0 or segment.start == segment.end:
                    words.append(f"{_at(segment.end)} l")
                else:
                    words.extend(_curve(cubic) for cubic in arc_cubics(segment, 45.0))
            case Cubic():
                words.append(_curve(segment))
    if path.closed:
        words.append("h")
    return " ".join(words)


def _curve(cubic: Cubic) -> str:
    return f"{_at(cubic.control1)} {_at(cubic.control2)} {_at(cubic.end)} c"


def _circle_data(radius_mm: float) -> str:
    """Eight curves: 0.0001 mm from a true circle at a radius of 25 mm."""
    right, left = (radius_mm, 0.0), (-radius_mm, 0.0)
    return path_data(Path((Arc(right, left, 1.0), Arc(left, right, 1.0)), closed=True))


@cache
def _style_data(style: PenStyle) -> str:
    dashes = " ".join(plain(dash) for dash in style.dashes_mm)
    return f"{colour_data(style.colour)} RG {plain(style.width_mm)} w [{dashes}] 0 d"


def _at(point: Point) -> str:
    return f"{plain(point[0])} {plain(point[1])}"


@cache
def colour_data(colour: str) -> str:
    """The colour as a PDF's three shares of light."""
    return " ".join(plain(share, 3) for share in rgb(colour))
