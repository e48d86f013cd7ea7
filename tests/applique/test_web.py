"""Web behind a raw edge is cut roughly outside it; behind a turned edge it stops short."""

import pytest
from applique_grounds import ground, job, leaf_ring, line, piece, region, square_ring, zone

from templater.applique import make_parts
from templater.geometry.measure import area_mm2, path_box
from templater.geometry.polygons import to_polygon
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
    """Where an edge is turned, the web ends 3 mm beyond a seam and on the line of a neighbour."""
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
    held = {(50, 1): False, (50, 3): True, (102, 30): True, (104, 30): False, (1, 30): True}
    for at, inside in {**held, (-1, 30): False}.items():
        assert cloth.contains(Point(at)) is inside
    assert "3 mm beyond seams" in " · ".join(web.label.lines)


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
