"""Bulges against the published definition.

Source: the CAD vendor's DXF reference, LWPOLYLINE, group code 42: the bulge is the tangent of one
fourth of the included angle of an arc segment, negative if the arc goes clockwise from start to
end; 0 is a straight segment, 1 a half circle. $INSUNITS: 1 inches, 2 feet, 4 mm, 5 cm, 6 m.
"""

import io
import math

import ezdxf
import pytest

from templater.geometry.flatten import arc_centre
from templater.geometry.measure import path_length, signed_path_area
from templater.model.curves import Arc
from templater.reading.dxf import read_dxf


def read(document):
    stream = io.StringIO()
    document.write(stream)
    return read_dxf(stream.getvalue().encode(), "made.dxf")


@pytest.mark.parametrize("angle_deg", [1, 30, 45, 90, 120, 180, 270, 350])
@pytest.mark.parametrize("clockwise", [False, True])
def test_bulge_is_the_tangent_of_a_quarter_of_the_angle(angle_deg, clockwise):
    bulge = math.tan(math.radians(angle_deg) / 4.0) * (-1 if clockwise else 1)
    document = ezdxf.new("R2010", units=4)
    document.modelspace().add_lwpolyline([(0, 0, bulge), (20, 0, 0)], format="xyb")
    [layer] = read(document).layers
    [shape] = layer.shapes
    [arc] = shape.path.segments
    assert isinstance(arc, Arc)
    assert arc.bulge == bulge
    _, radius, sweep = arc_centre(arc)
    # chord of an arc: 2·r·sin(angle/2); its length: r·angle
    assert radius == pytest.approx(20.0 / (2.0 * math.sin(math.radians(angle_deg) / 2.0)))
    assert math.degrees(abs(sweep)) == pytest.approx(angle_deg)
    assert (sweep < 0) is clockwise
    assert path_length(shape.path) == pytest.approx(radius * math.radians(angle_deg))


@pytest.mark.parametrize("angle_deg", [10, 90, 180])
def test_an_arc_entity_has_the_same_bulge(angle_deg):
    document = ezdxf.new("R2010", units=4)
    document.modelspace().add_arc((5, 5), 40, 30, 30 + angle_deg)
    [arc] = read(document).layers[0].shapes[0].path.segments
    assert arc.bulge == pytest.approx(math.tan(math.radians(angle_deg) / 4.0), rel=1e-14)


def test_two_half_circles_enclose_pi_r_squared():
    document = ezdxf.new("R2010", units=4)
    document.modelspace().add_lwpolyline([(0, 0, 1), (20, 0, 1)], format="xyb", close=True)
    [shape] = read(document).layers[0].shapes
    assert signed_path_area(shape.area.outline) == pytest.approx(math.pi * 100.0)


@pytest.mark.parametrize(
    ("number", "mm"), [(1, 25.4), (2, 304.8), (4, 1.0), (5, 10.0), (6, 1000.0)]
)
def test_header_units(number, mm):
    document = ezdxf.new("R2010", units=number)
    document.modelspace().add_line((0, 0), (3, 4))
    [shape] = read(document).layers[0].shapes
    assert path_length(shape.path) == pytest.approx(5.0 * mm, rel=1e-12)
