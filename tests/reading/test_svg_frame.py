"""Where millimetres come from, and where things land in the canonical frame."""

from __future__ import annotations

import math

import pytest
from svg_making import areas, boxes, codes, errors, problem, read, shapes, svg

from templater.model.curves import Arc, Cubic, Line
from templater.model.drawing import LineShape, TextShape
from templater.model.problems import Severity

RECT = '<g id="zone a"><rect x="10" y="20" width="30" height="5"/></g>'


def test_y_points_up_from_the_lower_left_corner_of_the_page():
    drawing = read(RECT)
    assert boxes(drawing) == [(10.0, 55.0, 40.0, 60.0)]
    assert drawing.size_mm == pytest.approx((100.0, 80.0), abs=1e-9)
    assert drawing.problems == ()


@pytest.mark.parametrize(
    ("size", "box"),
    [
        # 100 mm by 80 mm however it is said
        ('width="10cm" height="8cm" viewBox="0 0 100 80"', (10, 55, 40, 60)),
        ('width="400Q" height="320Q" viewBox="0 0 100 80"', (10, 55, 40, 60)),
        ('width="1in" height="0.8in" viewBox="0 0 100 80"', (2.54, 13.97, 10.16, 15.24)),
        ('width="72pt" height="57.6pt" viewBox="0 0 100 80"', (2.54, 13.97, 10.16, 15.24)),
        ('width="6pc" height="4.8pc" viewBox="0 0 100 80"', (2.54, 13.97, 10.16, 15.24)),
        ('width="100mm" height="80mm" viewBox="10 20 100 80"', (0, 75, 30, 80)),
        ('width="1e2mm" height="+80.0mm" viewBox="0,0,100,80"', (10, 55, 40, 60)),
        # one side given: the other by the viewBox
        ('width="200mm" viewBox="0 0 100 80"', (20, 110, 80, 120)),
        ('height="160mm" viewBox="0 0 100 80"', (20, 110, 80, 120)),
    ],
)
def test_physical_sizes(size, box):
    drawing = read(RECT, size=size)
    assert boxes(drawing)[0] == pytest.approx(box, abs=1e-4)
    assert not any(p.severity is Severity.WARNING for p in drawing.problems)


@pytest.mark.parametrize(
    ("fit", "box"),
    [
        # A viewBox of 100 × 80 in a page of 200 × 80 mm: scale 1 (meet) or 2 (slice).
        ("", (60, 55, 90, 60)),
        ("xMidYMid", (60, 55, 90, 60)),
        ("xMinYMid meet", (10, 55, 40, 60)),
        ("xMaxYMax meet", (110, 55, 140, 60)),
        ("xMinYMin slice", (20, 30, 80, 40)),
        ("xMidYMid slice", (20, 70, 80, 80)),
        ("xMidYMax slice", (20, 110, 80, 120)),
        ("none", (20, 55, 80, 60)),
        ("defer xMinYMin", (10, 55, 40, 60)),
    ],
)
def test_preserve_aspect_ratio(fit, box):
    size = f'width="200mm" height="80mm" viewBox="0 0 100 80" preserveAspectRatio="{fit}"'
    drawing = read(RECT, size=size)
    assert boxes(drawing)[0] == pytest.approx(box, abs=1e-4)
    assert ("uneven-scale" in codes(drawing)) == (fit == "none")


@pytest.mark.parametrize(
    ("size", "code", "words"),
    [
        ('width="200" height="100"', "size-assumed", "52.9 × 26.5 mm"),
        ('width="200px" height="100px" viewBox="0 0 20 10"', "size-assumed", "52.9 × 26.5 mm"),
        ('viewBox="0 0 200 100"', "size-assumed", "52.9 × 26.5 mm"),
        ('width="100%" height="100%" viewBox="0 0 200 100"', "size-assumed", "52.9 × 26.5 mm"),
        # A4 at 72 and at 90 per inch
        (
            'width="595.28" height="841.89"',
            "size-suspicious",
            "At 72 per inch the page would be A4",
        ),
        ('width="744.09" height="1052.36"', "size-suspicious", "At 90 per inch"),
        ('x="0px" y="0px" viewBox="0 0 300 300"', "size-suspicious", "105.8 × 105.8 mm"),
        ('ed:version="0.48.5 r1" width="300" height="300"', "size-suspicious", "84.7 × 84.7 mm"),
        ('ed:version="0.92.4" width="300" height="300"', "size-assumed", "79.4 × 79.4 mm"),
    ],
)
def test_unsure_sizes_say_what_they_assume_and_how_to_mend_it(size, code, words):
    found = problem(read(RECT, size=size), code)
    assert found.severity is Severity.WARNING
    assert words in found.message
    assert "mm" in found.message
    assert "unit =" in found.mend
    assert "measured" in found.mend


def test_a_page_without_any_size_ends_where_the_drawing_does():
    drawing = read(RECT, size="")
    k = 25.4 / 96
    assert drawing.size_mm == pytest.approx((40 * k, 25 * k))
    assert boxes(drawing)[0] == pytest.approx((10 * k, 0, 40 * k, 5 * k), abs=1e-4)
    assert {"size-assumed", "page-by-extent"} <= set(codes(drawing))


