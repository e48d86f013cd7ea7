"""A written SVG back to facts, from files written by hand."""

from __future__ import annotations

import itertools
import math

import pytest

from templater.readback.faults import Unreadable
from templater.readback.svg import read_svg

HEAD = (
    b'<svg xmlns="http://www.w3.org/2000/svg" xmlns:ed="urn:editor" '
    b'xmlns:xlink="http://www.w3.org/1999/xlink" '
)


def facts(body: str, head: str = 'width="100mm" height="50mm" viewBox="0 0 100 50"'):
    return read_svg(HEAD + head.encode() + b">" + body.encode() + b"</svg>", "stencils/a.svg")


def near(a, b, within=1e-9):
    return math.dist(a, b) <= within


def test_a_circle_comes_in_mm_with_y_up_and_its_layer() -> None:
    sheet = facts('<g id="holes"><circle cx="10" cy="8" r="2.1"/></g>')
    assert sheet.size_mm == (100.0, 50.0)
    (circle,) = sheet.circles
    assert near(circle[:2], (10.0, 42.0))
    assert circle.diameter_mm == pytest.approx(4.2)
    assert circle.layer == "holes"


def test_an_editors_label_names_the_layer_before_the_id() -> None:
    sheet = facts('<g id="g1" ed:label="cut"><g><line x1="0" y1="0" x2="5" y2="0"/></g></g>')
    assert sheet.paths[0].layer == "cut"


def test_units_and_the_view_box_scale_the_page() -> None:
    # 4 in = 101.6 mm over 400 units
    sheet = facts(
        '<circle cx="100" cy="0" r="10"/>', 'width="4in" height="2in" viewBox="0 0 400 200"'
    )
    assert near(sheet.circles[0][:3], (25.4, 50.8, 5.08))
    # without a viewBox units are px: 1/96 in (CSS Values 4, section 6.2)
    sheet = facts('<circle cx="96" cy="96" r="48"/>', 'width="96" height="192"')
    assert near(sheet.circles[0][:3], (25.4, 25.4, 25.4))


def test_transforms_apply_from_the_right_and_through_groups() -> None:
    sheet = facts(
        '<g transform="translate(20 10)"><g transform="rotate(90) scale(2)">'
        '<circle cx="3" cy="0" r="1"/></g></g>'
    )
    # scale: (6, 0); a quarter turn, y down: (0, 6); moved: (20, 16); up from below: 34
    assert near(sheet.circles[0][:3], (20.0, 34.0, 4.0))
    sheet = facts('<circle transform="rotate(180 10 10)" cx="10" cy="5" r="1"/>')
    assert near(sheet.circles[0][:3], (10.0, 35.0, 2.0))


def test_use_places_a_circle_kept_in_defs_and_defs_themselves_are_not_drawn() -> None:
    sheet = facts(
        '<defs><circle id="h" r="2"/></defs><g id="holes"><use href="#h" x="5" y="6"/>'
        '<use xlink:href="#h" transform="translate(7 6)"/></g>'
    )
    assert [tuple(round(v, 6) for v in c[:3]) for c in sheet.circles] == [(5, 44, 4), (7, 44, 4)]


@pytest.mark.parametrize(
    "path",
    [
        "M 8 10 A 2 2 0 0 1 12 10 A 2 2 0 0 1 8 10 Z",
        "M 8,10 a 2,2 0 1 0 4,0 a 2,2 0 1 0 -4,0",
        (
            "M 12 10 C 12 11.1046 11.1046 12 10 12 C 8.8954 12 8 11.1046 8 10 "
            "C 8 8.8954 8.8954 8 10 8 C 11.1046 8 12 8.8954 12 10 Z"
        ),
    ],
)
def test_a_circle_drawn_as_a_path_is_a_circle(path: str) -> None:
    sheet = facts(f'<path d="{path}"/>')
    assert not sheet.paths
    assert near(sheet.circles[0][:3], (10.0, 40.0, 4.0), 1e-3)


