"""True size, measured on pictures by other people's renderers, and on DXF by its own reader."""

import io
import math

import ezdxf
import pytest
from writing_samples import (
    CENTRES,
    CSS_PX_PER_MM,
    bar_sheet,
    centre_mm,
    extent_mm,
    pdf_ink,
    svg_ink,
)

from templater.writing import dxf_bytes, pdf_bytes, svg_bytes

PX = {"svg": 4 * CSS_PX_PER_MM, "pdf": 16.0}
"""At which each renderer makes whole pixels of the sheet, and so keeps the scale exactly."""


@pytest.fixture(scope="module")
def pictures():
    sheet = bar_sheet()
    return {
        "svg": svg_ink(svg_bytes(sheet), PX["svg"]),
        "pdf": pdf_ink(pdf_bytes([sheet], "bars"), 0, PX["pdf"]),
    }


@pytest.fixture(scope="module")
def drawing():
    return ezdxf.read(io.StringIO(dxf_bytes(bar_sheet()).decode()))


@pytest.mark.parametrize("kind", ["svg", "pdf"])
def test_a_bar_of_150_mm_measures_150_mm(pictures, kind):
    picture, px = pictures[kind], PX[kind]
    along = picture[int(169.5 * px) : int(170.5 * px), int(12 * px) :]
    start, end = extent_mm(along, 1, px)
    assert end - start == pytest.approx(150.0, abs=0.05)
    up = picture[: int(168 * px), int(9.5 * px) : int(10.5 * px)]
    start, end = extent_mm(up, 0, px)
    assert end - start == pytest.approx(150.0, abs=0.05)


@pytest.mark.parametrize("kind", ["svg", "pdf"])
@pytest.mark.parametrize(("x", "y", "diameter"), CENTRES)
def test_a_hole_lies_where_it_should(pictures, kind, x, y, diameter):
    picture, px = pictures[kind], PX[kind]
    found = centre_mm(picture, x, y, diameter / 2.0 + 1.0, px, 180.0)
    assert math.dist(found, (x, y)) < 0.02


@pytest.mark.parametrize("kind", ["svg", "pdf"])
@pytest.mark.parametrize(("x", "y", "diameter"), CENTRES)
def test_a_hole_is_as_wide_as_it_should_be(pictures, kind, x, y, diameter):
    picture, px = pictures[kind], PX[kind]
    reach = diameter / 2.0 + 1.0
    rows = slice(int((180.0 - y - 0.1) * px), int((180.0 - y + 0.1) * px) + 1)
    columns = slice(int((x - reach) * px), int((x + reach) * px))
    start, end = extent_mm(picture[rows, columns], 1, px)
    assert end - start == pytest.approx(diameter + 0.25, abs=0.08)  # outside of its 0.25 mm line


def test_dxf_says_mm_and_holds_true_circles(drawing):
    assert drawing.header["$INSUNITS"] == 4  # mm: DXF reference, header variables
    assert drawing.header["$MEASUREMENT"] == 1
    circles = drawing.modelspace().query("CIRCLE")
    found = [(c.dxf.center.x, c.dxf.center.y, 2.0 * c.dxf.radius) for c in circles]
    assert found == [pytest.approx(circle, abs=1e-9) for circle in CENTRES]
    lengths = [
        (line.dxf.end - line.dxf.start).magnitude for line in drawing.modelspace().query("LINE")
    ]
    assert lengths == pytest.approx([150.0, 150.0], abs=1e-9)
