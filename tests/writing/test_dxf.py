"""DXF sheets, read again by ezdxf."""

import io

import ezdxf
import pytest
from shapely import LineString
from writing_samples import LEAF, line, sheet, small_sheet

from templater.geometry.flatten import flatten
from templater.geometry.polygons import circle, rectangle
from templater.model.curves import Arc, Area, Cubic, Line, Path
from templater.model.sheets import Anchor, Circle, Fill, Lettering, Pen, SheetLayer, Stroke
from templater.writing import dxf_bytes


def read(data, encoding="utf-8"):
    document = ezdxf.read(io.StringIO(data.decode(encoding)))
    auditor = document.audit()
    assert not auditor.errors
    assert not auditor.fixes
    return document


def written(*items, **more):
    return read(dxf_bytes(sheet(SheetLayer("cut", items), **more)))


@pytest.mark.parametrize("version", ["R2010", "R12"])
def test_it_is_clean_and_the_same_twice(version):
    data = dxf_bytes(small_sheet(), version)
    assert data == dxf_bytes(small_sheet(), version)
    document = read(data, {"R2010": "utf-8", "R12": "cp1252"}[version])
    assert document.dxfversion == {"R2010": "AC1024", "R12": "AC1009"}[version]


def test_nothing_of_this_moment_stands_in_it():
    lines = dxf_bytes(small_sheet()).decode().splitlines()
    dates = [lines[i + 2].strip() for i, text in enumerate(lines) if text.startswith("$TD")]
    assert set(dates) == {"2451545.0", "0.0"}  # 1 January 2000, and no time spent editing


def test_classes_stand_in_an_order_that_no_hash_seed_changes():
    """ezdxf keeps them as a set; written as they come, one pack in four differed."""
    lines = dxf_bytes(small_sheet()).decode().splitlines()
    names = [lines[i + 3] for i, text in enumerate(lines) if text == "CLASS"]
    assert len(names) > 5
    assert names == sorted(names)


def test_layers_bear_their_names_and_line_types():
    document = read(
        dxf_bytes(
            sheet(
                SheetLayer("holes ss16, left/1", (Circle(1, 2, 3, Pen.HOLE),)),
                SheetLayer("Größe", (Stroke(line((0, 0), (5, 5)), Pen.FOLD),)),
            )
        )
    )
    names = [layer.dxf.name for layer in document.layers]
    assert "holes ss16_ left_1" in names
    fold = document.layers.get("Größe")
    assert fold.dxf.linetype == "CHAIN"
    assert fold.dxf.lineweight == 25
    pattern = document.linetypes.get("CHAIN").pattern_tags
    lengths = [tag.value for tag in pattern.tags if tag.code == 49]
    assert lengths == pytest.approx([6.0, -0.75, 0.25, -0.75])


def test_a_pen_that_differs_from_its_layer_says_so_itself():
    space = written(
        Stroke(line((0, 0), (5, 0)), Pen.MARK), Stroke(line((0, 1), (5, 1)), Pen.SEAM)
    ).modelspace()
    first, second = space.query("LINE")
    assert first.dxf.linetype == "BYLAYER"
    assert second.dxf.linetype == "DASHED"


def test_outlines_of_lines_and_arcs_keep_their_bulges():
    outline = Path(
        (Line((0, 0), (10, 0)), Arc((10, 0), (10, 10), 1.0), Line((10, 10), (0, 0))), True
    )
    (entity,) = written(Stroke(outline, Pen.CUT)).modelspace()
    assert entity.dxftype() == "LWPOLYLINE"
    assert entity.closed
    assert [tuple(p) for p in entity.get_points("xyb")] == [(0, 0, 0), (10, 0, 1), (10, 10, 0)]


def test_a_single_arc_is_a_true_arc():
    """DXF arcs run anticlockwise: a clockwise one changes its ends."""
    both = (
        Stroke(Path((Arc((10, 0), (0, 10), 0.41421356237309503),), closed=False), Pen.MARK),
        Stroke(Path((Arc((0, 10), (10, 0), -0.41421356237309503),), closed=False), Pen.MARK),
    )
    for entity in written(*both).modelspace():
        assert entity.dxftype() == "ARC"
        assert (entity.dxf.center.x, entity.dxf.center.y) == pytest.approx((0.0, 0.0), abs=1e-9)
        assert entity.dxf.radius == pytest.approx(10.0)
        assert (entity.dxf.start_angle, entity.dxf.end_angle) == pytest.approx(
            (0.0, 90.0), abs=1e-7
        )


