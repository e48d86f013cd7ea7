"""Printed pages: laid together they give the sheet back, and their bars measure what they say."""

import io
from dataclasses import replace

import numpy as np
import pikepdf
import pypdfium2
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from writing_samples import (
    bar_sheet,
    extent_mm,
    ink,
    large_sheet,
    line,
    pdf_ink,
    sheet,
    small_sheet,
)

from templater.geometry.polygons import rectangle
from templater.model.problems import Refused
from templater.model.sheets import Anchor, Circle, Lettering, Pen, SheetLayer, Stroke
from templater.writing import pdf_bytes, tiled_pdf_bytes
from templater.writing.sheet_content import SheetContent
from templater.writing.tile_page import FOOTER_MM, join_marks, joins_of
from templater.writing.tiles import row_letters, tile_sheet

A4 = (210.0, 297.0)
A5 = (148.0, 210.0)
LETTER = (215.9, 279.4)
PX = 2.5
FINER = 3


def usable(paper, margin, calibrate=(1.0, 1.0)):
    return tuple((side - 2 * margin) / c for side, c in zip(paper, calibrate, strict=True))


def tiling_of(one, paper=A4, margin=8.0, overlap=10.0):
    width, height = usable(paper, margin)
    return tile_sheet(SheetContent(one), (width, height), (height, width), overlap, FOOTER_MM)


def without_furniture(data):
    """The same pages with joins, names and bars switched off."""
    with pikepdf.open(io.BytesIO(data)) as pdf:
        groups = [g for g in pdf.Root.OCProperties.OCGs if str(g.Name) == "page"]
        pdf.Root.OCProperties.D.OFF = pikepdf.Array(groups)
        out = io.BytesIO()
        pdf.save(out)
    return out.getvalue()


def texts(data, page):
    return pypdfium2.PdfDocument(data)[page].get_textpage().get_text_range()


def test_rows_are_lettered_on_beyond_z():
    assert [row_letters(i) for i in (0, 1, 25, 26, 27, 51, 52, 701, 702)] == [
        "A", "B", "Z", "AA", "AB", "AZ", "BA", "ZZ", "AAA",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("paper", "margin", "overlap", "calibrate"),
    [
        (A5, 5.0, 0.0, (1.0, 1.0)),
        (LETTER, 6.35, 12.0, (1.0, 1.0)),
        (A5, 8.0, 10.0, (1.02, 0.985)),
    ],
)
def test_pages_laid_together_give_the_sheet(paper, margin, overlap, calibrate):
    """Each page is put where its part of the sheet belongs; together they are the sheet."""
    one = large_sheet()
    one = replace(one, layers=one.layers[:-1])  # its frame is not printed
    width, height = usable(paper, margin, calibrate)
    wide, high = usable(paper[::-1], margin, calibrate[::-1])
    tiling = tile_sheet(SheetContent(one), (width, height), (wide, high), overlap, FOOTER_MM)
    data = without_furniture(tiled_pdf_bytes([one], paper, margin, overlap, calibrate=calibrate))
    document = pypdfium2.PdfDocument(data)
    assert len(document) == 1 + len(tiling.tiles)
    factors = calibrate[::-1] if tiling.landscape else calibrate
    whole = pdf_ink(pdf_bytes([one], "x"), 0, PX)
    laid = np.zeros_like(whole)
    for page, tile in zip(list(document)[1:], tiling.tiles, strict=True):
        assert page.get_size()[0] * 25.4 / 72 == pytest.approx(
            paper[1] if tiling.landscape else paper[0], abs=0.01
        )
        picture = ink(page.render(scale=PX * 25.4 / 72 * FINER).to_pil())
        put(laid, picture, page, tile.window, margin, factors, tiling.footer_mm)
    assert np.abs(blurred(laid) - blurred(whole)).max() < 0.12
    assert np.abs(laid - whole).mean() < 0.01


