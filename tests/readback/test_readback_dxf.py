"""A written DXF back to facts: one file written by hand, the others by the library alone."""

from __future__ import annotations

import io
import itertools
import math

import ezdxf
import pytest

from templater.readback.dxf import read_dxf
from templater.readback.faults import Unreadable

# Group codes and values in turn, as the DXF reference lists them.
BY_HAND = """
0 SECTION 2 HEADER 9 $ACADVER 1 AC1009 0 ENDSEC
0 SECTION 2 ENTITIES
0 CIRCLE 8 HOLES 10 10.5 20 20.25 40 2.1
0 LINE 8 BARS 10 5.0 20 5.0 11 155.0 21 5.0
0 POLYLINE 8 CUT 66 1 70 1
0 VERTEX 8 CUT 10 0.0 20 0.0 42 1.0
0 VERTEX 8 CUT 10 4.0 20 0.0 42 1.0
0 SEQEND
0 TEXT 8 NOTE 10 1.0 20 2.0 40 3.5 1 frond_left
0 ENDSEC 0 EOF
"""
OLDEST = ("\n".join(BY_HAND.split()) + "\n").encode()


def test_a_file_written_by_hand_in_the_oldest_version() -> None:
    sheet = read_dxf(OLDEST, "stencils/a.dxf")
    hole, outline = sheet.circles
    assert hole == (10.5, 20.25, 4.2, "HOLES")
    # two half circles with bulge 1 make a whole one (DXF reference, group 42)
    assert outline.layer == "CUT"
    assert math.dist(outline[:3], (2.0, 0.0, 4.0)) < 0.003
    assert sheet.paths[0].points == ((5.0, 5.0), (155.0, 5.0))
    assert sheet.texts[0] == ("frond_left", (1.0, 2.0), 3.5, "NOTE", False)
    assert sheet.size_mm[0] == 155.0


def made(draw, units=4, version="R2010") -> bytes:
    document = ezdxf.new(version, units=units)
    draw(document.modelspace(), document)
    stream = io.StringIO()
    document.write(stream)
    return stream.getvalue().encode()


def test_other_units_come_out_in_mm() -> None:
    sheet = read_dxf(made(lambda m, _: m.add_circle((1, 2), 0.5), units=1), "a.dxf")
    assert sheet.circles[0][:3] == (25.4, 50.8, 25.4)


def test_curves_lie_on_their_true_lines() -> None:
    def draw(space, _):
        space.add_arc((0, 0), 500, 0, 90)
        space.add_lwpolyline([(0, 0, 0.5), (10, 0, 0)], format="xyb")
        space.add_open_spline([(0, 0), (1, 2), (3, 2), (4, 0)])

    arc, bulge, spline = read_dxf(made(draw), "a.dxf").paths
    assert all(abs(math.hypot(*p) - 500.0) < 1e-9 for p in arc.points)
    chords = itertools.pairwise(arc.points)
    middles = [((a[0] + b[0]) / 2, (a[1] + b[1]) / 2) for a, b in chords]
    assert max(500.0 - math.hypot(*m) for m in middles) < 0.005
    # bulge = tan(angle/4) = height / half chord: 0.5 · 5 = 2.5 below a line running right
    assert min(y for _, y in bulge.points) == pytest.approx(-2.5, abs=0.005)
    assert bulge.points[-1] == (10.0, 0.0)
    assert len(spline.points) > 8


def test_a_block_passes_its_layer_on_to_what_lies_on_layer_0() -> None:
    def draw(space, document):
        block = document.blocks.new("HOLE")
        block.add_circle((0, 0), 1)
        block.add_circle((0, 0), 2, dxfattribs={"layer": "RING"})
        space.add_blockref("HOLE", (7, 8), dxfattribs={"layer": "HOLES", "xscale": -1})

    sheet = read_dxf(made(draw), "a.dxf")
    assert sheet.circles[0] == (7.0, 8.0, 2.0, "HOLES")
    assert sheet.circles[1] == (7.0, 8.0, 4.0, "RING")


def test_a_text_mirrored_by_its_flag_is_known() -> None:
    def draw(space, _):
        space.add_text("back", height=3, dxfattribs={"text_generation_flag": 2})
        space.add_text("mid", height=3).set_placement(
            (5, 6), align=ezdxf.enums.TextEntityAlignment.MIDDLE_CENTER
        )

    back, middle = read_dxf(made(draw), "a.dxf").texts
    assert back.mirrored
    assert not middle.mirrored
    assert middle.at == (5.0, 6.0)


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "no proper DXF"),
        (b"<svg/>", "no proper DXF"),
        (OLDEST[:150], "no proper DXF"),
        (made(lambda m, _: m.add_circle((0, 0), 1), units=0), "unit"),
        (made(lambda m, _: m.add_circle((0, 0), float("nan"))), "radius"),
        (made(lambda m, _: m.add_mtext("x")), "MTEXT"),
    ],
)
def test_what_cannot_be_trusted_is_refused(data: bytes, says: str) -> None:
    with pytest.raises(Unreadable, match=says):
        read_dxf(data, "a.dxf")
