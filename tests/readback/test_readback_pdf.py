"""A written PDF back to facts, from content streams written by hand."""

from __future__ import annotations

import io
import math

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name, Stream

from templater.readback.faults import Unreadable
from templater.readback.pdf import read_pdf

PT = 72 / 25.4
# A circle of radius 1 in four cubics; 0.5523 is the usual length of its handles.
ROUND = (
    "1 0 m 1 0.5523 0.5523 1 0 1 c -0.5523 1 -1 0.5523 -1 0 c "
    "-1 -0.5523 -0.5523 -1 0 -1 c 0.5523 -1 1 -0.5523 1 0 c"
)
TO_MM = f"{PT} 0 0 {PT} 0 0 cm "


def pdf(content: str, *, resources=None, extra=None, root=None) -> bytes:
    document = pikepdf.new()
    page = document.add_blank_page(page_size=(100 * PT, 50 * PT))
    page.Contents = Stream(document, content.encode())
    if resources:
        page.Resources = resources(document)
    for key, value in (extra or {}).items():
        page.obj[key] = value
    for key, value in (root or {}).items():
        document.Root[key] = value
    stream = io.BytesIO()
    document.save(stream)
    return stream.getvalue()


def one(content: str, **more):
    (sheet,) = read_pdf(pdf(content, **more), "print/a.pdf")
    return sheet


def near(a, b, within=1e-4):
    return math.dist(a, b) <= within


def test_a_line_and_a_rectangle_in_mm() -> None:
    sheet = one(TO_MM + "10 20 m 90 20 l S 1 2 30 4 re S")
    assert near(sheet.size_mm, (100.0, 50.0))
    line, box = sheet.paths
    assert near(line.points[0], (10, 20))
    assert near(line.points[1], (90, 20))
    assert box.closed
    assert near(box.points[2], (31.0, 6.0))


def test_four_cubics_are_a_circle_through_nested_matrices() -> None:
    sheet = one(TO_MM + f"q 1 0 0 1 10 20 cm 2.1 0 0 2.1 0 0 cm {ROUND} s Q 0 0 m 1 1 l S")
    (circle,) = sheet.circles
    assert near(circle[:3], (10.0, 20.0, 4.2), 0.002)
    assert near(sheet.paths[0].points[1], (1.0, 1.0))


def test_a_squashed_circle_is_none() -> None:
    sheet = one(TO_MM + f"2 0 0 2.1 10 20 cm {ROUND} s")
    assert not sheet.circles
    assert sheet.paths[0].closed


def forms(document):
    hole = Stream(document, f"2.1 0 0 2.1 0 0 cm {ROUND} s".encode())
    hole.update({"/Subtype": Name.Form, "/BBox": Array([-3, -3, 3, 3])})
    hole = document.make_indirect(hole)
    sheet = Stream(document, b"q 1 0 0 1 5 6 cm /H Do Q q 1 0 0 1 60 6 cm /H Do Q")
    sheet.update(
        {
            "/Subtype": Name.Form,
            "/BBox": Array([0, 0, 200, 200]),
            "/Resources": Dictionary(XObject=Dictionary(H=hole)),
        }
    )
    group = document.make_indirect(Dictionary(Type=Name.OCG, Name="holes"))
    return Dictionary(
        XObject=Dictionary(S=document.make_indirect(sheet), H=hole),
        Properties=Dictionary(M=group),
    )


def test_forms_are_placed_again_and_again_and_layers_named() -> None:
    sheet = one(
        TO_MM + "/OC /M BDC q 1 0 0 1 1 1 cm /S Do Q EMC q 1 0 0 1 0 10 cm /S Do Q", resources=forms
    )
    spots = sorted((round(c.x_mm, 3), round(c.y_mm, 3), c.layer) for c in sheet.circles)
    assert spots == [(5.0, 16.0, ""), (6.0, 7.0, "holes"), (60.0, 16.0, ""), (61.0, 7.0, "holes")]


def test_what_a_clip_or_the_pages_edge_hides_is_not_on_the_page() -> None:
    sheet = one(TO_MM + "q 0 0 40 40 re W n /S Do Q q 1 0 0 1 50 0 cm /S Do Q", resources=forms)
    assert [round(c.x_mm, 3) for c in sheet.circles] == [5.0, 55.0]


def test_a_path_that_only_clips_is_not_drawn() -> None:
    assert not one(TO_MM + "0 0 40 40 re W n").paths


def test_texts_are_decoded_and_placed() -> None:
    def fonts(document):
        table = (
            b"1 begincodespacerange <00> <FF> endcodespacerange "
            b"2 beginbfchar <01> <00E9> <02> <0074> endbfchar "
            b"1 beginbfrange <03> <05> <0061> endbfrange"
        )
        mapped = Dictionary(
            Type=Name.Font, Subtype=Name.TrueType, ToUnicode=Stream(document, table)
        )
        plain = Dictionary(Type=Name.Font, Subtype=Name.Type1, BaseFont=Name.Helvetica)
        return Dictionary(Font=Dictionary(F1=plain, F2=mapped))

    sheet = one(
        f"BT /F1 12 Tf 1 0 0 1 {10 * PT} {20 * PT} Tm (frond left) Tj ET "
        f"BT /F2 6 Tf {5 * PT} 9 Td <010201> Tj ET BT [<03> -20 <0405>] TJ ET "
        f"q -1 0 0 1 {90 * PT} 0 cm BT /F1 12 Tf (back) Tj ET Q",
        resources=fonts,
    )
    assert [(t.text, t.mirrored) for t in sheet.texts] == [
        ("frond left", False), ("été", False), ("abc", False), ("back", True),
    ]  # fmt: skip
    assert near(sheet.texts[0].at, (10.0, 20.0))
    assert sheet.texts[0].height_mm == pytest.approx(12 / PT)
    assert near(sheet.texts[3].at, (90.0, 0.0))


def test_a_turned_page_and_larger_user_units_are_understood() -> None:
    sheet = one(TO_MM + "10 20 m 90 20 l S", extra={"/Rotate": 90})
    assert near(sheet.size_mm, (50.0, 100.0))
    # shown clockwise: what ran right now runs down
    assert near(sheet.paths[0].points[0], (20.0, 90.0))
    assert near(sheet.paths[0].points[1], (20.0, 10.0))
    sheet = one(TO_MM + "1 2 m 3 4 l S", extra={"/UserUnit": 10})
    assert near(sheet.size_mm, (1000.0, 500.0))
    assert near(sheet.paths[0].points[1], (30.0, 40.0))


def test_whether_it_is_printed_unscaled_is_read() -> None:
    assert one("").scaling_off is False
    wish = Dictionary(PrintScaling=Name("/None"))
    assert one("", root={"/ViewerPreferences": wish}).scaling_off is True


@pytest.mark.parametrize("data", [b"", b"%PDF-1.4", b"<svg/>", pdf("/Missing Do"), pdf("1 2 c")])
def test_what_cannot_be_trusted_is_refused(data: bytes) -> None:
    with pytest.raises(Unreadable):
        read_pdf(data, "a.pdf")
