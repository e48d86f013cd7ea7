"""DXF files that are wrong, damaged or unusual: a located message with the mend, never a guess."""

import io
import math
import re

import pytest
from dxf_making import areas, as_bytes, codes, lines, new, points, read, texts
from hypothesis import given, settings
from hypothesis import strategies as st

from templater.geometry.measure import area_mm2, path_length
from templater.model.curves import Arc
from templater.model.problems import Severity, has_errors
from templater.reading.dxf import read_dxf

R12_START = "0\nSECTION\n2\nENTITIES\n"
R12_END = "0\nENDSEC\n0\nEOF\n"


def only(drawing, code, severity=Severity.ERROR):
    [problem] = [p for p in drawing.problems if p.code == code]
    assert problem.severity is severity
    assert problem.message
    assert problem.mend
    assert problem.source is not None
    return problem


def square(space, layer="0", x=0.0, size=10.0, **more):
    return space.add_lwpolyline(
        [(x, 0), (x + size, 0), (x + size, size), (x, size)],
        close=True,
        dxfattribs={"layer": layer, **more},
    )


@pytest.mark.parametrize(
    ("data", "code"),
    [
        (b"", "dxf-empty"),
        (b"  \r\n ", "dxf-empty"),
        (b"AC1027\x00\x00\x00\x00 and so on", "not-dxf"),
        (b'<?xml version="1.0"?><svg xmlns="http://www.w3.org/2000/svg"/>', "not-dxf"),
        (b"%PDF-1.7\n", "not-dxf"),
        (b"PK\x03\x04\x14", "not-dxf"),
        (b"dear maker, here is my pattern", "not-dxf"),
        (bytes(range(256)) * 8, "not-dxf"),
        ((R12_START + R12_END).encode(), "drawing-empty"),
    ],
)
def test_what_is_no_drawing_is_refused(data, code):
    drawing = read_dxf(data, "brought.dxf")
    problem = only(drawing, code)
    assert "brought.dxf" in problem.message
    assert drawing.layers == ()


def test_a_file_cut_off_anywhere_is_refused():
    document, space = new()
    for k in range(20):
        square(space, x=20.0 * k)
    data = as_bytes(document)
    for part in (0.3, 0.6, 0.9, 0.999):
        drawing = read_dxf(data[: int(len(data) * part)], "half.dxf")
        assert has_errors(drawing.problems)
    only(drawing, "dxf-cut-off")


def test_a_decimal_comma_is_named_with_its_line():
    data = (R12_START + "0\nLINE\n8\n0\n10\n1,5\n20\n0\n11\n5\n21\n5\n" + R12_END).encode()
    problem = only(read_dxf(data, "comma.dxf"), "decimal-comma")
    assert "1,5" in problem.message
    assert problem.source.line == data.decode().split("\n").index("1,5") + 1


def test_a_comma_in_a_text_is_no_decimal_comma():
    document, space = new()
    space.add_text("1,5")
    space.add_line((0, 0), (1, 1))
    assert not codes(read(document), Severity.ERROR)


@pytest.mark.parametrize("value", ["nan", "inf", "1e400"])
def test_a_coordinate_that_is_no_number_is_reported(value):
    data = (
        R12_START
        + f"0\nCIRCLE\n8\nzone tip\n10\n0\n20\n0\n40\n{value}\n0\nLINE\n8\n0\n10\n1\n20\n0\n11\n5\n21\n5\n"
        + R12_END
    ).encode()
    drawing = read_dxf(data, "odd.dxf", unit="mm")
    assert has_errors(drawing.problems)
    assert areas(drawing, "zone tip") == []


@pytest.mark.parametrize("x", [1e12, 1e307])
def test_what_strayed_far_away_is_named(x):
    document, space = new()
    square(space)
    space.add_lwpolyline([(x, 0), (x, 10), (0, 5)])
    space.add_circle((x, 0), 5)
    space.add_spline([(0, 0), (x, x), (5, 5)])
    drawing = read(document)
    found = [p.source.element.split()[0] for p in drawing.problems if p.severity == "error"]
    assert found == ["LWPOLYLINE", "CIRCLE", "SPLINE"]
    assert len(areas(drawing)) == 1


