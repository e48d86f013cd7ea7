"""The tables, as spreadsheets and other programs read them."""

import csv
import io
import math
from dataclasses import replace

import pytest
from writing_samples import small_plan

from templater.readback.tables import read_stones
from templater.writing.tables import holes_csv, sheet_ending, shopping_csv, stones_csv


def rows(data):
    return list(csv.DictReader(io.StringIO(data.decode("utf-8"), newline="")))


def test_stones_are_written_as_the_design_has_them():
    data = stones_csv(small_plan())
    assert data.decode().split("\n")[0] == (
        "zone,side,x_mm,y_mm,angle_deg,size,length_mm,width_mm,colour,finish,piece,kind,id"
    )
    assert data.decode().split("\n")[1] == (
        "frond,left,30.0000,40.0000,0.0000,ss16,3.9000,3.9000,sea green,plain,front,fill,frond-left-0"
    )
    assert b"\r" not in data
    assert data.endswith(b"\n")
    assert not data.endswith(b"\n\n")
    assert not data.startswith(b"\xef\xbb\xbf")


def test_the_mirrored_stone_lies_beyond_the_fold_and_leans_the_other_way():
    left, right = (row for row in rows(stones_csv(small_plan())) if row["size"] == "navette 10x5")
    assert (float(left["x_mm"]) + float(right["x_mm"])) / 2 == 70.0
    assert (left["angle_deg"], right["angle_deg"]) == ("30.0000", "150.0000")


def test_holes_name_the_sheet_file_they_are_in():
    found = rows(holes_csv(small_plan()))
    assert found[0] == {
        "template": "stencils/frond-left-ss16-1.svg",
        "pass": "1",
        "order": "1",
        "x_mm": "10.0000",
        "y_mm": "12.5000",
        "diameter_mm": "4.3000",
        "punch_mm": "4.5000",
        "kind": "stencil",
        "stone_id": "frond-left-0",
    }
    assert found[1]["punch_mm"] == ""


@pytest.mark.parametrize(
    ("formats", "ending"),
    [
        (("pdf", "dxf"), ".dxf"),
        (("pdf",), ".pdf"),
        (("dxf-r12", "svg"), ".svg"),
        (("dxf-r12",), ""),
    ],
)
def test_the_sheet_file_is_the_first_written_of_svg_dxf_pdf(formats, ending):
    assert sheet_ending(formats) == ending


def test_shopping():
    assert shopping_csv(small_plan()).decode() == (
        "size,colour,finish,count,spare,gross\nss16,sea green,ab,2,1,1\n"
    )


def test_awkward_names_come_back_as_they_were():
    plan = small_plan()
    name = 'Blatt "groß", links\nunten'
    odd = plan.stones[0]._replace(zone=name, colour="=1+1;,")
    (found,) = rows(stones_csv(replace(plan, stones=(odd,))))
    assert found["zone"] == name
    assert found["colour"] == "=1+1;,"


@pytest.mark.parametrize("name", ["sea\rgreen", "\r", "a\r\nb", "a\n", "sea green\r\n"])
def test_line_ends_in_a_name_stand_in_quotes_and_come_back(name):
    """RFC 4180, 2.6: fields containing line breaks should be enclosed in double quotes."""
    plan = small_plan()
    odd = plan.stones[0]._replace(colour=name)
    data = stones_csv(replace(plan, stones=(odd, *plan.stones[1:])))
    assert f',"{name}",'.encode() in data
    assert read_stones(data)[0].colour == name
    assert len(read_stones(data)) == len(plan.stones)


def test_there_is_no_minus_nothing_and_no_full_turn():
    plan = small_plan()
    odd = plan.stones[0]._replace(x_mm=-0.00001, turn_deg=360.0)
    (found,) = rows(stones_csv(replace(plan, stones=(odd,))))
    assert (found["x_mm"], found["angle_deg"]) == ("0.0000", "0.0000")


def test_an_angle_that_rounds_to_a_full_turn_is_none():
    plan = small_plan()
    odd = plan.stones[0]._replace(turn_deg=359.99999)
    (found,) = rows(stones_csv(replace(plan, stones=(odd,))))
    assert found["angle_deg"] == "0.0000"


def test_numbers_no_file_can_hold_are_refused():
    plan = small_plan()
    odd = plan.stones[0]._replace(x_mm=math.nan)
    with pytest.raises(ValueError, match="nan"):
        stones_csv(replace(plan, stones=(odd,)))
