"""Which layer a shape lands on, and what is joined, merged, dropped and counted."""

from __future__ import annotations

import pytest
from svg_making import areas, codes, errors, problem, read, shapes

from templater.model.drawing import AreaShape, LineShape, PointShape
from templater.model.problems import Severity
from templater.reading.naming import automatic, role_of, unescaped

R = '<rect width="5" height="5"/>'


def names(body):
    return [layer.name for layer in read(body).layers]


@pytest.mark.parametrize(
    ("body", "expected"),
    [
        (f'<g id="zone_frond">{R}</g>', ["zone_frond"]),
        (f'<g id="zone_x20_frond_x5F_2">{R}</g>', ["zone frond_2"]),
        (f'<g id="Zone-Frond_1_">{R}</g>', ["Zone-Frond"]),
        (f'<g ed:label="zone tip" id="layer3">{R}</g>', ["zone tip"]),
        (f'<g label="zone tip" data-name="zone b" id="c">{R}</g>', ["zone tip"]),
        (f'<g data-name="zone b" id="c"><title>zone t</title>{R}</g>', ["zone b"]),
        (f'<g id="c"><title> zone\n t </title>{R}</g>', ["zone t"]),
        (f'<g id="Ebene_4">{R}</g>', ["Ebene_4"]),
        (f"<g>{R}</g>", [""]),
        (R, [""]),
        # nested groups inherit; a role is not hidden by a name that is none
        (f'<g id="zone a"><g><g>{R}</g></g></g>', ["zone a"]),
        (f'<g id="zone a"><g id="g1234">{R}</g></g>', ["zone a"]),
        (f'<g id="zone a"><g ed:label="upper leaf">{R}</g></g>', ["zone a"]),
        (f'<g ed:label="Ebene 4"><g id="g1234-5">{R}</g></g>', ["Ebene 4"]),
        (f'<g ed:label="Ebene 4"><g id="Blatt">{R}</g></g>', ["Blatt"]),
        (f'<g id="piece front"><g id="zone a">{R}</g>{R}</g>', ["zone a", "piece front"]),
        (f'<a id="zone a">{R}</a>', ["zone a"]),
        (f'<svg id="zone a" width="50" height="50">{R}</svg>', ["zone a"]),
        (f'<switch id="zone a">{R}</switch>', ["zone a"]),
        # the document's own title and the shape's own name make no layer
        (f"<title>zone x</title>{R}", [""]),
    ],
)
def test_layer_names(body, expected):
    assert names(body) == expected


def test_two_groups_of_one_name_are_one_layer_in_document_order():
    body = f'<g id="zone b">{R}</g><g id="zone a">{R}</g>'
    twice = body + '<g data-name="zone b"><rect x="20" width="5" height="5"/></g>'
    drawing = read(twice)
    assert [(layer.name, len(layer.shapes)) for layer in drawing.layers] == [
        ("zone b", 2),
        ("zone a", 1),
    ]


def test_a_role_on_a_lone_shape_is_told_with_the_mend():
    found = problem(read('<rect id="zone tip" width="5" height="5"/>'), "name-on-shape")
    assert found.severity is Severity.WARNING
    assert "zone tip" in found.message
    assert "group" in found.mend


def test_a_role_in_an_id_that_a_label_overrules_is_told():
    drawing = read(f'<g id="zone_frond" ed:label="backup">{R}</g>')
    assert [layer.name for layer in drawing.layers] == ["backup"]
    found = problem(drawing, "name-overruled")
    assert "zone_frond" in found.message
    assert found.severity is Severity.WARNING


def test_a_role_layer_without_anything_readable_is_told():
    drawing = read(f'<g id="zone a"><image/></g><g id="zone b">{R}</g>')
    assert "zone a" in problem(drawing, "empty-layer").message


@pytest.mark.parametrize(
    ("name", "role"),
    [
        ("zone frond", "zone"),
        ("ZONE_frond", "zone"),
        ("zone", "zone"),
        ("  Piece-front", "piece"),
        ("zonefrond", ""),
        ("my zone", ""),
        ("", ""),
        ("notches", ""),
    ],
)
def test_role_words(name, role):
    assert role_of(name) == role


def test_editors_names():
    assert unescaped("a_x20_b") == "a b"
    assert unescaped("_x31_st") == "1st"
    assert unescaped("_x0000_") == "_x0000_"
    assert unescaped("leaf_2_") == "leaf"
    assert [
        n
        for n in ("g12", "g12-3-5", "use7", "XMLID_12_", "path", "frond2", "A4", "layer1")
        if automatic(n)
    ] == ["g12", "g12-3-5", "use7", "XMLID_12_", "layer1"]