def test_a_block_that_contains_itself():
    document, space = new()
    one, other = document.blocks.new("one"), document.blocks.new("other")
    one.add_line((0, 0), (1, 1))
    one.add_blockref("other", (0, 0))
    other.add_blockref("one", (5, 5))
    space.add_blockref("one", (0, 0))
    problem = only(read(document), "block-in-itself")
    assert "one" in problem.message


def test_a_block_that_is_not_there():
    document, space = new()
    space.add_blockref("gone", (12, 7), dxfattribs={"layer": "zone tip"})
    square(space)
    problem = only(read(document), "block-missing")
    assert "gone" in problem.message
    assert "x 12.00, y 7.00" in problem.message


def test_a_block_bomb_is_cut_short():
    document, space = new()
    document.blocks.new("b0").add_line((0, 0), (1, 1))
    for k in range(1, 12):
        block = document.blocks.new(f"b{k}")
        for n in range(10):
            block.add_blockref(f"b{k - 1}", (n, k))
    space.add_blockref("b11", (0, 0))
    import templater.reading.dxf_walk as walk

    most = walk.MOST_ENTITIES
    walk.MOST_ENTITIES = 5000
    try:
        drawing = read(document)
    finally:
        walk.MOST_ENTITIES = most
    only(drawing, "too-many-entities")


def test_lines_that_rise_out_of_the_plane_are_named():
    document, space = new()
    space.add_line((0, 0, 0), (10, 0, 4), dxfattribs={"layer": "seam side"})
    space.add_circle((0, 0), 5, dxfattribs={"extrusion": (0, 1, 1)})
    square(space)
    drawing = read(document)
    found = [p for p in drawing.problems if p.code == "not-flat"]
    assert [p.source.element.split()[0] for p in found] == ["LINE", "CIRCLE"]
    assert found[0].at_mm == (0, 0)
    assert "x 0.00, y 0.00 mm" in found[0].message
    assert "seam side" in found[0].message


def test_flat_shapes_at_different_heights_are_seen_from_above():
    document, space = new()
    space.add_line((0, 0, 5), (10, 0, 5))
    space.add_line((10, 0, 9), (10, 10, 9))
    [line] = lines(read(document))
    assert path_length(line.path) == pytest.approx(20)


def test_what_cannot_be_read_is_named_by_kind_and_layer():
    document, space = new()
    mesh = space.add_mesh(dxfattribs={"layer": "zone tip"})
    with mesh.edit_data() as faces:
        faces.add_face([(70, 2, 0), (75, 0, 0), (75, 5, 3)])
    space.add_linear_dim((0, 20), (0, 0), (50, 0)).render()
    space.add_ray((0, 0), (1, 1))
    square(space)
    drawing = read(document)
    problem = only(drawing, "entity-unsupported")
    assert "MESH" in problem.message
    assert "at x 70.00, y 2.00 mm" in problem.message
    assert problem.at_mm == (70, 2)
    assert "zone tip" in problem.message
    notes = [p for p in drawing.problems if p.code == "annotation-left-out"]
    assert {p.source.element.split()[0] for p in notes} == {"DIMENSION", "RAY"}


def test_frozen_and_off_layers_are_left_out_with_a_note():
    document, space = new()
    document.layers.add("toile").freeze()
    document.layers.add("help").off()
    square(space, "toile")
    square(space, "help")
    block = document.blocks.new("leaf")
    square(block, "0")
    square(block, "zone tip", x=50)
    space.add_blockref("leaf", (0, 0), dxfattribs={"layer": "help"})
    drawing = read(document)
    assert [layer.name for layer in drawing.layers] == ["zone tip"]
    notes = [p.message for p in drawing.problems if p.code == "layer-hidden"]
    assert any("2 entities" in n and "“help”" in n and "off" in n for n in notes)
    assert any("1 entity," in n and "“toile”" in n and "frozen" in n for n in notes)


def test_a_reference_on_a_frozen_layer_hides_all_it_holds():
    document, space = new()
    document.layers.add("toile").freeze()
    square(document.blocks.new("leaf"), "zone tip")
    space.add_blockref("leaf", (0, 0), dxfattribs={"layer": "toile"})
    square(space, "zone frond")
    assert [layer.name for layer in read(document).layers] == ["zone frond"]


