"""Machine files as other programs write them are read; what would mislead a check is refused."""

from __future__ import annotations

import math

import pytest

from templater.readback.drill import read_drill
from templater.readback.faults import Unreadable
from templater.readback.gcode import read_gcode
from templater.readback.hpgl import read_hpgl


def circles(facts):
    return [tuple(round(v, 6) for v in c[:3]) for c in facts.circles]


def test_hpgl_by_the_language_not_by_one_writer() -> None:
    """Commands without semicolons, spaces for commas, relative places, CI with the pen down."""
    text = "IN SP2PU400 800PD;PA 1200,800 1200,1600PU;PR-400,-400CI-80,10;PD40,0;PA;SP;"
    facts = read_hpgl(text.encode(), "x.hpgl")
    assert circles(facts) == [(20.0, 30.0, 4.0)]
    assert [path.points for path in facts.paths] == [
        ((10.0, 20.0), (30.0, 20.0), (30.0, 40.0)),
        ((20.0, 30.0), (21.0, 30.0)),
    ]
    assert {path.layer for path in facts.paths} == {"pen 2"}
    assert facts.bare
    assert facts.step_mm == 0.025


def test_hpgl_pens_are_layers_and_closed_lines_are_closed() -> None:
    text = b"IN;SP1;PU0,0;CI40;SP2;PU0,0;PD400,0,400,400;PD0,400,0,0;PU;SP0;"
    facts = read_hpgl(text, "x.hpgl")
    assert [c.layer for c in facts.circles] == ["pen 1"]
    (path,) = facts.paths
    assert path.closed
    assert path.points == ((0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0))
    assert facts.size_mm == (10.0, 10.0)


@pytest.mark.parametrize(
    "text",
    ["IN;SC0,100,0,100;", "IN;RO90;", "IN;LBhem\x03", "IN;PU1;", "IN;CI;", "IN;CI0;", "hello", "é", "IN;PU1.2.3,x;"],
)  # fmt: skip
def test_hpgl_that_cannot_be_trusted_is_refused(text) -> None:
    with pytest.raises(Unreadable):
        read_hpgl(text.encode(), "x.hpgl")


def test_drill_tables_in_mm_and_in_inches() -> None:
    mm = "M48\n; words\nFMAT,2\nMETRIC,TZ\nT1C4.3\nT02F00S00C3.5\n%\nG90\nG05\nT1\nX10.5Y20.25\nX11.\nY5.0\nT02\nX1.0Y1.0\nT0\nM30\n"
    assert circles(read_drill(mm.encode(), "x.drl")) == [
        (10.5, 20.25, 4.3), (11.0, 20.25, 4.3), (11.0, 5.0, 4.3), (1.0, 1.0, 3.5),
    ]  # fmt: skip
    inch = "M48\nINCH,LZ\nT1C0.1\n%\nT1\nX1.0Y2.0\nM30\n"
    assert circles(read_drill(inch.encode(), "x.drl")) == [(25.4, 50.8, 2.54)]


@pytest.mark.parametrize(
    "text",
    [
        "M48\nMETRIC\nT1C4.3\n%\nT1\nX105000Y2025\nM30\n",  # where is the point?
        "M48\nMETRIC\nT1C4.3\n%\nT2\nX1.0Y1.0\nM30\n",
        "M48\nMETRIC\nT1C4.3\n%\nX1.0Y1.0\nM30\n",
        "M48\nT1C4.3\n%\nT1\nX1.0Y1.0\nM30\n",
        "M48\nMETRIC\nT1C4.3\n%\nT1\nX1.0Y1.0\n",  # cut off
        "M48\nMETRIC\nT1C4.3\n%\nT1\nX1.0Y1.0G85X2.0Y1.0\nM30\n",
        "M48\nMETRIC\nT1C4.3\n%\nT1\nX1.0.0Y1.0\nM30\n",
        "G21\n",
        "",
    ],
)
def test_drill_tables_that_cannot_be_trusted_are_refused(text) -> None:
    with pytest.raises(Unreadable):
        read_drill(text.encode(), "x.drl")


def test_gcode_of_other_makers() -> None:
    """Words without spaces, modes that hold, a whole circle in one word, feeds and tools besides."""
    text = """%
O1 (a name)
N10 G90 G21 G17
N20 M3 S12000
G00X10Y0Z5
G01Z-1F300
X20
Y10 ; up
G0 X32 Y30
M3
G2 I-2 J0
M5
M30
%
"""
    with pytest.raises(Unreadable, match="O1"):
        read_gcode(text.replace("O1 (a name)", "O1 (a name) #2").encode(), "x.gcode")
    facts = read_gcode(text.encode(), "x.gcode")
    assert circles(facts)[0] == pytest.approx((30.0, 30.0, 4.0), abs=1e-9)
    assert [path.points for path in facts.paths] == [((10.0, 0.0), (20.0, 0.0), (20.0, 10.0))]


@pytest.mark.parametrize(("word", "sign"), [("G3", 1.0), ("G2", -1.0)])
def test_gcode_arcs_turn_their_way(word, sign) -> None:
    """A quarter or three, by the way it turns: from (10, 0) to (0, 10) round the origin."""
    text = f"G21 G90\nG0 X10 Y0\n{word} X0 Y10 I-10 J0\n"
    (path,) = read_gcode(text.encode(), "x.gcode").paths
    middle = path.points[len(path.points) // 2]
    assert math.dist(middle, (sign * math.sqrt(50), sign * math.sqrt(50))) < 0.2
    assert all(abs(math.hypot(*p) - 10.0) < 1e-9 for p in path.points)


def test_gcode_in_inches() -> None:
    text = b"G20 G90\nG0 X1 Y1\nG1 X2 Y1\n"
    assert read_gcode(text, "x.gcode").paths[0].points == ((25.4, 25.4), (50.8, 25.4))


@pytest.mark.parametrize(
    "text",
    [
        "G21 G91\nG0 X1 Y1\n",
        "G21 G18\nG0 X1\n",
        "G0 X1 Y1\n",
        "G21\nG0 X10 Y0\nG2 X0 Y10 R10\n",
        "G21\nG0 X10 Y0\nG2 X0 Y10\n",
        "G21\nG0 X10 Y0\nG2 X0 Y11 I-10\n",
        "G21\nG28 X0\n",
        "G21\nG0 X1 #3\n",
        "é",
    ],
)
def test_gcode_that_cannot_be_trusted_is_refused(text) -> None:
    with pytest.raises(Unreadable):
        read_gcode(text.encode(), "x.gcode")