@pytest.mark.parametrize("closed", [True, False])
def test_a_path_with_curves_is_one_spline_along_the_very_same_curve(closed):
    path = LEAF if closed else Path(LEAF.segments[:2], closed=False)
    (entity,) = written(Stroke(path, Pen.CUT)).modelspace()
    assert entity.dxftype() == "SPLINE"
    assert entity.dxf.degree == 3
    assert entity.closed == closed
    found = LineString([(p.x, p.y) for p in entity.flattening(0.0005)])
    truth = [*flatten(path, 0.0005), path.end]
    assert found.hausdorff_distance(LineString(truth)) < 0.002
    assert tuple(found.coords[0]) == pytest.approx(path.start)
    assert tuple(found.coords[-1]) == pytest.approx(path.end)


def test_a_spline_keeps_its_sharp_corners():
    corner = Path(
        (Cubic((0, 0), (5, 9), (9, 9), (20, 30)), Cubic((20, 30), (21, 9), (30, 4), (40, 0))), False
    )
    (entity,) = written(Stroke(corner, Pen.CUT)).modelspace()
    points = [(p.x, p.y) for p in entity.flattening(0.001)]
    assert min(abs(x - 20) + abs(y - 30) for x, y in points) < 1e-9


def test_r12_has_only_what_r12_knows():
    layers = (
        SheetLayer("cut", (Stroke(LEAF, Pen.CUT), Stroke(rectangle(1, 1, 9, 9), Pen.SEAM))),
        SheetLayer("holes", (Circle(5, 5, 4.3, Pen.HOLE),)),
    )
    document = read(dxf_bytes(sheet(*layers), "R12"))
    kinds = [entity.dxftype() for entity in document.modelspace()]
    assert kinds == ["CIRCLE", "POLYLINE", "POLYLINE"]  # in cutting order
    leaf = document.modelspace()[2]
    assert leaf.is_closed
    points = [(v.dxf.location.x, v.dxf.location.y) for v in leaf.vertices]
    truth = LineString([*flatten(LEAF, 0.0005), LEAF.end])
    assert LineString([*points, points[0]]).hausdorff_distance(truth) < 0.006


def test_text_is_text_with_its_height_anchor_and_turn():
    (entity,) = written(Lettering("Größe", (20, 30), 3.5, 45.0, Anchor.MIDDLE)).modelspace()
    assert entity.dxf.text == "Größe"
    assert entity.dxf.height == 3.5
    assert entity.dxf.rotation == 45.0
    alignment, at, _ = entity.get_placement()
    assert alignment.name == "CENTER"
    assert (at.x, at.y) == (20, 30)
    assert entity.dxf.text_generation_flag == 0
    (mirrored,) = written(Lettering("x", (0, 0), 3.5, mirrored=True)).modelspace()
    assert mirrored.dxf.text_generation_flag == 2  # backwards: DXF reference, TEXT, group 71


def test_percent_signs_are_no_control_codes():
    (entity,) = written(Lettering("100 % or 50 %%d", (0, 0), 3.5)).modelspace()
    assert entity.plain_text() == "100 % or 50 % %d"


def test_a_fill_is_a_solid_hatch_with_its_holes():
    area = Area(rectangle(0, 0, 10, 10), (circle((5, 5), 4),))
    (hatch,) = written(Fill(area, "#2e8b57")).modelspace()
    assert hatch.dxf.solid_fill == 1
    assert hatch.rgb == (0x2E, 0x8B, 0x57)
    assert len(hatch.paths) == 2


def test_two_half_arcs_stay_a_circle():
    (entity,) = written(Stroke(circle((30, 40), 20), Pen.CUT)).modelspace()
    for arc in entity.virtual_entities():
        assert (arc.dxf.center.x, arc.dxf.center.y) == pytest.approx((30, 40))
        assert arc.dxf.radius == pytest.approx(10)


def test_other_versions_are_refused():
    with pytest.raises(ValueError, match="R2010 or R12"):
        dxf_bytes(small_sheet(), "R2000")


def test_the_limits_say_how_large_the_sheet_is():
    header = written(Stroke(line((0, 0), (5, 0)), Pen.CUT), size_mm=(210.0, 297.0)).header
    assert tuple(header["$LIMMAX"])[:2] == (210.0, 297.0)
    assert tuple(header["$EXTMAX"])[:2] == (210.0, 297.0)
