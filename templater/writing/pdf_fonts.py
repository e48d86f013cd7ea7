"""The letters a PDF uses: shown glyph by glyph where they were measured, and embedded as they are.

Of each face only the glyphs shown are embedded, as a TrueType font made of their outlines, so that
every kind of font is embedded alike and what is printed is what was measured.

The text can be searched and copied: glyphs say what they stand for. Where that does not give the
text back in the order in which it is read, the text stands beside them (ActualText, ISO 32000-1,
14.9.4). Not so where all of it runs leftwards: readers turn such lines round themselves, and some
(pdfium) turn an ActualText too. There, and where a line takes several fonts, it stands as an
alternate description (14.9.3), so that the line is one thing to readers that speak.
Imported late (fontTools, pikepdf).
"""

from __future__ import annotations

import io
from dataclasses import dataclass, field
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from templater.lettering.bidi_weak import MIRRORED
from templater.lettering.directions import all_leftwards
from templater.lettering.faces import UNITS, Face
from templater.lettering.shaping import Glyph, shape
from templater.model.curves import Cubic
from templater.writing.numbers import plain

if TYPE_CHECKING:
    import pikepdf

_APART_UNITS = 0.01
"""Glyphs nearer than that to where the widths put them, in 1/2048 em, need no place of their own."""
_QUADRATIC_EM = 0.0002
"""How far the quadratic curves embedded may lie from cubic ones: 0.001 mm at a height of 3.5 mm."""

_LIGATURES = {
    "\u0644\u0622": "\ufef5",
    "\u0644\u0623": "\ufef7",
    "\u0644\u0625": "\ufef9",
    "\u0644\u0627": "\ufefb",
}
"""Lam and alef are always one letter, and Unicode has it: so its two parts are not turned round."""


@dataclass
class _Used:
    """A face's glyphs in the order in which they came, each with what it stands for."""

    name: str
    codes: dict[int, int] = field(default_factory=dict)
    said: dict[int, str] = field(default_factory=dict)

    def code(self, glyph: Glyph) -> int:
        code = self.codes.setdefault(glyph.number, len(self.codes) + 1)
        if glyph.text:
            self.said.setdefault(code, _seen(glyph))
        return code


class PdfFonts:
    """Gathers what is shown; `embed` puts it into the file."""

    def __init__(self) -> None:
        self._used: dict[Face, _Used] = {}

    def show(self, text: str, size_mm: float, x_mm: float, mm_per_unit: float) -> str:
        """The operators that show one line of text from (`x_mm`, 0) on."""
        line = shape(text)
        operators = [f"1 0 0 1 {plain(x_mm)} 0 Tm"]
        said: list[str] = []
        at, rise = 0.0, 0.0
        face: Face | None = None
        shown: list[str] = []
        for glyph in line.glyphs:
            used = self._used.get(glyph.face)
            if used is None:
                used = self._used[glyph.face] = _Used(f"L{len(self._used) + 1}")
            if glyph.face is not face or abs(glyph.y - rise) > _APART_UNITS:
                operators += _shown(shown)
                shown = []
            if glyph.face is not face:
                operators.append(f"/{used.name} {plain(size_mm)} Tf")
                face = glyph.face
            if abs(glyph.y - rise) > _APART_UNITS:
                operators.append(f"{plain(glyph.y * mm_per_unit)} Ts")
                rise = glyph.y
            if abs(glyph.x - at) > _APART_UNITS:
                shown.append(plain((at - glyph.x) * 1000.0 / UNITS))
                at = glyph.x
            code = used.code(glyph)
            shown.append(f"<{code:04X}>")
            said.append(used.said.get(code, ""))
            at += glyph.face.advance(glyph.number) * glyph.face.to_units
        operators += _shown(shown)
        if rise:
            operators.append("0 Ts")
        content = f"BT {' '.join(operators)} ET"
        readable = all(said) and "".join(said) == line.text
        if readable and len(line.faces) == 1 and " Ts" not in content:
            return content
        turned = all(said) and all_leftwards(line.text)
        key = "Alt" if readable or turned else "ActualText"
        return f"/Span <</{key} <FEFF{_utf16(line.text)}>>> BDC {content} EMC"

    def embed(self, pdf: pikepdf.Pdf) -> pikepdf.Object:
        """The fonts as a resource dictionary of the PDF."""
        import pikepdf

        fonts = {f"/{used.name}": _font(pdf, face, used) for face, used in self._used.items()}
        return pdf.make_indirect(pikepdf.Dictionary(fonts))


def _seen(glyph: Glyph) -> str:
    """What the glyph looks like: of brackets in text that runs leftwards the other one."""
    other = MIRRORED.get(glyph.text)
    if other and glyph.face.glyph(glyph.text) != glyph.number:
        return other
    return _LIGATURES.get(glyph.text, glyph.text)


def _shown(shown: list[str]) -> list[str]:
    """The operator that shows glyphs, between them how far each lies off where the last one ends."""
    words = " ".join(shown).replace("> <", "")
    if not words:
        return []
    return [f"{words} Tj"] if words.count("<") == 1 and words[0] == "<" else [f"[{words}] TJ"]


def _utf16(text: str) -> str:
    return text.encode("utf-16-be", errors="replace").hex().upper()