def test_paper_space_is_left_out_with_a_note():
    document, space = new()
    square(space)
    document.layout("Layout1").add_line((0, 0), (1, 1))
    drawing = read(document)
    only(drawing, "paper-space-left-out", Severity.NOTE)
    assert len(areas(drawing)) == 1


def test_outlines_drawn_twice_are_dropped_and_counted():
    document, space = new()
    square(space, "zone tip")
    space.add_lwpolyline(
        [(10, 10), (0, 10), (0, 0), (10, 0)], close=True, dxfattribs={"layer": "zone tip"}
    )
    for _ in range(3):
        space.add_circle((50, 50), 4, dxfattribs={"layer": "zone tip"})
    drawing = read(document)
    assert len(areas(drawing, "zone tip")) == 2
    assert "3 outlines" in only(drawing, "repeats-dropped", Severity.NOTE).message


def test_an_outline_within_another_is_its_hole_and_one_within_that_a_region():
    document, space = new()
    for radius in (50, 40, 30):
        space.add_circle((0, 0), radius)
    space.add_circle((200, 0), 10)
    found = areas(read(document))
    assert [len(s.area.holes) for s in found] == [1, 0, 0]
    assert area_mm2(found[0].area) == pytest.approx(3.141592653589793 * 900)


@pytest.mark.parametrize(("style", "count", "holes"), [(0, 2, 1), (1, 1, 1), (2, 1, 0)])
def test_islands_of_a_hatch_follow_its_style(style, count, holes):
    document, space = new()
    hatch = space.add_hatch(dxfattribs={"layer": "zone tip", "hatch_style": style})
    for size in (50, 30, 10):
        hatch.paths.add_polyline_path(
            [(-size, -size), (size, -size), (size, size), (-size, size)], is_closed=True
        )
    found = areas(read(document), "zone tip")
    assert len(found) == count
    assert len(found[0].area.holes) == holes


def test_arcs_of_a_hatch_are_exact():
    document, space = new()
    edges = space.add_hatch().paths.add_edge_path()
    edges.add_arc((0, 0), 500, 0, 180)
    edges.add_line((-500, 0), (500, 0))
    [shape] = areas(read(document))
    assert area_mm2(shape.area) == pytest.approx(math.pi * 500**2 / 2, rel=1e-12)


def test_a_hatch_and_the_outline_it_was_made_from_are_one_zone():
    document, space = new()
    corners = [(0, 0, 0.4), (40, 0, 0), (40, 30, 0), (0, 30, 0)]
    space.add_lwpolyline(corners, format="xyb", close=True)
    space.add_hatch().paths.add_polyline_path(corners, is_closed=True)
    drawing = read(document)
    [shape] = areas(drawing)
    assert shape.source.element.startswith("HATCH")
    only(drawing, "repeats-dropped", Severity.NOTE)


def test_an_outline_that_crosses_itself_is_said_and_stays_a_line():
    document, space = new()
    space.add_lwpolyline([(0, 0), (10, 10), (10, 0), (0, 10)], close=True)
    drawing = read(document)
    problem = only(drawing, "outline-crosses-itself", Severity.WARNING)
    assert problem.at_mm == pytest.approx((5, 5))
    [line] = lines(drawing)
    assert line.path.closed


def test_degenerate_entities_are_named_not_dropped_in_silence():
    document, space = new()
    square(space)
    space.add_circle((0, 0), 0.0)
    space.add_lwpolyline([(5, 5), (9, 9)], close=True)
    space.add_lwpolyline([(5, 5)])
    space.add_spline()
    drawing = read(document)
    problems = [p for p in drawing.problems if p.severity is Severity.WARNING]
    named = [p.source.element.split()[0] for p in problems]
    assert sorted(named) == ["CIRCLE", "LWPOLYLINE", "LWPOLYLINE", "SPLINE"]


@pytest.mark.parametrize("version", ["R2000", "R2004", "R2010"])
@pytest.mark.parametrize("name", ["Ebene 4 schräg", "zone водоросль", "zone 葉"])
def test_layer_names_in_any_script(version, name):
    document, space = new(version)
    document.layers.add(name)
    square(space, name)
    space.add_text(name, dxfattribs={"layer": name})
    drawing = read(document)
    assert [layer.name for layer in drawing.layers] == [name]
    assert texts(drawing, name)[0].text == name


