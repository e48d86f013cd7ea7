"""SVG sheets: what a person and a cutting program find in the file."""

import math
from pathlib import Path as FilePath

import numpy as np
import pytest
from lxml import etree
from writing_samples import CSS_PX_PER_MM, LEAF, line, sheet, small_sheet, svg_ink

from templater.geometry.polygons import circle
from templater.lettering import text_width_mm
from templater.model.curves import Arc, Path
from templater.model.sheets import Anchor, Circle, Lettering, Pen, SheetLayer, Stroke
from templater.writing import svg_bytes

PX = 5 * CSS_PX_PER_MM
GOLDEN = FilePath(__file__).with_name("golden") / "small.svg"
SVG = "{http://www.w3.org/2000/svg}"


def root_of(*layers, **more):
    return etree.fromstring(svg_bytes(sheet(*layers, **more)))


def test_the_small_sheet_is_written_as_the_file_kept_beside_this_test():
    assert svg_bytes(small_sheet()).decode() == GOLDEN.read_text(encoding="utf-8")


def test_size_is_in_mm_and_one_unit_is_one_mm():
    root = root_of(size_mm=(123.45678, 60.0))
    assert root.get("width") == "123.4568mm"
    assert root.get("height") == "60mm"
    assert root.get("viewBox") == "0 0 123.4568 60"


def test_layers_bear_their_names_three_ways():
    root = root_of(
        SheetLayer("holes ss16, left", ()),
        SheetLayer("1 Größe", ()),
        SheetLayer("holes/ss16 left", ()),
    )
    groups = root.findall(f"{SVG}g")
    assert [g.get("data-name") for g in groups] == [
        "holes ss16, left",
        "1 Größe",
        "holes/ss16 left",
    ]
    assert [g.findtext(f"{SVG}title") for g in groups] == [g.get("data-name") for g in groups]
    ids = [g.get("id") for g in groups]
    assert ids == ["holes-ss16-left", "layer-1-Größe", "holes-ss16-left-2"]


def test_circles_are_true_and_bear_their_stone():
    root = root_of(
        SheetLayer("h", (Circle(10, 20, 4.3, Pen.HOLE, "frond-left-7"), Circle(1, 2, 3, Pen.HOLE)))
    )
    first, second = root.iter(f"{SVG}circle")
    assert dict(first.attrib) == {
        "cx": "10",
        "cy": "100",
        "r": "2.15",
        "data-stone": "frond-left-7",
    }
    assert "data-stone" not in second.attrib


@pytest.mark.parametrize("pen", list(Pen))
def test_every_pen_can_be_drawn_and_lines_differ_in_more_than_colour(pen):
    root = root_of(SheetLayer("x", (Stroke(line((0, 0), (9, 9)), pen),)))
    group = root.find(f"{SVG}g/{SVG}g")
    dashed = group.get("stroke-dasharray") is not None
    assert dashed == (pen in {Pen.SEAM, Pen.FOLD, Pen.KEEP_CLEAR})
    assert float(group.get("stroke-width")) >= 0.18


def test_a_half_circle_keeps_its_centre():
    """Two half arcs, as outlines of circles come: the picture's middle is the circle's."""
    at = (30.1234, 20.4321)
    data = svg_bytes(sheet(SheetLayer("x", (Stroke(circle(at, 14.3), Pen.CUT),)), size_mm=(60, 40)))
    ink = svg_ink(data, PX)
    v, u = np.mgrid[0 : ink.shape[0], 0 : ink.shape[1]]
    found = (
        ((u + 0.5) * ink).sum() / ink.sum() / PX,
        40 - ((v + 0.5) * ink).sum() / ink.sum() / PX,
    )
    assert math.dist(found, at) < 0.002