def _font(pdf: pikepdf.Pdf, face: Face, used: _Used) -> pikepdf.Object:
    """A composite font whose codes are its glyphs' numbers (ISO 32000-1, 9.7)."""
    import pikepdf
    from pikepdf import Array, Dictionary, Name

    name = Name(f"/{_tag(used.name)}+{face.postscript_name}")
    per_mille = 1000.0 / face.units_per_em
    file = pdf.make_stream(font_file(face, tuple(used.codes)))
    extents = face.font.get_font_extents("ltr")
    descriptor = Dictionary(
        Type=Name.FontDescriptor,
        FontName=name,
        Flags=4,  # symbolic: its letters are found by number
        FontBBox=Array([0, round(extents.descender * per_mille), 1000, 1000]),
        ItalicAngle=0,
        Ascent=round(extents.ascender * per_mille),
        Descent=round(extents.descender * per_mille),
        CapHeight=round(extents.ascender * per_mille),
        StemV=80,
        FontFile2=file,
    )
    widths = Array([_number(face.advance(number) * per_mille) for number in used.codes])
    letters = Dictionary(
        Type=Name.Font,
        Subtype=Name.CIDFontType2,
        BaseFont=name,
        CIDSystemInfo=Dictionary(
            Registry=pikepdf.String("Adobe"), Ordering=pikepdf.String("Identity"), Supplement=0
        ),
        FontDescriptor=pdf.make_indirect(descriptor),
        DW=1000,
        W=Array([1, widths]),
        CIDToGIDMap=Name.Identity,
    )
    return pdf.make_indirect(
        Dictionary(
            Type=Name.Font,
            Subtype=Name.Type0,
            BaseFont=name,
            Encoding=Name("/Identity-H"),
            DescendantFonts=Array([pdf.make_indirect(letters)]),
            ToUnicode=pdf.make_stream(_to_unicode(used.said)),
        )
    )


def _number(value: float) -> Any:
    from decimal import Decimal

    return Decimal(plain(value))


def _tag(name: str) -> str:
    """Six capitals before the name of a font that is not whole (ISO 32000-1, 9.6.4)."""
    return "".join(chr(ord("A") + int(digit)) for digit in name[1:].rjust(6, "0"))


def _to_unicode(said: dict[int, str]) -> bytes:
    """What the codes stand for (ISO 32000-1, 9.10.3), in blocks of at most a hundred."""
    lines = [
        "/CIDInit /ProcSet findresource begin 12 dict begin begincmap",
        "/CIDSystemInfo <</Registry (Adobe) /Ordering (UCS) /Supplement 0>> def",
        "/CMapName /Adobe-Identity-UCS def /CMapType 2 def",
        "1 begincodespacerange <0000> <FFFF> endcodespacerange",
    ]
    entries = [f"<{code:04X}> <{_utf16(text)}>" for code, text in sorted(said.items())]
    for start in range(0, len(entries), 100):
        block = entries[start : start + 100]
        lines += [f"{len(block)} beginbfchar", *block, "endbfchar"]
    lines.append("endcmap CMapName currentdict /CMap defineresource pop end end")
    return "\n".join(lines).encode("ascii")


def font_file(face: Face, numbers: tuple[int, ...]) -> bytes:
    """A TrueType font of these glyphs of the face, numbered from 1 in their order."""
    from fontTools.fontBuilder import FontBuilder
    from fontTools.pens.ttGlyphPen import TTGlyphPen

    names = [".notdef", *(f"g{code}" for code in range(1, len(numbers) + 1))]
    glyphs = {".notdef": TTGlyphPen(None).glyph()}
    widths = {".notdef": (face.units_per_em, 0)}
    for name, number in zip(names[1:], numbers, strict=True):
        glyphs[name] = _true_type(face, number)
        widths[name] = (round(face.advance(number)), 0)
    extents = face.font.get_font_extents("ltr")
    builder = FontBuilder(face.units_per_em, isTTF=True)
    builder.setupGlyphOrder(names)
    builder.setupGlyf(glyphs)
    left = {name: getattr(glyph, "xMin", 0) for name, glyph in glyphs.items()}
    builder.setupHorizontalMetrics({n: (w, left[n]) for n, (w, _) in widths.items()})
    builder.setupHorizontalHeader(ascent=extents.ascender, descent=extents.descender)
    builder.setupPost(keepGlyphNames=False)
    builder.font["head"].created = builder.font["head"].modified = 0
    builder.font.recalcTimestamp = False
    out = io.BytesIO()
    builder.save(out)
    return out.getvalue()


@lru_cache(maxsize=4096)
def _true_type(face: Face, number: int) -> Any:
    """The glyph's outlines as TrueType's: quadratic, outsides clockwise."""
    from fontTools.pens.cu2quPen import Cu2QuPen
    from fontTools.pens.ttGlyphPen import TTGlyphPen

    pen = TTGlyphPen(None)
    to = Cu2QuPen(pen, _QUADRATIC_EM * face.units_per_em, reverse_direction=True)
    for path in face.outlines(number):
        to.moveTo(path.start)
        for segment in path.segments:
            if isinstance(segment, Cubic):
                to.curveTo(segment.control1, segment.control2, segment.end)
            else:
                to.lineTo(segment.end)
        to.closePath()
    return pen.glyph()
