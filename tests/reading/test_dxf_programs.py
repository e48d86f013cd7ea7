"""DXF as CAD programs, cutters' simple exporters and scripts write it (from memory of their habits,
no source): each reads to the stated millimetres, or is told.
"""

import itertools
import math

import ezdxf
import pytest
from dxf_making import as_bytes, codes, new
from ezdxf.math import fit_points_to_cad_cv

from templater.geometry.flatten import flatten
from templater.geometry.measure import area_mm2, path_box, path_length
from templater.model.drawing import AreaShape, LineShape, PointShape, TextShape
from templater.model.problems import Severity, has_errors
from templater.reading import read_drawing


def told(shape):
    """A shape in short: what, its box in whole hundredths, its area or length or words."""
    match shape:
        case AreaShape(area):
            x0, y0, x1, y1 = (round(v, 2) + 0.0 for v in path_box(area.outline))
            return ("area", (x0, y0, x1, y1), round(area_mm2(area), 1))
        case LineShape(path):
            x0, y0, x1, y1 = (round(v, 2) + 0.0 for v in path_box(path))
            return ("line", (x0, y0, x1, y1), round(path_length(path), 1))
        case PointShape(at):
            return ("point", at)
        case TextShape(text):
            return ("text", text)


def read(make, version="R2010"):
    document, space = new(version)
    make(document, space)
    return read_drawing(as_bytes(document), "made.dxf")


def shapes(drawing):
    return [told(shape) for layer in drawing.layers for shape in layer.shapes]


TRIANGLE = [(0, 0), (40, 0), (40, 30)]


def curve_fitted(_, space):
    line = space.add_polyline2d([(0, 0), (20, 20), (40, 0)], dxfattribs={"flags": 2})
    for vertex, bulge in zip(line.vertices, (1, 0, 0), strict=True):
        vertex.dxf.bulge = bulge  # a half circle from the first to the second
    line.vertices[1].dxf.flags = 1


def spline_fitted(_, space):
    points = [(0, 0), (20, 20), (40, 0), (10, 8), (20, 11), (30, 8)]
    line = space.add_polyline2d(points, dxfattribs={"flags": 4, "smooth_type": 6})
    for number, vertex in enumerate(line.vertices):
        vertex.dxf.flags = 16 if number < 3 else 8


def clockwise_edge(_, space):
    edges = space.add_hatch().paths.add_edge_path(flags=1)
    edges.add_ellipse((50, 50), (40, 0), 0.5, 0, 180, ccw=False)
    edges.add_line((10, 50), (90, 50))


def island_of_a_spline(_, space):
    hatch = space.add_hatch()
    hatch.paths.add_edge_path(flags=1).add_ellipse((50, 50), (40, 0), 0.5, 0, 360)
    points = [(40, 50), (40, 60), (60, 60), (60, 50), (60, 40), (40, 40), (40, 50)]
    knots = [0, 0, 0, 0, 1, 1, 1, 2, 2, 2, 2]
    inner = hatch.paths.add_edge_path(flags=16)
    inner.add_spline(control_points=points, knot_values=knots, degree=3)


def behind(_, space):
    seen = {"extrusion": (0, 0, -1)}
    space.add_lwpolyline([(0, 0), (40, 0, 0, 0, 1), (40, 30)], close=True, dxfattribs=seen)
    space.add_hatch(dxfattribs=seen).paths.add_polyline_path([(60, 0), (80, 0), (80, 10)])
    space.add_arc((10, 50), 5, 0, 90, dxfattribs=seen)


def mirrored(document, space):
    document.blocks.new("B").add_lwpolyline(TRIANGLE, close=True)
    space.add_blockref("B", (100, 0), dxfattribs={"xscale": -1, "yscale": 2})
    space.add_blockref("B", (-200, 0), dxfattribs={"extrusion": (0, 0, -1)})


def arrayed(document, space):
    document.blocks.new("B", base_point=(10, 10)).add_circle((10, 10), 5)
    grid = {
        "row_count": 2,
        "column_count": 2,
        "row_spacing": 20,
        "column_spacing": 30,
        "rotation": 90,
    }
    space.add_blockref("B", (0, 0), dxfattribs=grid)


def titled(document, space):
    block = document.blocks.new("B")
    block.add_attdef("N", (0, 0), "not this")
    block.add_circle((0, 0), 10)
    reference = space.add_blockref("B", (50, 50))
    reference.add_attrib("N", "front", (51, 51))
    reference.add_attrib("X", "hidden", (1, 1)).is_invisible = True


