"""PDF sheets, looked at by pypdfium2 and taken apart by pikepdf."""

import io
import math

import numpy as np
import pikepdf
import pypdfium2
import pytest
from writing_samples import bar_sheet, line, pdf_ink, sheet, small_sheet

from templater.lettering import text_width_mm
from templater.model.problems import Refused
from templater.model.sheets import Anchor, Circle, Lettering, Pen, SheetLayer, Stroke
from templater.writing import pdf_bytes

POINT_MM = 25.4 / 72


def with_layers_off(data, *names):
    with pikepdf.open(io.BytesIO(data)) as pdf:
        groups = [g for g in pdf.Root.OCProperties.OCGs if str(g.Name) in names]
        assert len(groups) == len(names)
        pdf.Root.OCProperties.D.OFF = pikepdf.Array(groups)
        out = io.BytesIO()
        pdf.save(out)
    return out.getvalue()


def test_pages_have_the_size_of_their_sheets():
    data = pdf_bytes([bar_sheet(), small_sheet()], "two")
    document = pypdfium2.PdfDocument(data)
    sizes = [tuple(side * POINT_MM for side in page.get_size()) for page in document]
    assert sizes == [pytest.approx((180.0, 180.0), abs=1e-4), pytest.approx((40.0, 20.0), abs=1e-4)]


def test_printing_is_not_to_scale_the_page():
    with pikepdf.open(io.BytesIO(pdf_bytes([small_sheet()], "x"))) as pdf:
        assert pdf.Root.ViewerPreferences.PrintScaling == "/None"


def test_layers_are_named_once_for_all_pages_and_can_be_switched_off():
    data = pdf_bytes([small_sheet(), small_sheet()], "x")
    with pikepdf.open(io.BytesIO(data)) as pdf:
        assert [str(g.Name) for g in pdf.Root.OCProperties.OCGs] == ["holes ss16", "cut", "note"]
    for page in (0, 1):
        full = pdf_ink(data, page, 10.0)
        without = pdf_ink(with_layers_off(data, "holes ss16"), page, 10.0)
        changed = np.argwhere(np.abs(full - without) > 0.1) / 10.0
        assert changed.min(axis=0) == pytest.approx([7.5 - 2.3, 10 - 2.3], abs=0.2)
        assert changed.max(axis=0) == pytest.approx([7.5 + 2.3, 10 + 2.3], abs=0.2)


def test_fonts_are_embedded_and_text_can_be_read():
    texts = ["Größe μ платье", "ss16 × 3,9 mm"]
    items = tuple(Lettering(t, (10.0, 20.0 + 20 * i), 5.0, 15.0) for i, t in enumerate(texts))
    data = pdf_bytes([sheet(SheetLayer("note", items))], "x")
    found = pypdfium2.PdfDocument(data)[0].get_textpage().get_text_range()
    assert sorted(found.split("\r\n")) == sorted(texts)
    with pikepdf.open(io.BytesIO(data)) as pdf:
        fonts = list(pdf.pages[0].Resources.Font.values())
        assert fonts
        assert all("/FontFile2" in font.DescendantFonts[0].FontDescriptor for font in fonts)


@pytest.mark.parametrize(
    ("anchor", "share"), [(Anchor.START, 0.0), (Anchor.MIDDLE, 0.5), (Anchor.END, 1.0)]
)
@pytest.mark.parametrize("mirrored", [False, True])
def test_text_hangs_on_its_anchor_as_wide_as_measured(anchor, share, mirrored):
    width = text_width_mm("HUH", 5.0)
    item = Lettering("HUH", (60.0, 20.0), 5.0, 0.0, anchor, mirrored)
    ink = pdf_ink(pdf_bytes([sheet(SheetLayer("x", (item,)), size_mm=(120, 40))], "x"), 0, 10.0)
    columns = np.flatnonzero(ink.max(axis=0) > 0.5) / 10.0
    start, end = (60 - share * width, 60 + (1 - share) * width)
    if mirrored:
        start, end = 120 - end, 120 - start
    assert columns[0] == pytest.approx(start + 0.67, abs=0.2)  # an H stands 0.67 mm in at 5 mm
    assert columns[-1] == pytest.approx(end - 0.67, abs=0.2)
    rows = np.flatnonzero(ink.max(axis=1) > 0.5) / 10.0
    assert rows[0] == pytest.approx(15.0, abs=0.11)
    assert rows[-1] == pytest.approx(20.0, abs=0.11)


def test_text_reads_forwards_unless_it_is_meant_from_behind():
    def letter(*, mirrored):
        item = Lettering("L", (20.0, 20.0), 10.0, 0.0, Anchor.MIDDLE, mirrored)
        return pdf_ink(pdf_bytes([sheet(SheetLayer("x", (item,)), size_mm=(40, 40))], "x"), 0, 10.0)

    plain, mirrored = letter(mirrored=False), letter(mirrored=True)
    stem = plain.sum(axis=0)
    assert stem[:200].sum() > 1.5 * stem[200:].sum()
    assert np.abs(mirrored[:, ::-1] - plain).mean() < 0.002


def test_ten_thousand_stones_make_a_small_file():
    stones = tuple(Circle(i % 100 * 5.0, i // 100 * 5.0, 3.9, Pen.STONE) for i in range(10_000))
    data = pdf_bytes([sheet(SheetLayer("stones", stones), size_mm=(500, 500))], "x")
    assert len(data) < 150_000


def test_the_same_bytes_twice():
    assert pdf_bytes([small_sheet()], "x") == pdf_bytes([small_sheet()], "x")


def test_letters_the_font_lacks_are_seen():
    item = Lettering("漢", (10.0, 10.0), 10.0)
    ink = pdf_ink(pdf_bytes([sheet(SheetLayer("x", (item,)), size_mm=(40, 40))], "x"), 0, 5.0)
    assert ink.sum() > 100


def test_no_sheets_and_endless_sheets_are_refused():
    with pytest.raises(ValueError, match="at least one"):
        pdf_bytes([], "x")
    with pytest.raises(Refused) as refused:
        pdf_bytes([sheet(size_mm=(610.0, 6000.0))], "x")
    (problem,) = refused.value.problems
    assert problem.code == "page-too-long"
    assert "6000 mm" in problem.message


def test_lines_end_where_they_end():
    """Butt ends: half a line's width more at both ends would make 150 mm into 150.25."""
    item = Stroke(line((10, 10), (30, 10)), Pen.BAR)
    ink = pdf_ink(pdf_bytes([sheet(SheetLayer("x", (item,)), size_mm=(40, 20))], "x"), 0, 20.0)
    columns = np.flatnonzero(ink.max(axis=0) > 0.5) / 20.0
    assert columns[-1] + 0.05 - columns[0] == pytest.approx(20.0, abs=0.06)


@pytest.mark.parametrize("value", [math.nan, -math.inf])
def test_numbers_no_file_can_hold_are_refused_by_sheet_and_layer(value):
    with pytest.raises(ValueError, match="layer x: a coordinate"):
        pdf_bytes([sheet(SheetLayer("x", (Stroke(line((0, 0), (value, 1)), Pen.CUT),)))], "x")
