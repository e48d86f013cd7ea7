"""Sheets are printed on few pages: their titles stand close and no wider than the paper."""

from dataclasses import replace

from templater.model.sheets import Lettering, Pen, Stroke
from templater.writing.sheet_content import SheetContent
from templater.writing.tiles import tile_sheet


def _pages(sheet, margin_mm):
    wide, high = 210.0 - 2.0 * margin_mm, 297.0 - 2.0 * margin_mm
    return tile_sheet(SheetContent(sheet), (wide, high), (high, wide), 10.0, 8.0).tiles


def _frames(sheet):
    paths = [
        item.path
        for layer in sheet.layers
        for item in layer.items
        if isinstance(item, Stroke) and item.pen is Pen.FRAME
    ]
    points = [segment.start for path in paths for segment in path.segments]
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return min(xs), min(ys), max(xs), max(ys)


def _templates(made):
    return [s for s in made.sheets if s.kind in {"stencil", "prick", "punch", "strip", "applique"}]


def test_titles_stand_close_above_and_are_no_wider_than_a_page(made):
    for sheet in _templates(made):
        x0, y0, x1, _ = _frames(sheet)
        assert x1 - x0 <= 186.0
        below = SheetContent(sheet)
        # The long bar and its words stand between, nothing else: at most 12 mm are bare.
        assert below.touches((x0, y0 - 12.0, sheet.size_mm[0], y0 - 0.1))
        if sheet.kind != "applique":  # labels may stand outside small parts
            others = [i for layer in sheet.layers if layer.name == "cut" for i in layer.items]
            top = max(y for i in others for s in i.path.segments for _, y in (s.start, s.end))
            assert -0.001 <= y0 - top <= 10.001, sheet.name


def test_an_a4_sheet_is_printed_on_one_a4_page_whatever_the_margin(on_a4):
    for made, margin in on_a4:
        for sheet in _templates(made):
            if sheet.size_mm in {(210.0, 297.0), (297.0, 210.0)}:
                assert len(_pages(sheet, margin)) == 1, (sheet.name, margin)


def test_a_fold_in_the_middle_is_said_to_be_there(fold_made):
    said = [
        item.text
        for sheet in fold_made.of_kind("stencil")
        if "blade-centre" in sheet.name
        for layer in sheet.layers
        if layer.name == "text"
        for item in layer.items
        if isinstance(item, Lettering)
    ]
    assert any("fold: down the middle" in text for text in said)
    assert not any("fold: to the" in text for text in said)


def _furniture(sheet):
    """Boxes of the title's frame and of the test square with the words in it."""
    x0, y0, x1, y1 = _frames(sheet)
    across, up = sheet.bars[-2:]
    return (x0, y0, x1, y1), (across.x0, across.y0, across.x1, up.y1)


def test_title_and_square_of_placement_sheets_stand_side_by_side_no_wider_than_a_page(made):
    for sheet in made.of_kind("placement"):
        title, square = _furniture(sheet)
        assert square[0] > title[2]
        assert square[3] == title[3]
        assert square[2] - title[0] <= 186.0 + 1e-6
        assert not _touches_others(sheet, square)


def _touches_others(sheet, box):
    others = tuple(layer for layer in sheet.layers if layer.name != "bars")
    return SheetContent(replace(sheet, layers=others)).touches(box)


def test_title_and_square_of_placement_sheets_are_whole_on_a_page(on_a4):
    for made, margin in on_a4:
        for sheet in made.of_kind("placement"):
            wide, high = 210.0 - 2.0 * margin, 297.0 - 2.0 * margin
            content = SheetContent(sheet)
            tiling = tile_sheet(content, (wide, high), (high, wide), 10.0, 8.0)
            own = [tile.window for tile in tiling.tiles]
            for x0, y0, x1, y1 in _furniture(sheet):
                assert any(a <= x0 and b <= y0 and x1 <= c and y1 <= d for a, b, c, d in own), (
                    sheet.name,
                    margin,
                )
