"""Text and tables that flow from page to page of book.pdf, in mm from the top left.

Everything is measured before it is drawn: what does not fit the page goes on the next.
Imported late (reportlab).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from templater.geometry.polygons import polyline, rectangle
from templater.lettering import fitted, text_width_mm
from templater.model.curves import Point
from templater.model.sheets import Anchor, Lettering
from templater.writing.book_words import book_words
from templater.writing.pdf_canvas import PdfCanvas
from templater.writing.pens import PenStyle

BODY_MM = 2.2
SMALL_MM = 1.8
HEAD_MM = 3.5
TITLE_MM = 7.0
"""Heights of capitals."""
LEADING = 2.0
"""From line to line, in heights of capitals."""
_PAD_MM = 3.0
"""Free space on the right of every cell."""
THIN = PenStyle(0.13, "#7a7a7a")
BOX = PenStyle(0.25, "#000000")
INK, QUIET = "#000000", "#555555"


@dataclass(frozen=True, slots=True)
class Paper:
    """A page and its margins, mm."""

    size_mm: tuple[float, float]
    margin_mm: float

    @property
    def left(self) -> float:
        return self.margin_mm

    @property
    def right(self) -> float:
        return self.size_mm[0] - self.margin_mm

    @property
    def top(self) -> float:
        return self.size_mm[1] - self.margin_mm

    @property
    def bottom(self) -> float:
        return self.margin_mm + 6.0

    @property
    def width(self) -> float:
        return self.right - self.left


class Flow:
    """A pen that runs down the page and begins the next one by itself."""

    def __init__(self, canvas: PdfCanvas, paper: Paper, name: str) -> None:
        self.canvas = canvas
        self.paper = paper
        self.y = 0.0
        self._name = name
        self._page = 0
        self._title = ""

    @property
    def room(self) -> float:
        return self.y - self.paper.bottom

    def new_page(self, title: str = "", level: int = 0) -> None:
        """A page headed by its title; without one it continues what was begun."""
        self.end_page()
        self._page += 1
        self.canvas.begin_page(*self.paper.size_mm)
        self.y = self.paper.top
        if title:
            self.canvas.bookmark(title, level=level)
            self._title = title
        self._footer()
        if self._title:
            self.heading(self._title, HEAD_MM)

    def end_page(self) -> None:
        if self._page:
            self.canvas.end_page()

    def _footer(self) -> None:
        words = book_words()["paper"]
        y = self.paper.margin_mm
        number = words["page"].format(n=self._page)
        self.letter(number, (self.paper.right, y), SMALL_MM, Anchor.END)
        room = self.paper.width - text_width_mm(number, SMALL_MM) - 4.0
        self.letter(fitted(self._name, room, (SMALL_MM,))[0], (self.paper.left, y), SMALL_MM)

    def letter(self, text: str, at: Point, height_mm: float, anchor: Anchor = Anchor.START) -> None:
        if text:
            self.canvas.lettering(Lettering(text, at, height_mm, 0.0, anchor))

    def need(self, height_mm: float) -> None:
        """Go on on the next page unless so much is left of this one."""
        if self.room < height_mm:
            self.new_page()

    def skip(self, height_mm: float) -> None:
        self.y -= height_mm

    def heading(self, text: str, height_mm: float = 2.6) -> None:
        shown, size = fitted(text, self.paper.width, (height_mm, 2.5, SMALL_MM))
        self.need(LEADING * size + 3.0 * LEADING * BODY_MM)
        at_top = self.y >= self.paper.top - 0.1
        self.y -= size if at_top else 2.6 * size
        self.letter(shown, (self.paper.left, self.y), size)
        self.y -= 0.4 * size

    def text(
        self, text: str, height_mm: float = BODY_MM, indent_mm: float = 0.0, mark: str = ""
    ) -> None:
        """A paragraph, wrapped; `mark` stands before its first line."""
        step = LEADING * height_mm
        for number, line in enumerate(wrapped(text, height_mm, self.paper.width - indent_mm)):
            self.need(step)
            self.y -= step
            if mark and number == 0:
                self.letter(mark, (self.paper.left, self.y), height_mm)
            self.letter(line, (self.paper.left + indent_mm, self.y), height_mm)
        self.y -= 0.5 * height_mm

    def table(
        self,
        heads: Sequence[str],
        rows: Sequence[Sequence[str]],
        shares: Sequence[float],
        right: Sequence[int] = (),
    ) -> None:
        """Rows with lines between; cells wrap, heads are written again on every page."""
        total = sum(shares)
        widths = [self.paper.width * share / total for share in shares]
        self._table_head(heads, widths, right)
        for row in rows:
            cells = [
                wrapped(cell, SMALL_MM, width - _PAD_MM)
                for cell, width in zip(row, widths, strict=True)
            ]
            high = max(len(lines) for lines in cells) * 1.8 * SMALL_MM + 1.6
            if self.room < high:
                self.new_page()
                self._table_head(heads, widths, right)
            self._row(cells, widths, right)
            self.y -= high
            self.rule()
        self.y -= 2.0

    def _table_head(
        self, heads: Sequence[str], widths: Sequence[float], right: Sequence[int]
    ) -> None:
        cells = [
            wrapped(head, SMALL_MM, width - _PAD_MM)
            for head, width in zip(heads, widths, strict=True)
        ]
        high = max(len(lines) for lines in cells) * 1.8 * SMALL_MM + 1.6
        self.need(high + 8.0)
        self._row(cells, widths, right)
        self.y -= high
        self.rule(BOX)

    def _row(
        self, cells: Sequence[Sequence[str]], widths: Sequence[float], right: Sequence[int]
    ) -> None:
        x = self.paper.left
        for at, (lines, width) in enumerate(zip(cells, widths, strict=True)):
            for number, line in enumerate(lines):
                y = self.y - 1.0 - 1.8 * SMALL_MM * (number + 0.75)
                if at in right:
                    self.letter(line, (x + width - _PAD_MM, y), SMALL_MM, Anchor.END)
                else:
                    self.letter(line, (x, y), SMALL_MM)
            x += width

    def rule(self, style: PenStyle = THIN) -> None:
        ends = [(self.paper.left, self.y), (self.paper.right, self.y)]
        self.canvas.styled(polyline(ends, closed=False), style)

    def tick_box(self, at: Point, side_mm: float = 3.2) -> None:
        x, y = at
        self.canvas.styled(rectangle(x, y, x + side_mm, y + side_mm), BOX)


def wrapped(text: str, height_mm: float, width_mm: float) -> list[str]:
    """The text in lines no wider than that, broken at blanks, and in a word only if it must be."""
    lines: list[str] = []
    line = ""
    for word in text.split():
        longer = f"{line} {word}".strip()
        if text_width_mm(longer, height_mm) <= width_mm:
            line = longer
            continue
        if line:
            lines.append(line)
        line = word
        while text_width_mm(line, height_mm) > width_mm and len(line) > 1:
            cut = len(line) - 1
            while cut > 1 and text_width_mm(line[:cut], height_mm) > width_mm:
                cut -= 1
            lines.append(line[:cut])
            line = line[cut:]
    return [*lines, line] if line or not lines else lines