def test_stroke_only_closed_paths_count_as_the_area_they_enclose():
    drawing = read('<g id="zone a"><path d="M0 0h10v10h-10z" fill="none" stroke="#000"/></g>')
    assert areas(drawing) == pytest.approx([100])
    assert drawing.problems == ()


def test_open_paths_on_role_layers_stay_lines_even_where_a_fill_is_inherited():
    drawing = read('<g id="zone a"><path d="M0 0h10v10h-10"/></g>')
    assert [type(s) for s in shapes(drawing)] == [LineShape]


def test_filled_open_paths_elsewhere_are_closed_and_that_is_counted():
    drawing = read('<g id="Ebene 1"><path d="M0 0h10v10h-10"/></g>')
    assert areas(drawing) == pytest.approx([100])
    assert problem(drawing, "closed-as-filled").message.startswith("1 open outline")


def test_a_hair_is_closed_and_counted_and_a_gap_is_not():
    hair = read('<g id="zone a"><path d="M0 0h10v10h-10v-9.951"/></g>')
    (shape,) = shapes(hair)
    assert shape.area.outline.closed
    assert shape.area.outline.start == shape.area.outline.end
    assert problem(hair, "closed-by-a-hair").severity is Severity.NOTE
    gap = read('<g id="zone a"><path d="M0 0h10v10h-10v-9.949"/></g>')
    assert [type(s) for s in shapes(gap)] == [LineShape]
    assert "closed-by-a-hair" not in codes(gap)


def test_an_end_that_meets_its_start_exactly_needs_no_z_and_no_note():
    drawing = read('<g id="zone a"><path d="M0 0h10v10h-10v-10"/></g>')
    assert areas(drawing) == pytest.approx([100])
    assert drawing.problems == ()


def test_doubles_are_dropped_and_counted_whatever_their_start_and_direction():
    drawing = read(
        '<g id="zone a"><path d="M0 0h10v10h-10z"/><path d="M10 10v-10h-10v10z"/>'
        '<rect width="10" height="10.0005"/><rect width="10" height="10.01"/></g>'
        '<g id="zone b"><rect width="10" height="10"/></g>'
        '<g id="seam"><path d="M0 0L5 5"/><path d="M5 5L0 0"/><path d="M5 5L0 1"/></g>'
    )
    assert len(shapes(drawing, "zone a")) == 2
    assert len(shapes(drawing, "zone b")) == 1
    assert len(shapes(drawing, "seam")) == 2
    assert problem(drawing, "doubled").message.startswith("3 shapes")


def test_specks_and_lines_without_length_are_dropped_and_counted():
    drawing = read(
        '<g id="zone a"><rect width="10" height="10"/><rect width=".04" height=".04"/>'
        '<path d="M20 20h10v10h0v0h-10z"/><rect width="0" height="4"/></g>'
    )
    assert areas(drawing) == pytest.approx([100, 100])
    assert problem(drawing, "tiny").message.startswith("1 speck")
    assert problem(drawing, "zero-length").message.startswith("2 parts")
    assert problem(drawing, "zero-size").message.startswith("1 shape")


def test_points_for_notches_and_drills():
    drawing = read(
        '<g id="notch"><path d="M5 5z" stroke="#000"/><path d="M6 6h0"/></g>'
        '<g id="drill"><circle cx="9" cy="9" r=".02"/><circle cx="20" cy="9" r="1"/></g>'
    )
    assert [type(s) for s in shapes(drawing)] == [PointShape, PointShape, PointShape, AreaShape]
    assert shapes(drawing)[2].at == pytest.approx((9, 71))


def test_a_closed_path_without_width_is_a_line():
    drawing = read('<g id="fold"><path d="M0 0L30 40z"/></g>')
    (line,) = shapes(drawing)
    assert isinstance(line, LineShape)
    assert len(line.path.segments) == 1
    assert "no-width" in codes(drawing)


def test_loose_lines_of_a_zone_become_its_outline():
    drawing = read(
        '<g id="zone a" fill="none" stroke="#000"><path d="M0 0H30"/><path d="M30.02 20V0.01"/>'
        '<path d="M30 20H0"/><path d="M0 20V0"/></g>'
    )
    assert areas(drawing) == pytest.approx([600], abs=1)
    assert problem(drawing, "joined").message.startswith("1 outline")


