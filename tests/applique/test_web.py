"""Web behind a raw edge is cut roughly outside it; behind a turned edge it stops short."""

import math
from itertools import pairwise

import pytest
import shapely
from applique_grounds import ground, job, leaf_ring, line, piece, region, square_ring, zone
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from templater.applique import make_parts
from templater.geometry.measure import area_mm2, path_box
from templater.geometry.polygons import differing, overlap, to_polygon, without
from templater.model.ground import Edge, EdgeKind


def web_of(*rings, **tables):
    parts, problems = make_parts(ground(piece(), zone("frond", region(*rings))), job(**tables))
    found = [part for part in parts if part.id == "web-frond-left"]
    return (found[0] if found else None), problems


def test_behind_raw_edges_it_is_cut_5_mm_outside_and_then_on_the_line():
    web, _ = web_of(square_ring(10, 10, 110, 70))
    assert path_box(web.cut.outline) == pytest.approx((5, 5, 115, 75))
    assert path_box(web.finished.outline) == pytest.approx((10, 10, 110, 70))
    assert "cut 5 mm outside, fuse, then cut on the inner line" in " · ".join(web.label.lines)


def test_behind_turned_edges_it_ends_2_mm_inside_the_fold():
    web, _ = web_of(square_ring(10, 10, 110, 70, 6.0))
    assert path_box(web.cut.outline) == pytest.approx((12, 12, 108, 68))
    assert web.cut == web.finished
    assert "ends 2 mm inside the turned edge" in " · ".join(web.label.lines)


def test_in_seams_and_underlaps_it_adds_no_bulk():
    """Where an edge is turned, the web ends on the line of a seam and of a neighbour."""
    ring = (
        Edge(EdgeKind.FREE, line((0, 0), (100, 0)), "", 6.0),
        Edge(EdgeKind.SEAM, line((100, 0), (100, 60)), "side", 12.0),
        Edge(EdgeKind.FREE, line((100, 60), (0, 60)), "", 6.0),
        Edge(EdgeKind.NEIGHBOUR, line((0, 60), (0, 0)), "upper", 5.0),
    )
    beside = (
        Edge(EdgeKind.NEIGHBOUR, line((0, 0), (0, 60)), "frond"),
        Edge(EdgeKind.FREE, line((0, 60), (-50, 60), (-50, 0), (0, 0))),
    )
    made = ground(piece(), zone("frond", region(ring)), zone("upper", region(beside), level=1))
    parts, _ = make_parts(made, job())
    web = next(part for part in parts if part.id == "web-frond-left")
    from shapely import Point

    cloth = to_polygon(web.cut, 0.01)
    held = {(50, 1): False, (50, 3): True, (99, 30): True, (101, 30): False, (1, 30): True}
    for at, inside in {**held, (-1, 30): False}.items():
        assert cloth.contains(Point(at)) is inside
    assert "on the line at seams" in " · ".join(web.label.lines)


def sewn_left(angles, width):
    """A raw zone whose left side, 60 mm long, is sewn; its neighbours lean by these angles."""
    top, bottom = (math.radians(angle) for angle in angles)
    a, b = (0.0, 60.0), (0.0, 0.0)
    c = (80 * math.sin(bottom), -80 * math.cos(bottom))
    d = (80 * math.sin(top), 60 + 80 * math.cos(top))
    return (
        Edge(EdgeKind.SEAM, line(a, b), "side", width),
        Edge(EdgeKind.FREE, line(b, c)),
        Edge(EdgeKind.FREE, line(c, d)),
        Edge(EdgeKind.FREE, line(d, a)),
    )


def lines_of(ring):
    parts, _ = make_parts(ground(piece(), zone("frond", region(ring))), job())
    cloth = next(part for part in parts if part.id == "applique-frond-left")
    web = next(part for part in parts if part.id == "web-frond-left")
    return (to_polygon(area, 0.005) for area in (cloth.cut, web.cut, web.finished)), web


def test_a_raw_part_with_a_sewn_side_has_no_web_in_the_seam():
    (cloth, rough, true), web = lines_of(sewn_left((90, 90), 12.0))
    assert cloth.bounds == pytest.approx((-12, 0, 80, 60))
    assert true.bounds == pytest.approx((0, 0, 80, 60))
    # Straight on along the seam line, 5 mm outside elsewhere.
    assert rough.bounds == pytest.approx((0, -5, 85, 65))
    assert rough.area == pytest.approx(80 * 60 + 2 * 80 * 5 + 60 * 5 + math.pi * 25 / 2, rel=1e-4)
    said = " · ".join(web.label.lines)
    assert "cut 5 mm outside, on the line at seams" in said
    assert "fuse, then cut on the inner line" in said