@pytest.mark.parametrize("version", ["R12", "R2000", "R2018"])
def test_binary_files_read_as_their_ascii_twins(version):
    document, space = new(version)
    space.add_line((1, 2), (3.25, 4), dxfattribs={"layer": "zone tip"})
    space.add_arc((0, 0), 5, 10, 200)
    binary = read_dxf(as_bytes(document, binary=True), "a.dxf")
    ascii_ = read_dxf(as_bytes(document), "a.dxf")
    assert binary.layers == ascii_.layers
    assert binary.unit == ascii_.unit
    cut = as_bytes(document, binary=True)[:-200]
    assert has_errors(read_dxf(cut, "a.dxf").problems)


@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r"])
def test_line_endings_of_every_system(ending):
    document, space = new()
    square(space, "zone tip")
    data = as_bytes(document).replace(b"\r\n", b"\n").replace(b"\n", ending.encode())
    drawing = read_dxf(data, "a.dxf")
    assert len(areas(drawing, "zone tip")) == 1
    assert not has_errors(drawing.problems)


def test_a_damaged_file_is_recovered_with_a_warning():
    document, space = new()
    square(space, "zone tip")
    text = as_bytes(document).decode()
    at = text.index("ENTITIES")
    damaged = text[:at] + re.sub(r"( 10\n)0\.0\n", r"\g<1>0.0xyz\n", text[at:], count=1)
    drawing = read_dxf(damaged.encode(), "a.dxf")
    assert "dxf-damaged" in codes(drawing, Severity.WARNING)
    assert "0.0xyz" in only(drawing, "numbers-unreadable").message


def test_an_entity_of_a_kind_nobody_knows_is_named():
    document, space = new()
    space.add_line((0, 0), (10, 10))
    data = as_bytes(document).replace(b"LINE\r\n", b"LIME\r\n").replace(b"LINE\n", b"LIME\n")
    drawing = read_dxf(data, "a.dxf")
    assert "LIME" in only(drawing, "entity-unsupported").message


def test_nothing_is_written_to_the_terminal(capfd):
    document, space = new()
    square(space)
    read_dxf(as_bytes(document).replace(b"10.0", b"1x0.0"), "a.dxf")
    assert capfd.readouterr() == ("", "")


def test_entities_given_out_of_order_are_recovered():
    """x and y values not in pairs, as some old programs write them."""
    data = (R12_START + "0\nLINE\n8\nzone tip\n10\n1\n11\n5\n20\n2\n21\n6\n" + R12_END).encode()
    drawing = read_dxf(data, "old.dxf", unit="mm")
    [line] = lines(drawing, "zone tip")
    assert line.path.start == (1, 2)
    assert line.path.end == (5, 6)
    assert "dxf-damaged" in codes(drawing, Severity.WARNING)


def test_a_file_without_a_header_has_no_unit():
    """ezdxf would fill in its own header, which says metres."""
    data = (R12_START + "0\nLINE\n8\n0\n10\n1\n20\n2\n11\n5\n21\n6\n" + R12_END).encode()
    drawing = read_dxf(data, "bare.dxf")
    assert drawing.size_mm == pytest.approx((4, 4))
    assert "unit-assumed" in codes(drawing, Severity.WARNING)


def test_attributes_of_a_block_are_texts():
    document, space = new()
    block = document.blocks.new("label")
    block.add_attdef("NAME", (1, 1))
    block.add_line((0, 0), (5, 0))
    insert = space.add_blockref("label", (10, 10), dxfattribs={"layer": "note"})
    insert.add_attrib("NAME", "front", (11, 11), dxfattribs={"layer": "note"})
    drawing = read(document)
    assert [t.text for t in texts(drawing, "note")] == ["front"]


def test_specks_and_doubled_points_are_dropped_and_counted():
    document, space = new()
    space.add_line((0, 0), (50, 0))
    space.add_line((50, 0.01), (50, 0.01))
    space.add_line((70, 7), (70, 7))
    space.add_point((20, 20))
    space.add_point((20, 20))
    drawing = read(document)
    assert [p.at for p in points(drawing)] == [(20, 20), (70, 7)]
    assert "2 points" in only(drawing, "points-dropped", Severity.NOTE).message


