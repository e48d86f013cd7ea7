"""DXF drawings read to the same millimetres they were made in."""

import math

import pytest
from dxf_making import areas, as_bytes, codes, lines, new, points, read, texts

from templater.geometry.measure import area_mm2, path_box, path_length, signed_path_area
from templater.model.curves import Arc, Cubic, Line
from templater.model.problems import Severity
from templater.reading.dxf import read_dxf

VERSIONS = ["R12", "R2000", "R2010", "R2018"]


@pytest.mark.parametrize("version", VERSIONS)
def test_lines_and_circles_are_exact(version):
    document, space = new(version)
    space.add_line((1, 2), (3, 4), dxfattribs={"layer": "seam side"})
    space.add_circle((10, 20), 5, dxfattribs={"layer": "zone tip"})
    drawing = read(document, unit="mm")
    assert [layer.name for layer in drawing.layers] == ["seam side", "zone tip"]
    [line] = lines(drawing, "seam side")
    assert line.path.segments == (Line((1, 2), (3, 4)),)
    [circle] = areas(drawing, "zone tip")
    assert circle.area.outline.segments == (
        Arc((15, 20), (5, 20), 1.0),
        Arc((5, 20), (15, 20), 1.0),
    )
    assert drawing.size_mm == pytest.approx((14, 23), abs=2e-4)
    assert not codes(drawing, Severity.ERROR)


def test_outlines_run_anticlockwise_whichever_way_they_were_drawn():
    document, space = new()
    corners = [(0, 0), (10, 0), (10, 10), (0, 10)]
    space.add_lwpolyline(corners, close=True, dxfattribs={"layer": "one"})
    space.add_lwpolyline(corners[::-1], close=True, dxfattribs={"layer": "other"})
    drawing = read(document)
    for layer in ("one", "other"):
        [shape] = areas(drawing, layer)
        assert signed_path_area(shape.area.outline) == pytest.approx(100.0)


def test_an_r12_polyline_with_bulges():
    document, space = new("R12")
    space.add_polyline2d(
        [(0, 0, 0), (20, 0, 1.0), (20, 10, 0), (0, 10, 0)], format="xyb", close=True
    )
    drawing = read(document, unit="mm")
    [shape] = areas(drawing)
    assert [type(s) for s in shape.area.outline.segments] == [Line, Arc, Line, Line]
    assert area_mm2(shape.area) == pytest.approx(200.0 + math.pi * 25.0 / 2.0)


def test_a_cubic_spline_keeps_its_control_points_to_the_bit():
    document, space = new()
    controls = [(0, 0, 0), (10, 30, 0), (25, -5, 0), (40, 10, 0)]
    space.add_open_spline(controls)
    [shape] = lines(read(document))
    [curve] = shape.path.segments
    assert curve == Cubic((0, 0), (10, 30), (25, -5), (40, 10))


def test_an_ellipse_lies_on_its_equation_to_a_hundredth_of_a_micrometre():
    from templater.geometry.flatten import flatten

    document, space = new()
    space.add_ellipse((100, 50), major_axis=(300, 0), ratio=0.4)
    [shape] = areas(read(document))
    for x, y in flatten(shape.area.outline, 0.001):
        # distance from the curve, to first order: |F| / |grad F|
        u, v = (x - 100) / 300, (y - 50) / 120
        value = u * u + v * v - 1.0
        slope = math.hypot(2 * u / 300, 2 * v / 120)
        assert abs(value / slope) <= 1.01e-5
    assert path_box(shape.area.outline) == pytest.approx((-200, -70, 400, 170), abs=1e-4)


def test_block_contents_on_layer_0_lie_on_the_layer_of_their_reference():
    document, space = new()
    block = document.blocks.new("leaf")
    block.add_line((0, 0), (1, 0))
    block.add_line((0, 0), (0, 1), dxfattribs={"layer": "grain"})
    space.add_blockref("leaf", (10, 10), dxfattribs={"layer": "zone frond"})
    drawing = read(document)
    assert [layer.name for layer in drawing.layers] == ["zone frond", "grain"]
    [line] = lines(drawing, "zone frond")
    assert line.path.start == (10, 10)


