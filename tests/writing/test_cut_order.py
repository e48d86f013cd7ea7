"""Document order is the order of work, in every format that a machine may follow."""

import io
import re

import ezdxf
import pytest
from lxml import etree
from writing_samples import line, sheet

from templater.geometry.polygons import circle, rectangle
from templater.model.sheets import Circle, Lettering, Pen, SheetLayer, Stroke
from templater.writing.cut_order import in_cut_order
from templater.writing.dxf import dxf_bytes
from templater.writing.hpgl import hpgl_bytes
from templater.writing.machine_work import machine_work
from templater.writing.svg import svg_bytes

OUTER, PART, HOLE_OF_PART = (
    rectangle(0, 0, 180, 120),
    rectangle(10, 10, 90, 90),
    circle((50, 50), 30),
)
TOUR = tuple(Circle(x, y, 4.3, Pen.HOLE) for x, y in ((100, 100), (20, 20), (100, 20), (120, 30)))


def mixed():
    """Everything in the worst order."""
    return sheet(
        SheetLayer(
            "cut",
            (
                Stroke(OUTER, Pen.CUT),
                Stroke(PART, Pen.CUT),
                Stroke(HOLE_OF_PART, Pen.CUT),
                Stroke(line((1, 1), (2, 2)), Pen.MARK),
            ),
        ),
        SheetLayer("holes", TOUR),
        SheetLayer("register", (Circle(8, 8, 4.0, Pen.REGISTER),)),
        SheetLayer("text", (Lettering("hem", (5, 2), 2.5),)),
    )


def test_drawn_layers_then_holes_then_outlines():
    ordered = in_cut_order(mixed())
    assert [layer.name for layer in ordered.layers] == ["register", "text", "holes", "cut"]
    assert ordered.layers[2].items == TOUR  # the tour is kept as it was laid
    assert [item.path for item in ordered.layers[3].items] == [
        line((1, 1), (2, 2)), HOLE_OF_PART, PART, OUTER,
    ]  # fmt: skip


def test_putting_in_order_twice_changes_nothing():
    once = in_cut_order(mixed())
    assert in_cut_order(once) == once


def test_nothing_is_lost_or_added():
    def items(one):
        return sorted(repr(item) for layer in one.layers for item in layer.items)

    assert items(in_cut_order(mixed())) == items(mixed())


def test_svg_elements_stand_in_cutting_order():
    root = etree.fromstring(svg_bytes(mixed()))
    shapes = [
        (node.getparent().getparent().get("data-name"), etree.QName(node).localname)
        for node in root.iter("{*}circle", "{*}path")
    ]
    assert [layer for layer, _ in shapes] == ["register", *["holes"] * 4, *["cut"] * 4]
    centres = [(float(n.get("cx")), 120 - float(n.get("cy"))) for n in root.iter("{*}circle")]
    assert centres[1:] == [hole[:2] for hole in TOUR]
    starts = [n.get("d").split()[1:3] for n in root.iter("{*}path")]
    assert starts[1:] == [["65", "70"], ["10", "110"], ["0", "120"]]


@pytest.mark.parametrize("version", ["R2010", "R12"])
def test_dxf_entities_stand_in_cutting_order(version):
    document = ezdxf.read(io.StringIO(dxf_bytes(mixed(), version).decode()))
    space = [e for e in document.modelspace() if e.dxftype() != "TEXT"]
    assert [e.dxf.layer for e in space] == ["register", *["holes"] * 4, *["cut"] * 4]
    holes = [(e.dxf.center.x, e.dxf.center.y) for e in space[1:5]]
    assert holes == [hole[:2] for hole in TOUR]
    starts = [next(e.virtual_entities()).dxf for e in space[6:]]
    assert [(round(d.start.x), round(d.start.y)) for d in starts[1:]] == [(10, 10), (0, 0)]


def test_plotters_follow_the_same_order():
    pens = re.findall(r"SP(\d);", hpgl_bytes(mixed()).decode("ascii"))
    assert pens == ["3", "1", "2", "0"]
    work = machine_work(mixed())
    assert work.holes == TOUR
    assert work.outlines == (HOLE_OF_PART, PART, OUTER)
    assert len(work.marks) == 2
