"""Small fonts made for tests: every letter a bar of its own height, some with rules for joining."""

from __future__ import annotations

import io

from fontTools.feaLib.builder import addOpenTypeFeaturesFromString
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.t2CharStringPen import T2CharStringPen
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib import TTCollection, TTFont

UNITS = 1000
KANJI = "海藻前身頃綿先端"

# Ka, virama and ssa become one sign, as every Devanagari font has it; the vowel sign i is written
# after its consonant and drawn before it by the shaper itself.
CONJUNCT = """
languagesystem DFLT dflt;
languagesystem dev2 dflt;
feature akhn { script dev2; sub uni0915 uni094D uni0937 by ksha; } akhn;
"""


def font_bytes(letters, *, family="Test Sans", cff=False, embed=0, blank="", rules="", more=()):
    """A font of these letters: bars 700 + 10·n units high and 400 wide, advance 500 + 10·n; marks
    (combining letters) advance nothing. `blank` letters have no outline; `more` are names of
    glyphs that only the rules reach.
    """
    names = [".notdef", *(f"uni{ord(letter):04X}" for letter in letters), *more]
    widths = {name: 500 + 10 * n for n, name in enumerate(names)}
    for letter in letters:
        if letter in "\u0e49\u0e4d\u094d":
            widths[f"uni{ord(letter):04X}"] = 0
    hidden = {f"uni{ord(letter):04X}" for letter in blank}
    glyphs = {
        name: _bar(700 + 10 * n, widths[name], cff=cff, blank=name in hidden)
        for n, name in enumerate(names)
    }
    builder = FontBuilder(UNITS, isTTF=not cff)
    builder.setupGlyphOrder(names)
    builder.setupCharacterMap({ord(c): f"uni{ord(c):04X}" for c in letters})
    if cff:
        builder.setupCFF(family.replace(" ", ""), {}, glyphs, {})
    else:
        builder.setupGlyf(glyphs)
    builder.setupHorizontalMetrics({n: (w, 0 if n in hidden else 50) for n, w in widths.items()})
    builder.setupHorizontalHeader(ascent=900, descent=-200)
    builder.setupNameTable({"familyName": family, "styleName": "Regular", "psName": family})
    builder.setupOS2(fsType=embed, usWeightClass=400)
    builder.setupPost()
    if rules:
        addOpenTypeFeaturesFromString(builder.font, rules)
    out = io.BytesIO()
    builder.save(out)
    return out.getvalue()


def collection_bytes(*fonts):
    """The fonts in one file."""
    whole = TTCollection()
    whole.fonts = [TTFont(io.BytesIO(font)) for font in fonts]
    out = io.BytesIO()
    whole.save(out)
    return out.getvalue()


def _bar(height, width, *, cff, blank):
    pen = T2CharStringPen(width, None) if cff else TTGlyphPen(None)
    if not blank:
        corners = [(50, 0), (50, height), (450, height), (450, 0)]
        if cff:  # PostScript's outsides run anticlockwise
            corners.reverse()
        pen.moveTo(corners[0])
        for corner in corners[1:]:
            pen.lineTo(corner)
        pen.closePath()
    return pen.getCharString() if cff else pen.glyph()