@settings(deadline=None, max_examples=100)
@given(
    st.tuples(st.floats(25.0, 155.0), st.floats(25.0, 155.0)),
    st.sampled_from([1.0, 6.0, 12.0, 25.0]),
)
def test_whatever_the_corners_the_allowance_of_a_seam_stays_free_of_web(angles, width):
    ring = sewn_left(angles, width)
    (cloth, rough, true), _ = lines_of(ring)
    drawn = to_polygon(region(ring).area, 0.005)
    assume(drawn.is_valid and drawn.exterior.is_ccw)
    assert differing(true, drawn).area < 1e-6
    assert rough.is_valid
    assert rough.buffer(1e-6).covers(true)
    assert overlap(rough, without(cloth, drawn)).area < 1e-6
    (x0, y0), (x1, y1) = ring[2].path.start, ring[2].path.end
    far = shapely.Point((x0 + x1) / 2, (y0 + y1) / 2)
    assert rough.boundary.distance(far) == pytest.approx(5.0, abs=0.02)


def test_at_an_inward_corner_web_keeps_off_the_seam_allowance_too():
    corners = [(0, 0), (100, 0), (100, 40), (40, 40), (40, 90), (0, 90), (0, 0)]
    ring = tuple(
        Edge(EdgeKind.SEAM if k == 3 else EdgeKind.FREE, line(a, b), "", 12.0 if k == 3 else 0.0)
        for k, (a, b) in enumerate(pairwise(corners))
    )
    (cloth, rough, true), _ = lines_of(ring)
    assert overlap(rough, without(cloth, true)).area < 1e-6
    for at, inside in {(41, 60): False, (46, 43): False, (55, 43): True, (20, 93): True}.items():
        assert rough.contains(shapely.Point(at)) is inside


def test_match_marks_of_a_web_lie_on_it():
    """Those at the seam are drawn inwards from its line, as the allowance has no web."""
    from drawings import box, ground_of

    from templater.job import load_job

    told = '[pieces.front]\nmake = "single"\n[zones.frond]\nedges = { side = 12 }\n'
    layers = {
        "piece front": [box(0, 0, 300, 300)],
        "zone frond": [box(0, 100, 80, 200)],
        "seam side": [line((0, 0), (0, 300))],
    }
    read, _ = load_job(f'drawing = "test.svg"\n{told}', "test.toml")
    parts, _ = make_parts(ground_of(layers, told)[0], read)
    web = next(part for part in parts if part.id.startswith("web-frond"))
    cloth = next(part for part in parts if part.id.startswith("applique-frond"))
    strokes = [mark for mark in web.marks if mark.path is not None]
    assert len(strokes) == len([mark for mark in cloth.marks if mark.path is not None]) > 0
    area = to_polygon(web.cut, 0.01).buffer(0.06)
    for mark in strokes:
        assert area.covers(shapely.LineString([mark.path.start, mark.path.end]))


def test_the_web_of_a_curved_part_lies_inside_its_cloth():
    web, _ = web_of(leaf_ring(at=(20, 200), allowance=5.0))
    cloth = to_polygon(web.finished, 0.001)
    leaf = to_polygon(region(leaf_ring(at=(20, 200))).area, 0.001)
    assert leaf.contains(cloth)
    assert leaf.boundary.distance(cloth) == pytest.approx(2.0, abs=0.02)
    assert len(web.cut.outline.segments) < 16


def test_a_sliver_has_no_room_for_web_and_says_so():
    web, problems = web_of(square_ring(10, 10, 210, 13.5, 1.0))
    assert web is None
    assert "no-room-for-web" in {problem.code for problem in problems}


def test_web_is_always_single_and_cloth_may_be_doubled():
    folded = {"templates": {"cloth": {"folded": True}}}
    ring = square_ring(10, 10, 210, 130)
    for has_web, said in ((True, "cut 1"), (False, "cut 1 on doubled cloth for both sides")):
        parts, _ = make_parts(
            ground(piece(), zone("frond", region(ring))),
            job(zones={"frond": {"web": has_web}}, **folded),
        )
        cloth = next(part for part in parts if part.id == "applique-frond-left")
        assert any(text.endswith(said) for text in cloth.label.lines)


def test_its_area_is_what_the_two_lines_say():
    web, _ = web_of(square_ring(0, 0, 100, 50))
    assert area_mm2(web.cut) == pytest.approx(5000 + 300 * 5 + 3.14159265 * 25, rel=1e-6)