@pytest.mark.parametrize("bulge", [0.02, 0.3, 1.0, 2.5, -0.3, -1.0, -4.0])
def test_arcs_pass_through_their_middle(bulge):
    """The middle of an arc lies bulge × half the chord off the chord, to the right of its way."""
    a, b = (30.0, 40.0), (50.0, 40.0)
    data = svg_bytes(
        sheet(
            SheetLayer("x", (Stroke(Path((Arc(a, b, bulge),), closed=False), Pen.REGISTER),)),
            size_mm=(80, 100),
        )
    )
    ink = svg_ink(data, PX)
    column = ink[:, int(40.0 * PX)]
    rows = np.flatnonzero(column > 0.1)
    found = 100.0 - (column[rows] * (rows + 0.5)).sum() / column[rows].sum() / PX
    assert found == pytest.approx(40.0 - bulge * 10.0, abs=0.06)


def letter_ink(*, mirrored=False, turn_deg=0.0):
    text = Lettering("L", (20.0, 20.0), 10.0, turn_deg, Anchor.MIDDLE, mirrored)
    return svg_ink(svg_bytes(sheet(SheetLayer("x", (text,)), size_mm=(40, 40))), 10.0)


def test_text_reads_forwards_unless_it_is_meant_from_behind():
    plain, mirrored = letter_ink(), letter_ink(mirrored=True)
    stem = plain.sum(axis=0)
    assert stem[:200].sum() > 1.5 * stem[200:].sum()
    assert np.abs(mirrored[:, ::-1] - plain).mean() < 0.002


def test_text_stands_on_its_baseline_as_high_as_asked():
    rows = np.flatnonzero(letter_ink().max(axis=1) > 0.5)
    assert rows[0] / 10 == pytest.approx(10.0, abs=0.1)
    assert (rows[-1] + 1) / 10 == pytest.approx(20.0, abs=0.1)


def test_text_turned_by_90_reads_upwards():
    assert np.abs(np.rot90(letter_ink(), 1) - letter_ink(turn_deg=90.0)).mean() < 0.005


@pytest.mark.parametrize(
    ("anchor", "share"), [(Anchor.START, 0.0), (Anchor.MIDDLE, 0.5), (Anchor.END, 1.0)]
)
def test_text_is_as_wide_as_measured_and_hangs_on_its_anchor(anchor, share):
    width = text_width_mm("HUH", 5.0)
    text = Lettering("HUH", (40.0, 20.0), 5.0, 0.0, anchor)
    ink = svg_ink(svg_bytes(sheet(SheetLayer("x", (text,)), size_mm=(80, 40))), 10.0)
    columns = np.flatnonzero(ink.max(axis=0) > 0.5)
    side = 0.1 * 5.0  # an H does not reach the ends of its advance
    assert columns[0] / 10 == pytest.approx(40.0 - share * width + side, abs=0.5)
    assert columns[-1] / 10 == pytest.approx(40.0 + (1 - share) * width - side, abs=0.5)


@pytest.mark.parametrize("value", [math.nan, math.inf])
def test_numbers_no_file_can_hold_are_refused_by_sheet_and_layer(value):
    with pytest.raises(ValueError, match="frond-left-ss16-1, layer holes: a coordinate"):
        root_of(SheetLayer("holes", (Circle(1.0, value, 2.0, Pen.HOLE),)))


def test_what_xml_cannot_hold_is_replaced_where_it_can_be_seen():
    root = root_of(SheetLayer("a\x00<&>", (Lettering("b\x07 <&>", (1, 1), 3.5),)), title="t\x1f")
    assert root.find(f"{SVG}g").get("data-name") == "a\ufffd<&>"
    assert root.findtext(f".//{SVG}text") == "b\ufffd <&>"


def test_the_leaf_is_one_closed_path_of_curves():
    root = root_of(SheetLayer("cut", (Stroke(LEAF, Pen.CUT),)))
    (path,) = root.iter(f"{SVG}path")
    assert path.get("d") == ("M 20 100 C 60 90 60 40 30 20 L 20 30 A 74.375 74.375 0 0 0 20 100 Z")


def test_coordinates_have_four_decimals_at_most():
    root = root_of(SheetLayer("h", (Circle(1 / 3, 2 / 3, 4.3, Pen.HOLE),)))
    (found,) = root.iter(f"{SVG}circle")
    assert (found.get("cx"), found.get("cy")) == ("0.3333", "119.3333")