@pytest.mark.parametrize(("unit", "size"), [(6, 300), (1, 900), (4, 3)])
def test_a_unit_that_makes_a_drawing_too_large_or_small_to_wear_is_said(unit, size):
    document, space = new(unit=unit)
    square(space, size=size)
    assert "unit" in only(read(document), "size-unlikely", Severity.WARNING).mend
    told = read(document, unit="mm")
    assert ("size-unlikely" in codes(told)) is (size == 3)


def test_a_mirrored_text_keeps_its_place_and_direction():
    document, space = new()
    document.blocks.new("t").add_text("hem", dxfattribs={"insert": (10, 0), "height": 2})
    space.add_blockref("t", (0, 0), dxfattribs={"xscale": -2, "yscale": 2, "layer": "note"})
    [text] = texts(read(document), "note")
    assert text.at == pytest.approx((-20, 0))
    assert text.turn_deg == pytest.approx(180)
    assert text.height_mm == pytest.approx(4)


def sample():
    document, space = new()
    square(space, "zone tip")
    block = document.blocks.new("leaf")
    block.add_arc((0, 0), 5, 0, 90)
    space.add_blockref("leaf", (3, 3))
    space.add_spline([(0, 0), (5, 5), (9, 0)])
    space.add_hatch().paths.add_polyline_path([(0, 0), (3, 0), (3, 3)], is_closed=True)
    stream = io.StringIO()
    document.write(stream)
    text = stream.getvalue()
    # the part of the file where the drawing is, so that most changes hit it
    return text.encode(), text.index("ENTITIES")


SAMPLE, ENTITIES = sample()


@settings(max_examples=25, deadline=None)
@given(
    st.lists(
        st.tuples(
            st.integers(ENTITIES, len(SAMPLE) - 1),
            st.sampled_from([b"", b"9", b"-", b"\n", b"nan", b"0\n0\n", b"\xff", b"e99"]),
            st.integers(0, 3),
        ),
        min_size=1,
        max_size=4,
    )
)
def test_no_damage_makes_reading_raise(changes):
    data = SAMPLE
    for at, put, over in changes:
        data = data[:at] + put + data[at + over :]
    drawing = read_dxf(data, "a.dxf")
    assert drawing.layers or has_errors(drawing.problems)
    for layer in drawing.layers:
        for shape in layer.shapes:
            assert "nan" not in repr(shape)


def test_a_clipped_reference_is_read_whole_and_said():
    from ezdxf.xclip import XClip

    document, space = new()
    square(document.blocks.new("leaf"), "zone tip")
    insert = space.add_blockref("leaf", (0, 0))
    XClip(insert).set_block_clipping_path([(0, 0), (5, 5)])
    drawing = read(document)
    only(drawing, "block-clipped", Severity.WARNING)
    assert len(areas(drawing, "zone tip")) == 1


def test_a_reference_to_another_file_is_refused():
    document, space = new()
    document.add_xref_def("other.dxf", "other")
    space.add_blockref("other", (0, 0))
    assert "other" in only(read(document), "block-external").message


def test_points_that_only_steer_a_fitted_polyline_are_not_on_it():
    document, space = new("R12")
    polyline = space.add_polyline2d([(0, 0), (5, 9), (10, 0), (20, 0)])
    polyline.dxf.flags |= 4  # spline-fitted
    polyline.vertices[1].dxf.flags |= 16  # a point of its frame
    [line] = lines(read(document, unit="mm"))
    assert [s.end for s in line.path.segments] == [(10, 0), (20, 0)]


def test_an_outline_in_a_plane_of_its_own_seen_from_behind():
    """An outline with the extrusion 0, 0, -1 is mirrored about the y axis, its bulges too."""
    document, space = new()
    space.add_lwpolyline(
        [(10, 0, 0.5), (40, 0, 0), (40, 30, 0)],
        format="xyb",
        close=True,
        dxfattribs={"extrusion": (0, 0, -1)},
    )
    [shape] = areas(read(document))
    corners = {(round(s.start[0], 9), round(s.start[1], 9)) for s in shape.area.outline.segments}
    assert corners == {(-10, 0), (-40, 0), (-40, 30)}
    [arc] = [s for s in shape.area.outline.segments if isinstance(s, Arc)]
    assert abs(arc.bulge) == 0.5
    assert area_mm2(shape.area) > 450  # the arc bulges out of the triangle, as it does unmirrored
