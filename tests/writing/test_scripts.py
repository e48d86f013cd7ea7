"""Names in any script, as renderers and readers see what we write."""

import base64
import io
import re
import unicodedata
from dataclasses import replace

import numpy as np
import pikepdf
import pypdfium2
import pytest
from fontTools.ttLib import TTFont
from letter_fonts import CONJUNCT, KANJI, font_bytes
from PIL import Image
from writing_samples import CSS_PX_PER_MM, ink, pdf_ink, sheet, small_plan, svg_ink

from templater.lettering import text_width_mm, using_font
from templater.model.sheets import Anchor, Lettering, SheetLayer
from templater.readback.dxf import read_dxf
from templater.readback.pdf import read_pdf
from templater.readback.svg import read_svg
from templater.writing import dxf_bytes, pdf_bytes, svg_bytes
from templater.writing.book_page import book_html
from templater.writing.painted_text import paint_text

pytestmark = pytest.mark.usefixtures("no_fonts")
DEVANAGARI = "\u0915\u0937\u094d\u093f"
SIZE = (120.0, 30.0)
LINES = [
    "frond left 2",
    "שלום",
    "שָׁלוֹם",
    "עלה 16",
    "עלה (16) קצה",
    "עלה 16 left",
    "left עלה",
    "ورقة",
    "شريط لامع",
    "ورقة 12 left",
    "قطن لامع · 2 to cut · ss16",
    "海藻 left 2",
    "क्षि क",
    "中 a",
]


@pytest.fixture(scope="module")
def font(tmp_path_factory):
    """A font for what ours lacks of the lines above, but one letter."""
    path = tmp_path_factory.mktemp("font") / "letters.ttf"
    path.write_bytes(font_bytes(KANJI + DEVANAGARI, rules=CONJUNCT, more=["ksha"]))
    return path


def page(text, **how):
    item = Lettering(text, **{"at": (60.0, 10.0), "height_mm": 5.0, "anchor": Anchor.MIDDLE} | how)
    return sheet(SheetLayer("note", (item,)), size_mm=SIZE)


def apart(one, other):
    """How much ink is where the other has none, and the other way round, as a share of it all.

    Edges that two renderers soften differently make 0.05 to 0.18 of it; another word, or the same
    one otherwise joined or ordered, more than 0.5.
    """
    high, wide = (min(sides) for sides in zip(one.shape, other.shape, strict=True))
    return np.abs(one[:high, :wide] - other[:high, :wide]).sum() / other.sum()


@pytest.mark.parametrize("text", LINES)
def test_pdf_readers_give_the_text_back_in_the_order_in_which_it_is_read(font, text):
    with using_font(font):
        data = pdf_bytes([page(text)], "x")
    found = pypdfium2.PdfDocument(data)[0].get_textpage().get_text_range()
    assert unicodedata.normalize("NFC", found) == unicodedata.normalize("NFC", text)


@pytest.mark.parametrize("text", LINES)
def test_what_is_read_back_is_what_was_written(font, text):
    with using_font(font):
        one = page(text)
        facts = (
            *read_pdf(pdf_bytes([one], "x"), "x.pdf"),
            read_svg(svg_bytes(one), "x.svg"),
            read_dxf(dxf_bytes(one), "x.dxf"),
        )
    assert [[t.text for t in each.texts] for each in facts] == [[text], [text], [text]]


@pytest.mark.parametrize("mirrored", [False, True])
@pytest.mark.parametrize("text", LINES)
def test_what_is_printed_is_what_was_measured(font, text, mirrored):
    """The page as pdfium renders it against the outlines filled by other means."""
    px = 12.0
    picture = Image.new("RGB", (round(SIZE[0] * px), round(SIZE[1] * px)), "white")
    with using_font(font):
        width = text_width_mm(text, 5.0)
        data = pdf_bytes([page(text, mirrored=mirrored)], "x")
        at = (60.0 * px, (SIZE[1] - 10.0) * px)
        paint_text(picture, text, at, 5.0 * px, "black", Anchor.MIDDLE, mirrored=mirrored)
    printed, wanted = pdf_ink(data, 0, px), ink(picture)
    assert apart(printed, wanted) < 0.25
    columns = np.flatnonzero(printed.max(axis=0) > 0.5) / px
    assert 60.0 - width / 2.0 - 0.3 < columns[0]
    assert columns[-1] < 60.0 + width / 2.0 + 0.3