def test_points_and_texts():
    document, space = new()
    space.add_point((3, 4))
    space.add_line((5, 5), (5, 5))
    space.add_text("front", height=3, rotation=30, dxfattribs={"insert": (1, 2)})
    space.add_mtext("two\\Plines", dxfattribs={"insert": (7, 8), "char_height": 4, "rotation": 45})
    drawing = read(document)
    assert [p.at for p in points(drawing)] == [(3, 4), (5, 5)]
    one, two = texts(drawing)
    assert (one.text, one.at, one.height_mm, one.turn_deg) == (
        "front",
        (1, 2),
        3,
        pytest.approx(30),
    )
    assert (two.text, two.at, two.height_mm) == ("two\nlines", (7, 8), 4)
    assert two.turn_deg == pytest.approx(45)


def test_loose_lines_and_arcs_become_one_outline():
    document, space = new()
    space.add_line((0, 0), (20, 0))
    space.add_arc((20, 5), 5, 270, 90)
    space.add_line((0, 10), (20, 10))
    space.add_line((0, 10), (0, 0))
    drawing = read(document)
    [shape] = areas(drawing)
    assert lines(drawing) == []
    assert area_mm2(shape.area) == pytest.approx(200.0 + math.pi * 25.0 / 2.0, abs=1e-6)
    assert codes(drawing) == ["lines-joined"]


def test_lines_of_different_layers_are_not_joined():
    document, space = new()
    space.add_line((0, 0), (20, 0), dxfattribs={"layer": "edge hem"})
    space.add_line((20, 0), (20, 20), dxfattribs={"layer": "seam side"})
    drawing = read(document)
    assert len(lines(drawing, "edge hem")) == len(lines(drawing, "seam side")) == 1


def test_a_file_without_a_unit_says_what_it_assumes_and_how_large_that_is():
    document, space = new("R12")
    space.add_line((0, 0), (212, 64))
    drawing = read(document)
    [warning] = [p for p in drawing.problems if p.code == "unit-assumed"]
    assert warning.severity is Severity.WARNING
    assert "212.0 × 64.0 mm" in warning.message
    assert 'unit = "cm"' in warning.mend
    drawing = read(document, unit="in")
    assert drawing.size_mm == pytest.approx((212 * 25.4, 64 * 25.4))
    assert "unit-assumed" not in codes(drawing)


def test_the_jobs_unit_goes_before_the_headers_and_says_so():
    document, space = new(unit=4)
    space.add_line((0, 0), (10, 0))
    drawing = read(document, unit="cm")
    assert path_length(lines(drawing)[0].path) == pytest.approx(100.0)
    assert "unit-overridden" in codes(drawing)
    assert codes(read(document, unit="furlong")) == ["unknown-unit"]


def test_reading_twice_gives_the_same():
    document, space = new()
    for k in range(20):
        space.add_line((k, 0), (k + 1, k % 3))
    data = as_bytes(document)
    assert read_dxf(data, "a.dxf") == read_dxf(data, "a.dxf")


def test_rows_within_rows_are_rows_and_marks_stay_single_strokes():
    document, space = new()
    for radius in (50, 40):
        space.add_circle((0, 0), radius, dxfattribs={"layer": "row rosette"})
    for a, b in [((0, 0), (0, 40)), ((0, 40), (2, 35)), ((0, 40), (-2, 35))]:  # an arrow
        space.add_line(a, b, dxfattribs={"layer": "grain"})
    drawing = read(document)
    assert [len(s.area.holes) for s in areas(drawing, "row rosette")] == [0, 0]
    assert len(lines(drawing, "grain")) == 3
    assert codes(drawing) == []


def test_layer_names_that_differ_in_capitals_are_one_layer():
    document, space = new()
    document.layers.add("Toile").off()
    space.add_line((0, 0), (20, 0), dxfattribs={"layer": "Seam Side"})
    space.add_line((20, 0), (20, 20), dxfattribs={"layer": "SEAM SIDE"})
    space.add_line((0, 0), (9, 9), dxfattribs={"layer": "TOILE"})
    drawing = read(document)
    [layer] = drawing.layers
    assert layer.name == "Seam Side"
    assert len(layer.shapes) == 1


def test_knots_that_differ_by_a_rounding_error_make_no_piece():
    document, space = new()
    spline = space.add_spline()
    spline.control_points = [
        (0, 0, 0),
        (5, 9, 0),
        (9, -4, 0),
        (14, 3, 0),
        (20, 8, 0),
        (25, 0, 0),
        (30, 2, 0),
    ]
    spline.knots = [0, 0, 0, 1e-14, 1, 1 + 1e-13, 1 + 2e-13, 2, 2, 2, 2]
    spline.dxf.degree = 3
    [line] = lines(read(document))
    assert len(line.path.segments) == 2