@pytest.mark.parametrize(
    "body",
    [
        '<ellipse cx="10" cy="10" rx="2" ry="2.1"/>',
        '<path d="M 8 8 H 12 V 12 H 8 Z"/>',
        '<path d="M 8 10 A 2 2 0 0 1 12 10 Z"/>',
        '<polygon points="12,10 11.4,11.4 10,12 8.6,11.4 8,10 8.6,8.6 10,8 11.4,8.6"/>',
    ],
)
def test_what_is_nearly_a_circle_is_none(body: str) -> None:
    sheet = facts(body)
    assert not sheet.circles
    assert sheet.paths[0].closed


def test_arcs_stay_on_their_circle_even_mirrored_and_scaled() -> None:
    sheet = facts('<path transform="scale(-2 1) translate(-40 0)" d="M 10 0 A 10 10 0 0 1 0 10"/>')
    # a quarter of a circle about the origin of the path's own units
    points = [(40.0 - x / 2, 50.0 - y) for x, y in sheet.paths[0].points]
    assert len(points) > 8
    assert all(abs(math.hypot(x, y) - 10.0) < 1e-9 for x, y in points)
    assert all(x >= -1e-9 and y >= -1e-9 for x, y in points)
    middles = [((a[0] + b[0]) / 2, (a[1] + b[1]) / 2) for a, b in itertools.pairwise(points)]
    assert max(10.0 - math.hypot(*m) for m in middles) < 0.005


def test_the_large_arc_is_the_large_one() -> None:
    (path,) = facts('<path d="M 10 20 A 10 10 0 1 1 20 30"/>').paths
    # centre (20, 20): from 9 o'clock over the top and the right to 6 o'clock, y down
    assert all(abs(math.dist(p, (20.0, 30.0)) - 10.0) < 1e-6 for p in path.points)
    assert any(near(p, (30.0, 30.0), 0.6) for p in path.points)


def test_subpaths_are_paths_of_their_own() -> None:
    sheet = facts('<path d="M 0 0 L 150 0 M 0 -5 V 5 M 1 1 L 2 1 L 2 2 Z"/>')
    assert [(len(p.points), p.closed) for p in sheet.paths] == [(2, False), (2, False), (3, True)]


def test_a_text_tells_its_place_and_height_and_whether_it_is_mirrored() -> None:
    sheet = facts(
        '<text x="10" y="20" font-size="4">frond <tspan>left</tspan></text>'
        '<g transform="translate(80 0) scale(-1 1)"><text style="font-size:3px">back</text></g>'
    )
    one, two = sheet.texts
    assert (one.text, one.mirrored, two.text, two.mirrored) == ("frond left", False, "back", True)
    assert near(one.at, (10.0, 30.0))
    assert near(two.at, (80.0, 50.0))
    assert (one.height_mm, two.height_mm) == (pytest.approx(4.0), pytest.approx(3.0))


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "XML"),
        (b"<svg", "XML"),
        (b"<html/>", "root"),
        (b'<svg width="50%" height="10mm"/>', "width"),
        (b'<svg width="5mm" height="1mm"><path d="M 0 0 L 1"/></svg>', "path data"),
        (b'<svg width="5mm" height="1mm"><path d="M 0 0 L 1e400 1"/></svg>', "finite"),
        (b'<svg width="5mm" height="1mm"><use href="#no"/></svg>', "nowhere"),
        (b'<svg width="5mm" height="1mm"><g transform="turn(3)"/></svg>', "transform"),
        (b'<svg width="5mm" height="1mm"><image/></svg>', "image"),
        (b'<svg width="5mm" height="1mm"><circle r="0"/></svg>', "radius"),
    ],
)
def test_what_cannot_be_trusted_is_refused(data: bytes, says: str) -> None:
    with pytest.raises(Unreadable, match=says):
        read_svg(data, "a.svg")