def test_words_set_wrongly_would_be_seen():
    """What the two tests around this one would measure if letters were not joined or not turned."""
    right, isolated = page("ورقة"), page("و\u200cر\u200cق\u200cة")
    turned = page("ةقرو")
    drawn = [pdf_ink(pdf_bytes([each], "x"), 0, 12.0) for each in (right, isolated, turned)]
    assert apart(drawn[1], drawn[0]) > 0.5
    assert apart(drawn[2], drawn[0]) > 0.5


@pytest.mark.parametrize("anchor", list(Anchor))
@pytest.mark.parametrize(
    "text", [text for text in LINES if text.isascii() or "\u0590" < text[0] < "\u0700"]
)
def test_an_independent_renderer_of_svg_shapes_and_orders_alike(text, anchor):
    """resvg with our font, against the PDF: it joins and orders by code of its own."""
    px = 3 * CSS_PX_PER_MM
    drawn = svg_ink(svg_bytes(page(text, anchor=anchor)), px)
    printed = pdf_ink(pdf_bytes([page(text, anchor=anchor)], "x"), 0, px)
    assert apart(drawn, printed) < 0.25


def test_every_font_shown_is_embedded_with_the_widths_it_is_shown_with(font):
    with using_font(font):
        data = pdf_bytes([page("ab 海藻 ab")], "x")
    with pikepdf.open(io.BytesIO(data)) as pdf:
        fonts = {str(f.BaseFont).split("+")[1]: f for f in pdf.pages[0].Resources.Font.values()}
        assert sorted(fonts) == ["DejaVuSans", "TestSans"]
        for each in fonts.values():
            inner = each.DescendantFonts[0]
            own = TTFont(io.BytesIO(inner.FontDescriptor.FontFile2.read_bytes()))
            widths = [own["hmtx"][name][0] for name in own.getGlyphOrder()[1:]]
            shown = [float(width) * own["head"].unitsPerEm / 1000.0 for width in inner.W[1]]
            assert shown == pytest.approx(widths, abs=0.01)
            assert len(widths) == (3 if "DejaVu" in str(each.BaseFont) else 2)


def test_pictures_for_browsers_carry_the_letters_our_font_lacks_and_only_those(font):
    with using_font(font):
        plain = svg_bytes(page("frond عלה ورقة")).decode()
        other = svg_bytes(page("frond 海藻")).decode()
    assert "@font-face" not in plain
    assert re.search(r"unicode-range: U\+6D77, U\+85FB;", other)
    assert "font-family=\"'templater letters', 'DejaVu Sans', 'Test Sans', sans-serif\"" in other
    (data,) = re.findall(r"base64,([A-Za-z0-9+/=]+)", other)
    carried = TTFont(io.BytesIO(base64.b64decode(data))).getBestCmap()
    assert set(map(chr, carried)) == {"海", "藻"}


def test_the_bench_books_page_carries_the_letters_of_names(font):
    plan = small_plan()
    assert b"@font-face" not in book_html(plan)
    with using_font(font):
        text = book_html(replace(plan, name="海藻 kelp")).decode()
    assert "unicode-range: U+6D77, U+85FB;" in text
    assert "font-src data:" in text


def test_a_browser_shows_letters_that_only_the_picture_carries(font, browser_page):
    px = 96 / 25.4
    with using_font(font):
        one = page("海藻 left 2")
        svg, pdf = svg_bytes(one).decode(), pdf_bytes([one], "x")
    browser_page.set_content(f"<style>body {{ margin: 0 }}</style>{svg.split('?>', 1)[1]}")
    browser_page.evaluate("document.fonts.ready")
    shot = ink(Image.open(io.BytesIO(browser_page.screenshot())))
    printed = pdf_ink(pdf, 0, px)
    assert apart(shot, printed) < 0.25


@pytest.fixture
def browser_page(browser):
    page = browser.new_page(viewport={"width": 600, "height": 200})
    yield page
    page.close()