def put(laid, picture, page, window, margin, factors, footer):
    """Sample the page at the sheet's pixels that lie in its window."""
    x0, y0, x1, y1 = window
    height = laid.shape[0] / PX
    rows = np.arange(laid.shape[0])
    columns = np.arange(laid.shape[1])
    x = (columns + 0.5) / PX
    y = height - (rows + 0.5) / PX
    in_x, in_y = (x > x0) & (x < x1), (y > y0) & (y < y1)
    page_high = page.get_size()[1] * 25.4 / 72
    scale = PX * FINER
    u = ((margin + (x[in_x] - x0) * factors[0]) * scale).astype(int)
    v = ((page_high - margin - (y[in_y] - y0 + footer) * factors[1]) * scale).astype(int)
    part = np.zeros((len(v), len(u)))
    for dv in (-1, 0, 1):
        for du in (-1, 0, 1):
            part += picture[np.ix_(v + dv, u + du)] / FINER**2
    place = np.ix_(np.flatnonzero(in_y), np.flatnonzero(in_x))
    laid[place] = np.maximum(laid[place], part)


def blurred(picture):
    size = 8
    rows, columns = (side // size * size for side in picture.shape)
    return picture[:rows, :columns].reshape(rows // size, size, columns // size, size).mean((1, 3))


def test_a_map_page_comes_first_with_all_page_names():
    one = large_sheet()
    data = tiled_pdf_bytes([one], A4, 8.0, 10.0)
    names = [tile.name for tile in tiling_of(one).tiles]
    first = texts(data, 0)
    assert all(name in first for name in names)
    assert "100 %" in first
    assert "Frond, wearer’s left" in first
    for page, name in enumerate(names, start=1):
        assert name in texts(data, page)


def test_pages_name_their_neighbours():
    data = tiled_pdf_bytes([large_sheet()], A5, 8.0, 10.0)
    names = [tile.name for tile in tiling_of(large_sheet(), A5).tiles]
    assert "B2" in names
    page = texts(data, 1 + names.index("B2"))
    assert "trim here, lay on A2" in page
    assert "trim here, lay on B1" in page
    assert "C2 lies here" in page


@pytest.mark.parametrize("paper", [A4, A5])
@pytest.mark.parametrize("overlap", [0.0, 10.0])
def test_join_marks_meet_and_keep_clear_of_the_drawing_where_they_can(paper, overlap):
    content = SheetContent(large_sheet())
    tiling = tiling_of(large_sheet(), paper, 8.0, overlap)
    marks = {
        (tile.name, join.neighbour): (join.trimmed, join_marks(join, content))
        for tile in tiling.tiles
        for join in joins_of(tiling, tile)
    }
    assert len(marks) >= 2 * (len(tiling.tiles) - 1)
    clear = 0
    for (one, other), (trimmed, places) in marks.items():
        back_trimmed, back = marks[other, one]
        assert [pytest.approx(place) for place in places] == list(back)
        assert back_trimmed is not trimmed
        clear += sum(not content.touches((x - 3, y - 3, x + 3, y + 3)) for x, y in places)
    assert clear >= 0.6 * 2 * len(marks)  # one join runs through the stones


def test_the_outline_of_the_file_lists_its_pages():
    document = pypdfium2.PdfDocument(tiled_pdf_bytes([large_sheet()], A4, 8.0, 10.0))
    entries = [(mark.level, mark.get_title()) for mark in document.get_toc()]
    names = [tile.name for tile in tiling_of(large_sheet()).tiles]
    assert entries == [(0, "Frond, wearer’s left, sheet 1 of 1"), *((1, name) for name in names)]


def test_bare_pages_are_left_out():
    """Two circles in far corners: the pages between are not printed."""
    one = sheet(
        SheetLayer("x", (Circle(10, 10, 5, Pen.HOLE), Circle(590, 790, 5, Pen.HOLE))),
        size_mm=(600.0, 800.0),
    )
    tiling = tiling_of(one)
    assert tiling.rows * tiling.columns >= 6
    assert len(tiling.tiles) == 2
    assert len(pypdfium2.PdfDocument(tiled_pdf_bytes([one], A4, 8.0, 10.0))) == 3


def test_sheets_of_one_page_share_a_map_page():
    ones = [replace(bar_sheet((190.0, 180.0)), number=i + 1, of=14) for i in range(14)]
    data = tiled_pdf_bytes(ones, A4, 8.0, 10.0)
    assert len(pypdfium2.PdfDocument(data)) == 14 + 2
    assert "12 sheets follow" in texts(data, 0)
    assert "2 sheets follow" in texts(data, 13)


def test_sheets_of_a_few_pages_share_a_map_page_by_fours_and_those_of_many_have_their_own():
    tall = sheet(SheetLayer("x", (Stroke(line((0, 0), (50, 500)), Pen.CUT),)), size_mm=(60, 510))
    assert len(tiling_of(tall).tiles) == 2
    across = line((0, 0), (400, 560), (400, 0), (0, 560))
    many = sheet(SheetLayer("x", (Stroke(across, Pen.CUT),)), size_mm=(400.0, 560.0))
    assert len(tiling_of(many).tiles) > 4
    sheets = [
        replace(one, number=i + 1, of=8) for i, one in enumerate([tall] * 5 + [many, tall, tall])
    ]
    data = tiled_pdf_bytes(sheets, A4, 8.0, 10.0)
    levels = [mark.get_title() for mark in pypdfium2.PdfDocument(data).get_toc() if mark.level == 0]
    assert levels == [
        "Printed sheets, sheets 1 to 4 of 8",
        "Frond, wearer’s left, sheet 5 of 8",
        "Frond, wearer’s left, sheet 6 of 8",
        "Printed sheets, sheets 7 to 8 of 8",
    ]
    assert "4 sheets follow on 8 pages" in texts(data, 0)


def test_sheets_counted_apart_are_called_by_their_files():
    """Prick sheets and punch layouts share a folder, but not a count."""
    ones = [
        replace(bar_sheet((190.0, 180.0)), name=f"punch/{name}", number=number, of=of)
        for name, number, of in (
            ("pod-prick", 1, 7),
            ("pod-punch-1", 1, 24),
            ("pod-punch-2", 2, 24),
        )
    ]
    data = tiled_pdf_bytes(ones, A4, 8.0, 10.0, title="punch")
    assert "punch, pod-prick to pod-punch-2" in texts(data, 0)


def test_pages_are_laid_so_that_the_fewest_are_printed():
    """A wide head over a narrow body: pages in the middle of the sheet would part the body too."""
    head, body = line((0, 600), (314, 600)), rectangle(100, 0, 170, 590)
    one = sheet(
        SheetLayer("x", (Stroke(head, Pen.CUT), Stroke(body, Pen.CUT))), size_mm=(330.0, 620.0)
    )
    tiling = tiling_of(one)
    assert (tiling.rows, tiling.columns) == (3, 2)
    assert [tile.name for tile in tiling.tiles] == ["A1", "A2", "B1", "C1"]


def words(text, x, y):
    return Lettering(text, (x, y), 5.0, anchor=Anchor.MIDDLE)


def parted(one, tiling):
    """The words of a sheet that lie on no page whole on its own side of the joins."""
    content = SheetContent(one)
    own = [tiling.own(tile) for tile in tiling.tiles]
    return [
        whole
        for whole in content.wholes
        if not any(
            whole[0] >= a and whole[1] >= b and whole[2] <= c and whole[3] <= d
            for a, b, c, d in own
        )
    ]


def test_joins_spare_words_where_that_costs_no_page():
    """A name in the very middle of a part on two pages, where the join would run by choice."""
    outline = Stroke(rectangle(0, 0, 320, 150), Pen.CUT)
    bare = sheet(SheetLayer("x", (outline,)), size_mm=(330.0, 160.0))
    middle = tiling_of(bare)
    assert len(middle.tiles) == 2
    join = middle.own(middle.tiles[0])[2]
    named = replace(bare, layers=(SheetLayer("x", (outline, words("WEARER’S LEFT", join, 70))),))
    assert parted(named, middle)  # or the name would tell nothing
    tiling = tiling_of(named)
    assert parted(named, tiling) == []
    assert len(tiling.tiles) == 2


def test_no_page_is_added_to_spare_words():
    """So many names that one lies on every possible join."""
    outline = Stroke(rectangle(0, 0, 320, 150), Pen.CUT)
    names = tuple(words("LEFT AND RIGHT", x, y) for y in (20, 60, 100) for x in range(40, 290, 17))
    one = sheet(SheetLayer("x", (outline, *names)), size_mm=(330.0, 160.0))
    tiling = tiling_of(one)
    assert parted(one, tiling)
    assert len(tiling.tiles) == 2


def test_a_sheet_drawn_to_the_margins_of_the_same_paper_prints_on_one_page_whole():
    """Its frame lies 8 mm from the edges: the half of the line that lies farther out is seen too."""
    frame = Stroke(rectangle(8.0, 8.0, 202.0, 289.0), Pen.FRAME)
    one = sheet(SheetLayer("text", (frame,)), size_mm=A4)
    assert len(tiling_of(one).tiles) == 1
    data = tiled_pdf_bytes([one], A4, 8.0, 10.0)
    picture = pdf_ink(data, 1, 10.0)
    assert np.abs(picture - pdf_ink(pdf_bytes([one], "x"), 0, 10.0)).max() < 0.1


def test_a_sheets_own_edge_is_not_printed():
    edge = Stroke(rectangle(0.0, 0.0, 300.0, 300.0), Pen.FRAME)
    one = sheet(SheetLayer("x", (edge, Circle(150, 150, 50, Pen.HOLE))), size_mm=(300.0, 300.0))
    assert len(tiling_of(one).tiles) == 1


def test_a_sheet_that_fits_only_without_the_footer_stays_on_one_page():
    one = sheet(
        SheetLayer("x", (Stroke(line((0, 0), (190, 278)), Pen.CUT),)), size_mm=(194.0, 281.0)
    )
    assert len(tiling_of(one).tiles) == 1
    assert tiling_of(one).footer_mm == 0.0


@pytest.mark.parametrize(("display", "bar", "square"), [("mm", 150.0, 50.0), ("in", 101.6, 50.8)])
@pytest.mark.parametrize("calibrate", [(1.0, 1.0), (1.01, 0.98)])
def test_the_map_page_bears_bars_and_a_square_of_true_size(display, bar, square, calibrate):
    data = tiled_pdf_bytes([small_sheet()], A4, 8.0, 10.0, calibrate=calibrate, display=display)
    picture = pdf_ink(data, 0, 10.0)
    corner = (8.0 + 6.0 * calibrate[0], 8.0 + 8.0 * calibrate[1])
    row = round((297 - corner[1]) * 10)
    column = round(corner[0] * 10)
    start, end = extent_mm(picture[row - 3 : row + 3, : round((corner[0] + 155) * 10)], 1, 10.0)
    # A cross stroke stands on either end, and the other bar's one reaches 2 mm to the left.
    assert end - start == pytest.approx((bar + 0.125 + 2.0) * calibrate[0], abs=0.1)
    start, end = extent_mm(picture[row - 1600 : row + 25, column - 3 : column + 3], 0, 10.0)
    assert end - start == pytest.approx((bar + 0.125 + 2.0) * calibrate[1], abs=0.1)
    inner = picture[: row - 50, column + 50 : column + 50 + round((square + 5) * 10)]
    left = extent_mm(inner[-150:-60], 1, 10.0)
    assert left[1] - left[0] == pytest.approx((square + 0.25) * calibrate[0], abs=0.1)
    said = texts(data, 0)
    assert ("150 mm across" in said) == (display == "mm")
    assert ("4 in across" in said) == (display == "in")


def test_what_the_map_page_says_of_calibrating_is_what_calibrating_does():
    """Drawn 150, measured 147: written into the job, the bar is drawn by as much longer."""
    drawn, measured = 150.0, 147.0
    first = tiled_pdf_bytes([small_sheet()], A4, 8.0, 10.0)
    assert "paper.calibrate = [drawn ÷ measured across, drawn ÷ measured up]" in texts(first, 0)
    again = tiled_pdf_bytes([small_sheet()], A4, 8.0, 10.0, calibrate=(drawn / measured, 1.0))
    assert "Corrected by paper.calibrate = [1.0204, 1]" in texts(again, 0)
    ends = []
    for data in (first, again):
        picture = pdf_ink(data, 0, 10.0)
        row = (297 - 16) * 10
        ends.append(extent_mm(picture[row - 3 : row + 3, :1900], 1, 10.0))
    longer = (ends[1][1] - ends[1][0]) / (ends[0][1] - ends[0][0])
    assert longer == pytest.approx(drawn / measured, abs=0.0007)


def test_a_small_paper_has_shorter_bars_and_says_so():
    data = tiled_pdf_bytes([small_sheet()], A5, 8.0, 10.0)
    assert "120 mm across" in texts(data, 0)
    assert "150 mm up" in texts(data, 0)


def test_nothing_on_a_map_page_lies_outside_what_can_be_printed():
    for paper in (A4, A5, LETTER):
        data = tiled_pdf_bytes([large_sheet(), small_sheet(), small_sheet()], paper, 8.0, 10.0)
        for page in range(len(pypdfium2.PdfDocument(data))):
            picture = pdf_ink(data, page, 4.0)
            edge = int(7.9 * 4)
            assert picture[:edge].max() == 0.0
            assert picture[-edge:].max() == 0.0
            assert picture[:, :edge].max() == 0.0
            assert picture[:, -edge:].max() == 0.0


@pytest.mark.parametrize(
    ("paper", "margin", "overlap"), [((30.0, 40.0), 8.0, 30.0), ((30.0, 40.0), 20.0, 0.0)]
)
def test_paper_that_leaves_no_room_is_refused(paper, margin, overlap):
    with pytest.raises(Refused) as refused:
        tiled_pdf_bytes([large_sheet()], paper, margin, overlap)
    assert refused.value.problems[0].code == "paper-too-small"


def test_the_same_bytes_twice():
    sheets = [large_sheet(), small_sheet()]
    assert tiled_pdf_bytes(sheets, A4, 8.0, 10.0) == tiled_pdf_bytes(sheets, A4, 8.0, 10.0)


@given(
    st.floats(30.0, 900.0),
    st.floats(30.0, 900.0),
    st.sampled_from([A4, A5, LETTER]),
    st.floats(0.0, 20.0),
)
@settings(deadline=None, max_examples=40)
def test_pages_cover_everything_and_fit_the_paper(width, height, paper, overlap):
    one = sheet(
        SheetLayer("x", (Stroke(line((0, 0), (width, height), (width, 0), (0, height)), Pen.CUT),)),
        size_mm=(width, height),
    )
    tiling = tiling_of(one, paper, 8.0, overlap)
    page = usable(paper, 8.0)[::-1] if tiling.landscape else usable(paper, 8.0)
    for tile in tiling.tiles:
        x0, y0, x1, y1 = tile.window
        assert x1 - x0 == pytest.approx(page[0])
        assert y1 - y0 == pytest.approx(page[1] - tiling.footer_mm)
    for share in np.linspace(0.0, 1.0, 41):
        for point in ((share * width, share * height), (share * width, (1 - share) * height)):
            assert any(
                a - 1e-6 <= point[0] <= c + 1e-6 and b - 1e-6 <= point[1] <= d + 1e-6
                for a, b, c, d in (tiling.own(tile) for tile in tiling.tiles)
            )
