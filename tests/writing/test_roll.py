"""Sheets on a plotter's roll, as an independent renderer shows them: whole, true size, named."""

from dataclasses import replace

import numpy as np
import pypdfium2
import pytest
from writing_samples import bar_sheet, large_sheet, pdf_ink, sheet, small_sheet

from templater.geometry.polygons import rectangle
from templater.model.sheets import Circle, Pen, SheetLayer, Stroke
from templater.writing import pdf_bytes
from templater.writing.roll_pdf import Roll, roll_pdf_bytes
from templater.writing.sheet_content import SheetContent

PX = 3.0


def pages_mm(data):
    return [tuple(s * 25.4 / 72 for s in page.get_size()) for page in pypdfium2.PdfDocument(data)]


def without_edge(one):
    """The sample without the frame along its own edge, which is not printed."""
    return replace(one, layers=one.layers[:-1])


def drawn_part(one):
    """The ink of the sheet's own PDF in the box that is printed."""
    x0, y0, x1, y1 = SheetContent(one).box
    picture = pdf_ink(pdf_bytes([one], "x"), 0, PX)
    rows = len(picture)
    return picture[round(rows - y1 * PX) : round(rows - y0 * PX), round(x0 * PX) : round(x1 * PX)]


def found_in(picture, part):
    """How well the part is found in the picture at best: 1 for every inked pixel alike."""
    rows = (picture.shape[0] + part.shape[0] - 1, picture.shape[1] + part.shape[1] - 1)
    spectrum = np.fft.rfft2(picture, rows) * np.conj(np.fft.rfft2(part, rows))
    return np.fft.irfft2(spectrum, rows).max() / (part * part).sum()


def wide_sheet():
    shapes = (Stroke(rectangle(20, 30, 520, 230), Pen.CUT), Circle(80, 60, 30, Pen.HOLE))
    return sheet(SheetLayer("x", shapes), size_mm=(540.0, 260.0))


@pytest.mark.parametrize(
    ("one", "width", "turned"),
    [
        (without_edge(large_sheet()), 610.0, False),
        (wide_sheet(), 610.0, False),
        (wide_sheet(), 300.0, True),
    ],
)
def test_a_sheet_is_whole_on_one_page(one, width, turned):
    x0, y0, x1, y1 = SheetContent(one).box
    data = roll_pdf_bytes([one], Roll(width, 8.0, (1.0, 1.0)), 10.0)
    ((wide, long),) = pages_mm(data)
    tall = x1 - x0 if turned else y1 - y0
    assert wide == pytest.approx(width, abs=0.01)
    assert long == pytest.approx(tall + 5.6 + 16.0, abs=0.02), "margins, and a line for the name"
    part = drawn_part(one)
    assert found_in(pdf_ink(data, 0, PX), np.rot90(part) if turned else part) > 0.75
    said = pypdfium2.PdfDocument(data)[0].get_textpage().get_text_range()
    assert "sheet 1 of 1" in said


def test_several_lie_side_by_side_each_with_its_name():
    ones = [replace(bar_sheet((190.0, 180.0)), number=i + 1, of=7) for i in range(7)]
    data = roll_pdf_bytes(ones, Roll(914.0, 10.0, (1.0, 1.0)), 10.0)
    assert len(pages_mm(data)) == 1
    assert pages_mm(data)[0][1] < 2.0 * 200.0 + 20.0, "four abreast, two rows"
    said = pypdfium2.PdfDocument(data)[0].get_textpage().get_text_range()
    assert all(f"sheet {number} of 7" in said for number in range(1, 8))


def test_nothing_lies_where_the_plotter_cannot_reach():
    ones = [large_sheet(), small_sheet(), bar_sheet((190.0, 180.0))]
    for width in (300.0, 400.0, 610.0):
        data = roll_pdf_bytes(ones, Roll(width, 10.0, (1.0, 1.0)), 10.0)
        for page in range(len(pages_mm(data))):
            picture = pdf_ink(data, page, 4.0)
            edge = int(9.9 * 4)
            assert picture[:, :edge].max() == picture[:, -edge:].max() == 0.0
            assert picture[:edge].max() == picture[-edge:].max() == 0.0


def test_a_sheet_wider_than_the_roll_both_ways_is_printed_in_strips():
    one = sheet(
        SheetLayer("x", (Stroke(rectangle(5, 5, 995, 695), Pen.CUT),)), size_mm=(1000.0, 700.0)
    )
    data = roll_pdf_bytes([one], Roll(610.0, 8.0, (1.0, 1.0)), 10.0)
    sizes = pages_mm(data)
    assert len(sizes) == 2
    assert all(wide == pytest.approx(610.0, abs=0.01) for wide, _ in sizes)
    said = [page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(data)]
    assert "A2 lies here" in said[0]
    assert "trim here, lay on A1" in said[1]


def test_a_plotter_that_is_off_is_corrected():
    one = sheet(
        SheetLayer("x", (Stroke(rectangle(10, 10, 210, 110), Pen.CUT),)), size_mm=(300.0, 200.0)
    )
    for calibrate in ((1.0, 1.0), (1.01, 0.99)):
        picture = pdf_ink(roll_pdf_bytes([one], Roll(400.0, 8.0, calibrate), 10.0), 0, 10.0)
        # The rectangle's sides: the four long runs of ink; a name below has none.
        columns = np.flatnonzero((picture > 0.3).sum(axis=0) > 800)
        rows = np.flatnonzero((picture > 0.3).sum(axis=1) > 1500)
        assert np.ptp(columns) / 10.0 == pytest.approx(200.0 * calibrate[0], abs=0.45)
        assert np.ptp(rows) / 10.0 == pytest.approx(100.0 * calibrate[1], abs=0.45)


def test_a_roll_beyond_pdfs_longest_page_goes_on_on_the_next():
    tall = sheet(
        SheetLayer("x", (Stroke(rectangle(5, 5, 295, 1995), Pen.CUT),)), size_mm=(300.0, 2000.0)
    )
    data = roll_pdf_bytes([tall] * 3, Roll(400.0, 8.0, (1.0, 1.0)), 10.0)
    assert [long < 5080.0 for _, long in pages_mm(data)] == [True, True]
    assert roll_pdf_bytes([tall], Roll(400.0, 8.0, (1.0, 1.0)), 10.0) == roll_pdf_bytes(
        [tall], Roll(400.0, 8.0, (1.0, 1.0)), 10.0
    )