def worded(_, space):
    space.add_mtext(r"{\fArial|b0;zone}\P%%cfront \U+00E9", dxfattribs={"insert": (5, 5)})
    space.add_text("%%UFRONT%%U 5%%d", height=3).set_placement((50, 5))


def slanted_ellipse(_, space):
    space.add_ellipse((100, 0), (0, 30), 0.3, start_param=1, end_param=1 + math.tau)


def flat_in_space(_, space):
    space.add_polyline3d([(0, 0, 5), (50, 0, 5), (50, 50, 5)]).close()


PLAIN = {
    "a curve-fitted polyline": (curve_fitted, [("line", (0, -4.14, 40, 20), 72.7)]),
    "a spline-fitted polyline": (spline_fitted, [("line", (10, 8, 30, 11), 20.9)]),
    "a hatch whose edge runs backwards": (clockwise_edge, [("area", (10, 50, 90, 70), 1256.6)]),
    # each half of the island holds 3/5 of its control points’ box: 2 · 0.6 · 20 · 10
    "a hatch with an island of splines": (island_of_a_spline, [("area", (10, 30, 90, 70), 2273.3)]),
    "a hatch of one bulged circle": (
        lambda _, s: s.add_hatch().paths.add_polyline_path([(0, 0, 1), (40, 0, 1)]),
        [("area", (0, -20, 40, 20), 1256.6)],
    ),
    "seen from behind": (
        behind,
        [
            ("area", (-55, 0, 0, 30), 953.4),
            ("area", (-80, 0, -60, 10), 100.0),
            ("line", (-15, 50, -10, 55), 7.9),
        ],
    ),
    "references mirrored by scale and by extrusion": (
        mirrored,
        [("area", (60, 0, 100, 60), 1200.0), ("area", (160, 0, 200, 30), 600.0)],
    ),
    "an array turned about its base point": (
        arrayed,
        [
            ("area", (-5, -5, 5, 5), 78.5),
            ("area", (-5, 25, 5, 35), 78.5),
            ("area", (-25, -5, -15, 5), 78.5),
            ("area", (-25, 25, -15, 35), 78.5),
        ],
    ),
    "attributes": (titled, [("area", (40, 40, 60, 60), 314.2), ("text", "front")]),
    "codes in texts": (worded, [("text", "zone\nØfront é"), ("text", "FRONT 5°")]),
    "a solid, whose corners cross over": (
        lambda _, s: s.add_solid([(0, 0), (30, 0), (0, 30), (30, 30)]),
        [("area", (0, 0, 30, 30), 900.0)],
    ),
    "a face": (
        lambda _, s: s.add_3dface([(0, 0), (30, 0), (30, 30), (0, 30)]),
        [("area", (0, 0, 30, 30), 900.0)],
    ),
    "a level polyline in space": (flat_in_space, [("area", (0, 0, 50, 50), 1250.0)]),
    "an ellipse from elsewhere round": (slanted_ellipse, [("area", (91, -30, 109, 30), 848.2)]),
    "an arc all round": (
        lambda _, s: s.add_arc((0, 0), 20, 0, 360),
        [("area", (-20, -20, 20, 20), 1256.6)],
    ),
    "a last vertex on the first, closed or not": (
        lambda _, s: (
            s.add_lwpolyline([*TRIANGLE, (0, 0)], close=True),
            s.add_lwpolyline([(100 + x, y) for x, y in [*TRIANGLE, (0, 0)]]),
        ),
        [("area", (0, 0, 40, 30), 600.0), ("area", (100, 0, 140, 30), 600.0)],
    ),
    "a thick line": (
        lambda _, s: s.add_line((0, 0), (50, 0), dxfattribs={"thickness": 5}),
        [("line", (0, 0, 50, 0), 50.0)],
    ),
    "a reference scaled to nothing counts as not scaled": (
        lambda d, s: (
            d.blocks.new("B").add_circle((0, 0), 10),
            s.add_blockref("B", (0, 0), dxfattribs={"xscale": 0}),
        ),
        [("area", (-10, -10, 10, 10), 314.2)],
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", PLAIN)
def test_what_is_drawn_reads_as_it_measures(name):
    make, wanted = PLAIN[name]
    drawing = read(make)
    assert not has_errors(drawing.problems), drawing.problems
    assert shapes(drawing) == wanted


def test_widths_that_are_the_same_all_along_are_kept():
    def make(_, space):
        space.add_lwpolyline([(0, 0, 2, 2), (50, 0, 2, 2)], format="xyse")
        space.add_lwpolyline([(0, 10), (50, 10)], dxfattribs={"const_width": 3})
        space.add_lwpolyline([(0, 20, 2, 1), (50, 20, 1, 2)], format="xyse")
        wide = {"default_start_width": 4, "default_end_width": 4}
        space.add_polyline2d([(0, 30), (50, 30)], dxfattribs=wide)

    drawing = read(make)
    widths = {round(s.path.start[1]): s.width_mm for s in drawing.layers[0].shapes}
    assert widths == {0: 2, 10: 3, 20: 0, 30: 4}


@pytest.mark.parametrize("closed", [False, True])
def test_splines_given_by_the_points_they_run_through(closed):
    points = [(0, 0), (30, 10), (50, 40), (10, 30)]

    def make(_, space):
        space.add_spline(points).closed = closed

    drawing = read(make)
    [shape] = drawing.layers[0].shapes
    path = shape.area.outline if closed else shape.path
    near = flatten(path, 0.001)
    curve = fit_points_to_cad_cv([*points, points[0]] if closed else points)
    for point in curve.flattening(0.01):
        assert min(math.dist(point.vec2, place) for place in near) < 2.0
    for point in points:
        assert min(math.dist(point, place) for place in near) < 1e-3 + max(
            math.dist(a, b) for a, b in itertools.pairwise(near)
        )


@pytest.mark.parametrize(
    ("make", "code", "severity"),
    [
        (lambda _, s: s.add_linear_dim((0, 20), (0, 0), (50, 0)).render(), "annotation-left-out", "note"),
        (lambda _, s: s.add_leader([(0, 0), (10, 10)]), "annotation-left-out", "note"),
        (lambda _, s: s.add_wipeout([(0, 0), (10, 10)]), "annotation-left-out", "note"),
        (lambda _, s: s.add_xline((0, 0), (1, 0)), "annotation-left-out", "note"),
        (lambda d, _: d.layout("Layout1").add_line((0, 0), (1, 1)), "paper-space-left-out", "note"),
        (lambda d, s: (d.add_xref_def("a.dxf", "X"), s.add_blockref("X", (0, 0))), "block-external", "error"),
        (lambda _, s: s.add_blockref("gone", (0, 0)), "block-missing", "error"),
        (lambda _, s: s.add_helix(5, 2, 3), "entity-unsupported", "error"),
        (lambda _, s: s.add_polyline3d([(0, 0, 5), (50, 0, 15)]), "not-flat", "error"),
        (lambda _, s: s.add_polymesh((3, 3)), "not-flat", "error"),
        (lambda _, s: s.add_circle((0, 0), 20, dxfattribs={"extrusion": (0, 1, 1)}), "not-flat", "error"),
        (lambda _, s: s.add_circle((0, 0), 0), "no-radius", "warning"),
        (lambda _, s: s.add_arc((0, 0), 5, 90, 90), "arc-empty", "warning"),
        (lambda d, s: (d.layers.add("L").freeze(), s.add_point((1, 1), dxfattribs={"layer": "L"})),
         "layer-hidden", "note"),
    ],
)  # fmt: skip
def test_what_is_left_out_is_named_by_kind(make, code, severity):
    def with_a_line(document, space):
        space.add_line((0, 0), (50, 0))
        make(document, space)

    drawing = read(with_a_line)
    [found] = [p for p in drawing.problems if p.code == code]
    assert found.severity == severity
    assert found.mend
    assert ("line", (0, 0, 50, 0), 50.0) in shapes(drawing)


# bytes ----------------------------------------------------------------------------------------

LINE = "0\nLINE\n8\nzone a\n10\n0\n20\n0\n11\n50\n21\n0\n"


def entities(*parts, header=""):
    return f"{header}0\nSECTION\n2\nENTITIES\n{''.join(parts)}0\nENDSEC\n0\nEOF\n".encode()


R12 = "0\nSECTION\n2\nHEADER\n9\n$ACADVER\n1\nAC1009\n0\nENDSEC\n"
BARE = (
    "0\nLWPOLYLINE\n8\nzone a\n62\n1\n90\n3\n70\n1\n10\n0\n20\n0\n42\n1\n10\n50\n20\n0\n10\n50\n20\n50\n",
    "0\nELLIPSE\n8\nzone b\n10\n200\n20\n0\n30\n0\n11\n30\n21\n0\n31\n0\n40\n0.5\n41\n0\n42\n6.283185307179586\n",
    "0\nSPLINE\n8\nrow c\n70\n8\n71\n1\n72\n4\n73\n2\n40\n0\n40\n0\n40\n1\n40\n1\n10\n0\n20\n0\n30\n0\n10\n9\n20\n9\n30\n0\n",
)


@pytest.mark.parametrize("header", ["", R12, R12.replace("AC1009", "AC1015")])
@pytest.mark.parametrize("ending", ["\n", "\r\n"])
def test_entities_without_their_subclass_marks_are_read_and_told(header, ending):
    data = entities(*BARE, LINE.replace("zone a", "row d"), header=header)
    drawing = read_drawing(data.replace(b"\n", ending.encode()), "bare.dxf", unit="mm")
    assert not has_errors(drawing.problems), drawing.problems
    assert "dxf-unmarked" in codes(drawing)
    assert shapes(drawing) == [
        ("area", (0, -25, 50, 50), round(1250 + math.pi * 25**2 / 2, 1)),
        ("area", (170, -15, 230, 15), round(math.pi * 30 * 15, 1)),
        ("line", (0, 0, 9, 9), 12.7),
        ("line", (0, 0, 50, 0), 50.0),
    ]
    assert [layer.name for layer in drawing.layers] == ["zone a", "zone b", "row c", "row d"]


@pytest.mark.parametrize(
    "data",
    [
        entities(LINE),
        entities(LINE, header="999\nmade by hand\n"),
        entities(LINE).replace(b"\n", b"\r\n"),
        b"  " + entities(LINE).replace(b"\n0\n", b"\n  0\n"),
        entities(LINE.replace("\n50\n", "\n 5.0E1 \n")),
        entities(LINE.replace("8\nzone a\n", "")),
        entities(LINE, header=R12),
    ],
)
def test_files_of_a_few_lines(data):
    drawing = read_drawing(data, "made.dxf")
    assert not has_errors(drawing.problems), drawing.problems
    assert shapes(drawing) == [("line", (0, 0, 50, 0), 50.0)]


@pytest.mark.parametrize("version", ["R12", "R2000", "R2004", "R2007", "R2018"])
@pytest.mark.parametrize("raw", [False, True])
def test_names_in_windows_letters_whatever_the_version_asks_for(version, raw):
    document = ezdxf.new(version)
    document.layers.add("zone Größe")
    document.modelspace().add_circle((0, 0), 20, dxfattribs={"layer": "zone Größe"})
    data = as_bytes(document)
    if raw:
        for letter in "öß":
            data = data.replace(letter.encode(), letter.encode("cp1252"))
            data = data.replace(f"\\U+{ord(letter):04X}".encode(), letter.encode("cp1252"))
    drawing = read_drawing(data, "made.dxf", unit="mm")
    assert [layer.name for layer in drawing.layers] == ["zone Größe"]
    for found in drawing.problems:
        found.message.encode()  # no half letters that cannot be printed


@pytest.mark.parametrize(
    ("number", "mm"),
    [(1, 25.4), (2, 304.8), (4, 1.0), (5, 10.0), (6, 1000.0), (9, 0.0254), (14, 100.0)],
)
def test_units_by_the_header(number, mm):
    def make(document, space):
        document.header["$INSUNITS"] = number
        space.add_line((0, 0), (50, 0))

    drawing = read(make)
    assert path_length(drawing.layers[0].shapes[0].path) == pytest.approx(50 * mm)
    assert "unit-assumed" not in codes(drawing)


@pytest.mark.parametrize("number", [None, 0, 3, 20])
def test_no_unit_or_none_of_use_is_told_with_the_size(number):
    def make(document, space):
        del document.header["$MEASUREMENT"]
        if number is None:
            del document.header["$INSUNITS"]
        else:
            document.header["$INSUNITS"] = number
        space.add_line((0, 0), (50, 0))

    drawing = read(make)
    [found] = [p for p in drawing.problems if p.code == "unit-assumed"]
    assert "50.0 × 0.0 mm" in found.message
    assert "inches" not in found.message


@pytest.mark.parametrize(("name", "value"), [("$LUNITS", 4), ("$LUNITS", 3), ("$MEASUREMENT", 0)])
def test_a_header_that_counts_in_inches_without_naming_them_gives_a_hint(name, value):
    def make(document, space):
        document.header["$INSUNITS"] = 0
        document.header[name] = value
        space.add_line((0, 0), (50, 0))

    [found] = [p for p in read(make).problems if p.code == "unit-assumed"]
    assert "in inches it would be 1270.0 × 0.0 mm" in found.message
    assert found.severity is Severity.WARNING