@pytest.mark.parametrize(
    ("unit", "mm"),
    [
        ("mm", 1),
        ("cm", 10),
        ("in", 25.4),
        ("pt", 25.4 / 72),
        ("px", 25.4 / 96),
        ("px72", 25.4 / 72),
        ("px90", 25.4 / 90),
    ],
)
@pytest.mark.parametrize(
    "size", ['width="1" height="2" viewBox="0 0 100 80"', 'viewBox="0 0 100 80"']
)
def test_the_job_may_say_what_a_unit_is(unit, mm, size):
    drawing = read(RECT, size=size, unit=unit)
    assert drawing.size_mm == pytest.approx((100 * mm, 80 * mm))
    assert boxes(drawing)[0] == pytest.approx([v * mm for v in (10, 55, 40, 60)], abs=1e-4)
    assert drawing.problems == ()


def test_an_unknown_unit_is_refused_with_the_choices():
    (found,) = errors(read(RECT, unit="furlong"))
    assert "px72" in found.mend


@pytest.mark.parametrize(
    "size",
    [
        'width="0" height="10mm"',
        'width="-5mm" height="10mm"',
        'width="1e400mm" height="10mm"',
        'width="nan" height="10mm"',
        'width="10mm" height="10mm" viewBox="0 0 0 10"',
        'width="10mm" height="10mm" viewBox="0 0 -1 10"',
        'width="10mm" height="10mm" viewBox="0 0 10"',
        'width="10mm" height="10mm" viewBox="a b c d"',
        'width="10parsec" height="10mm"',
    ],
)
def test_impossible_pages_are_refused_with_the_line(size):
    drawing = read(RECT, size=size)
    (found,) = errors(drawing)
    assert found.source is not None
    assert found.source.line == 1
    assert found.mend
    assert drawing.layers == ()


def test_an_inch_inside_a_viewbox_is_an_inch_of_user_units():
    # 1in = 96 user units, which this page shows at a millimetre each (CSS Values 4, 6.2).
    drawing = read('<g id="zone a"><rect width="0.5in" height="10%" x="1pc"/></g>')
    assert boxes(drawing) == [(16.0, 72.0, 64.0, 80.0)]


def test_every_basic_shape_lands_with_its_curves_kept():
    drawing = read(
        """<g id="zone a">
        <rect x="1" y="1" width="10" height="6"/>
        <rect x="20" y="1" width="10" height="6" rx="2"/>
        <circle cx="50" cy="10" r="5"/>
        <ellipse cx="70" cy="10" rx="8" ry="4"/>
        <polygon points="80,10 90,10 90,20"/>
        <path d="M5 40h10v10h-10z"/>
        </g><g id="seam s"><line x1="1" y1="70" x2="9" y2="70" stroke="red" stroke-width=".5"/>
        <polyline points="20,70 25,75 30 70"/></g>"""
    )
    kinds = [{type(s) for s in shape.area.outline.segments} for shape in shapes(drawing, "zone a")]
    assert kinds == [{Line}, {Line, Arc}, {Arc}, {Cubic}, {Line}, {Line}]
    expected = [60, 60 - (4 - math.pi) * 4, 25 * math.pi, 32 * math.pi, 50, 100]
    # An ellipse's Béziers lie within 1e-5 mm, times its perimeter of 39 mm.
    assert areas(drawing) == pytest.approx(expected, abs=4e-4)
    assert [type(s) for s in shapes(drawing, "seam s")] == [LineShape, LineShape]
    assert [s.width_mm for s in shapes(drawing, "seam s")] == pytest.approx([0.5, 0.0])
    assert drawing.problems == ()


def test_outlines_run_anticlockwise_and_holes_clockwise():
    from templater.geometry.measure import signed_path_area

    drawing = read(
        '<g id="zone a"><path fill-rule="evenodd" d="M0 0h20v20h-20z M5 5h5v5h-5z"/></g>'
        '<g id="zone b"><path fill-rule="evenodd" d="M0 0v20h20v-20z M5 5v5h5v-5z"/></g>'
    )
    for shape in shapes(drawing):
        assert signed_path_area(shape.area.outline) == pytest.approx(400)
        (hole,) = shape.area.holes
        assert signed_path_area(hole) == pytest.approx(-25)


def test_texts_keep_their_place_height_and_turn():
    drawing = read(
        '<g id="note"><text transform="translate(10 20) rotate(-90) scale(2)" font-size="4">'
        'cut <tspan font-weight="bold">two</tspan>\n   of <tspan x="0" y="9">these</tspan></text></g>'
    )
    (text,) = shapes(drawing)
    assert isinstance(text, TextShape)
    assert text.text == "cut two of these"
    assert text.at == pytest.approx((10, 60))
    assert text.height_mm == pytest.approx(8)
    assert text.turn_deg == pytest.approx(90)


def test_stroke_widths_follow_scale_and_non_scaling_strokes_do_not():
    drawing = read(
        '<g id="clear x" fill="none" stroke="#000" stroke-width="1.5" transform="scale(4)">'
        '<path d="M1 1 L9 9"/><path d="M1 5 L9 5" vector-effect="non-scaling-stroke"/></g>'
    )
    assert [s.width_mm for s in shapes(drawing)] == pytest.approx([6.0, 1.5])


def test_sources_name_file_layer_element_and_line():
    drawing = read('<g id="zone a">\n<rect id="leaf_x20_1" width="5" height="5"/></g>')
    source = shapes(drawing)[0].source
    assert (source.file, source.layer, source.element, source.line) == (
        "test.svg",
        "zone a",
        "rect leaf 1",
        3,
    )


def test_files_packed_with_gzip_and_in_other_encodings_read_the_same():
    import gzip

    plain = svg('<g id="zone ä"><rect width="5" height="5"/></g>')
    assert read(gzip.compress(plain)) == read(plain)
    other = ('<?xml version="1.0" encoding="utf-16"?>' + plain.decode()).encode("utf-16")
    assert read(other).layers == read(plain).layers
