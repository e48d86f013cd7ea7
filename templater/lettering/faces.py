"""One face of a font file: its letters, widths and outlines, read by HarfBuzz.

TrueType and OpenType fonts with outlines of either kind (glyf, CFF, CFF2), alone or in a
collection; of a variable font its default. Imports uharfbuzz when called.
"""

from __future__ import annotations

import unicodedata
from functools import lru_cache
from pathlib import Path as FilePath
from typing import Any

from templater.geometry.moves import reversed_path
from templater.model.curves import Cubic, Line, Path, Point, Segment

UNITS = 2048.0
"""Units to an em in which all faces are measured: those of the font that is shipped."""
_OUTLINES = {"glyf", "CFF ", "CFF2"}
_RESTRICTED, _LICENCE_BITS = 0x0002, 0x000F
_WHOLE_ONLY, _BITMAPS_ONLY = 0x0100, 0x0200


class Face:
    """A face. Two are the same only if they are one object; `file` is the name of its file."""

    def __init__(self, data: Any, index: int, file: str) -> None:
        """`data` is the file as a HarfBuzz blob, `index` the face's place in a collection."""
        import uharfbuzz as hb

        self._face: Any = hb.Face(data, index)
        self.font: Any = hb.Font(self._face)
        self.file = file
        self.index = index
        self.tables = frozenset(self._face.table_tags)
        self.units_per_em: int = self._face.upem
        self.to_units = UNITS / self.units_per_em
        self._numbers: dict[str, int | None] = {}
        self._drawn: dict[int, tuple[Path, ...]] = {}

    @property
    def has_outlines(self) -> bool:
        return bool(self.tables & _OUTLINES)

    @property
    def cubic(self) -> bool:
        """Whether outlines are PostScript's: cubic, outsides anticlockwise."""
        return "glyf" not in self.tables

    @property
    def may_be_embedded(self) -> bool:
        """What the font says of itself (OS/2 fsType): documents may carry the letters they use."""
        said = self._number("OS/2", 8)
        restricted = said & _LICENCE_BITS == _RESTRICTED
        return not (restricted or said & (_WHOLE_ONLY | _BITMAPS_ONLY))

    @property
    def family(self) -> str:
        return self._name(16) or self._name(1) or self.file

    @property
    def postscript_name(self) -> str:
        """A name for files: letters, digits and hyphens only."""
        name = self._name(6) or self.family
        return "".join(c for c in name if c.isascii() and (c.isalnum() or c == "-")) or "Font"

    @property
    def weight(self) -> int:
        """OS/2 usWeightClass: 400 is regular."""
        return self._number("OS/2", 4) or 400

    @property
    def width(self) -> int:
        """OS/2 usWidthClass: 5 is normal."""
        return self._number("OS/2", 6) or 5

    @property
    def slanted(self) -> bool:
        """OS/2 fsSelection: italic or oblique."""
        return bool(self._number("OS/2", 62) & 0x0201)

    def _name(self, number: int) -> str:
        """An entry of the name table, in English if there is one."""
        own = [entry.language for entry in self._face.list_names() if entry.name_id == number]
        language = "en" if "en" in own or not own else own[0]
        return (self._face.get_name(number, language) or "").strip()

    def _number(self, table: str, offset: int) -> int:
        """An unsigned number of two bytes in a table, 0 where there is none."""
        if table not in self.tables:
            return 0
        data = self._face.reference_table(table).data
        return int.from_bytes(data[offset : offset + 2], "big")

    def glyph(self, letter: str) -> int | None:
        """The number of the letter's glyph, None if the face lacks it or has no outline for it."""
        if letter not in self._numbers:
            number = self.font.get_nominal_glyph(ord(letter)) or None
            if number and unicodedata.category(letter)[0] not in "ZC" and not self.outlines(number):
                number = None
            self._numbers[letter] = number
        return self._numbers[letter]

    def has(self, letter: str) -> bool:
        """Whether the letter can be set, as it is or put together of its parts."""
        if self.glyph(letter) is not None:
            return True
        parts = unicodedata.normalize("NFD", letter)
        return len(parts) > 1 and all(self.glyph(part) is not None for part in parts)

    def subset(self, letters: str) -> bytes:
        """A font file of these letters alone, with what joins and stacks them."""
        import uharfbuzz as hb

        wanted = hb.SubsetInput()
        wanted.flags = hb.SubsetFlags.NO_HINTING
        wanted.unicode_set.update(sorted({ord(letter) for letter in letters}))
        data: bytes = hb.subset(self._face, wanted).blob.data
        return bytes(data)

    def advance(self, number: int) -> float:
        """The glyph's width in the font's own units."""
        return float(self.font.get_glyph_h_advance(number))

    def outlines(self, number: int) -> tuple[Path, ...]:
        """The glyph's closed contours in the font's own units, outsides anticlockwise."""
        if number not in self._drawn:
            pen = _ContourPen()
            self.font.draw_glyph_with_pen(number, pen)
            turned = pen.contours if self.cubic else map(reversed_path, pen.contours)
            self._drawn[number] = tuple(turned)
        return self._drawn[number]


class _ContourPen:
    """Collects contours as HarfBuzz draws them; quadratic curves are raised to cubic exactly."""

    def __init__(self) -> None:
        self.contours: list[Path] = []
        self._segments: list[Segment] = []
        self._start: Point = (0.0, 0.0)
        self._here: Point = (0.0, 0.0)

    def moveTo(self, pt: Point) -> None:  # noqa: N802  (the pen protocol's name)
        self._segments, self._start, self._here = [], pt, pt

    def lineTo(self, pt: Point) -> None:  # noqa: N802  (likewise)
        if pt != self._here:
            self._segments.append(Line(self._here, pt))
            self._here = pt

    def qCurveTo(self, mid: Point, end: Point) -> None:  # noqa: N802  (likewise)
        (x0, y0), (x1, y1), (x2, y2) = self._here, mid, end
        one = (x0 + 2.0 * (x1 - x0) / 3.0, y0 + 2.0 * (y1 - y0) / 3.0)
        two = (x2 + 2.0 * (x1 - x2) / 3.0, y2 + 2.0 * (y1 - y2) / 3.0)
        self.curveTo(one, two, end)

    def curveTo(self, one: Point, two: Point, end: Point) -> None:  # noqa: N802  (likewise)
        self._segments.append(Cubic(self._here, one, two, end))
        self._here = end

    def closePath(self) -> None:  # noqa: N802  (likewise)
        self.lineTo(self._start)
        if self._segments:
            self.contours.append(Path(tuple(self._segments), closed=True))

    endPath = closePath  # noqa: N815  (likewise)


@lru_cache(maxsize=4096)
def faces_of(path: FilePath) -> tuple[Face, ...]:
    """The faces of a font file that have outlines; none if it is not one. Raises OSError."""
    import uharfbuzz as hb

    with path.open("rb") as file:
        if not file.read(1):
            return ()
    blob = hb.Blob.from_file_path(str(path))  # mapped, not read
    faces = (Face(blob, index, path.name) for index in range(hb.Face(blob, 0).count))
    return tuple(face for face in faces if face.has_outlines)