def test_three_hundred_loose_segments_join_and_one_wide_gap_is_one_message():
    import math

    def loose(gap_at: int | None) -> str:
        words = []
        for i in range(300):
            a, b = (2 * math.pi * k / 300 for k in (i, i + 1))
            x0, y0 = 50 + 30 * math.cos(a), 40 + 30 * math.sin(a)
            x1, y1 = 50 + 30 * math.cos(b), 40 + 30 * math.sin(b)
            wide = 0.2 if i == gap_at else 0.03  # of the segment's 0.63 mm, at its end
            share = 1 - wide / math.dist((x0, y0), (x1, y1))
            x1, y1 = x0 + share * (x1 - x0), y0 + share * (y1 - y0)
            ends = f"M{x0:.6f} {y0:.6f}L{x1:.6f} {y1:.6f}"
            words.append(f'<path d="{ends}"/>')
        turned = words[::7] + [w for i, w in enumerate(words) if i % 7]
        return f'<g id="zone a" fill="none" stroke="#000">{"".join(turned)}</g>'

    whole = read(loose(None))
    assert areas(whole) == pytest.approx([900 * math.pi], abs=6)
    assert len(shapes(whole)) == 1
    assert [p.severity for p in whole.problems if p.severity is not Severity.NOTE] == []
    broken = read(loose(100))
    assert areas(broken) == []
    told = [p for p in broken.problems if p.at_mm is not None and p.severity is not Severity.NOTE]
    assert len(told) == 1, broken.problems
    angle = 2 * math.pi * 101 / 300
    gap = (50 + 30 * math.cos(angle), 40 - 30 * math.sin(angle))
    assert math.dist(told[0].at_mm, gap) < 0.3


def test_hidden_and_unpainted_shapes_are_left_out_and_counted():
    drawing = read(
        f'<g id="zone a">{R}<g display="none">{R}</g><g style="visibility:hidden">{R}'
        '<rect visibility="visible" x="10" width="3" height="3"/></g></g>'
        '<g id="frame"><rect fill="none" width="90" height="70"/></g>'
        '<g id="zone n"><rect fill="none" width="90" height="70"/></g>'
    )
    assert areas(drawing) == pytest.approx([25, 9, 6300])
    assert problem(drawing, "hidden").message.startswith("2 hidden")
    assert problem(drawing, "unpainted").severity is Severity.NOTE
    assert problem(drawing, "unpainted-kept").severity is Severity.WARNING


@pytest.mark.parametrize(
    ("body", "code"),
    [
        ('<g clip-path="url(#c)"><rect width="5" height="5"/></g>', "clipped"),
        ('<rect width="5" height="5" style="mask:url(#m)"/>', "masked"),
        ('<rect width="5" height="5" filter="url(#f)"/>', "filtered"),
        (f'{R}<image width="5" height="5" href="x.png"/>', "not-a-drawing"),
        (f"{R}<foreignObject><p/></foreignObject>", "not-a-drawing"),
        (f"{R}<wobble/>", "element-unknown"),
        (f'<rect width="5" height="5"><animate attributeName="x"/></rect>{R}', "animated"),
        (f'<g id="zone h" display="none">{R}</g>{R}', "hidden-layer"),
        ('<rect width="5" height="5" style="stroke-width:calc(1px + 1mm)"/>', "style-not-read"),
        (f'<g><animateTransform attributeName="transform"/>{R}</g>', "animated"),
        ('<path d="M0 0h5v5" fill="none" stroke="#000" marker-end="url(#m)"/>', "markers"),
        (f'{R}<use href="other.svg#leaf"/>', "copy-lost"),
        (f'{R}<use href="#nowhere"/>', "copy-lost"),
        ('<rect x="98" width="5" height="5"/>', "off-page"),
        (f'<svg width="10" height="10"><rect x="8" width="5" height="5"/></svg>{R}', "clipped"),
    ],
)
def test_what_is_not_understood_is_told_and_the_rest_read(body, code):
    drawing = read(body)
    assert shapes(drawing)
    assert not errors(drawing)
    found = problem(drawing, code)
    assert found.mend
    assert "line" in found.message.lower()


def test_many_findings_of_a_kind_are_told_ten_times_then_counted():
    drawing = read(R + "<image/>" * 25)
    told = [p for p in drawing.problems if p.code == "not-a-drawing"]
    assert len(told) == 11
    assert told[-1].message.startswith("15 more")


def test_rings_that_make_no_hole_are_told():
    drawing = read('<g id="zone a"><path d="M0 0h20v20h-20z M5 5h5v5h-5z"/></g>')
    assert areas(drawing) == pytest.approx([400])
    assert "even-odd" in problem(drawing, "covered").mend


def test_on_line_layers_every_closed_ring_stands_for_itself():
    drawing = read('<g id="row r"><path d="M0 0h20v20h-20z M5 5h5v5h-5z"/></g>')
    assert areas(drawing) == pytest.approx([400, 25])
