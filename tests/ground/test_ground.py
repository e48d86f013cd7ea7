import math

import pytest
import shapely
from drawings import box, codes, disc, ground_of, line

from templater.geometry.measure import path_length
from templater.geometry.polygons import polyline
from templater.ground.sites import Site, site_for
from templater.model.curves import Area
from templater.model.ground import EdgeKind, Make, Side
from templater.model.problems import Severity

PIECE = box(10, 10, 110, 210)


def edges_of(ground, zone):
    return [edge for region in ground.zone(zone).regions for ring in region.rings for edge in ring]


def kinds(edges):
    return [(edge.kind, edge.name) for edge in edges]


def test_a_zone_alone_is_single_on_the_piece_main():
    ground, problems = ground_of({"zone frond": [box(20, 20, 60, 100)]})
    assert codes(problems) == []
    assert [piece.name for piece in ground.pieces] == ["main"]
    assert ground.surface("main").sides[0].side is Side.SINGLE
    (edge,) = edges_of(ground, "frond")
    assert edge.kind is EdgeKind.FREE
    assert edge.path.closed


@pytest.mark.parametrize("name", ["zone frond", "ZONE_Frond", "Zone-frond", "zone  FROND "])
def test_case_and_separators_do_not_matter(name):
    ground, _ = ground_of({name: [box(20, 20, 60, 100)]}, "[zones.Frond]\nallowance = 3")
    assert ground.zones[0].name == "frond"
    assert edges_of(ground, "frond")[0].allowance_mm == 3.0


def test_a_ring_is_cut_where_it_meets_seam_fold_neighbour_and_piece():
    ground, problems = ground_of(
        {
            "piece front": [PIECE],
            "fold": [line((10, 10), (10, 210))],
            "seam side": [line((110, 10), (110, 210))],
            "edge hem": [line((10, 10), (110, 10))],
            "zone low": [box(10, 10, 110, 60)],
            "zone high": [box(10, 60, 110, 210)],
        },
        '[pieces.front]\nmake = "fold"\n[zones.low]\nedges = { side = 12, hem = 20 }\nallowance = 1',
    )
    assert codes(problems) == []
    low = {(edge.kind, edge.name): edge for edge in edges_of(ground, "low")}
    assert set(low) == {
        (EdgeKind.FOLD, ""),
        (EdgeKind.SEAM, "side"),
        (EdgeKind.EDGE, "hem"),
        (EdgeKind.NEIGHBOUR, "high"),
    }
    assert low[EdgeKind.SEAM, "side"].allowance_mm == 12
    assert low[EdgeKind.EDGE, "hem"].allowance_mm == 20
    assert low[EdgeKind.NEIGHBOUR, "high"].allowance_mm == 5  # the underlap's default
    assert low[EdgeKind.FOLD, ""].allowance_mm == 0
    assert [low[key].visible for key in low if key[0] in (EdgeKind.FOLD, EdgeKind.SEAM)] == [
        False,
        False,
    ]
    high = {(edge.kind, edge.name): edge for edge in edges_of(ground, "high")}
    assert high[EdgeKind.NEIGHBOUR, "low"].allowance_mm == 0  # the upper one lies on top, raw
    assert high[EdgeKind.PIECE, "front"].visible is False


def test_edges_join_to_the_bit_and_keep_the_ring_length():
    ground, _ = ground_of(
        {
            "zone a": [disc(50, 50, 60)],
            "zone b": [box(200, 0, 300, 30)],
            "seam s": [line((65, 23.9), (80, 50))],
        }
    )
    for zone, length in (("a", math.pi * 60), ("b", 260)):
        edges = edges_of(ground, zone)
        assert sum(path_length(edge.path) for edge in edges) == pytest.approx(length)
        if len(edges) > 1:
            for edge, after in zip(edges, [*edges[1:], edges[0]], strict=True):
                assert edge.path.end == after.path.start


def test_a_line_that_merely_crosses_makes_no_edge():
    ground, _ = ground_of({"zone a": [box(0, 0, 100, 100)], "seam s": [line((50, -20), (50, 120))]})
    assert kinds(edges_of(ground, "a")) == [(EdgeKind.FREE, "")]


def test_hand_traced_neighbours_within_the_tolerance_share_their_edge():
    ground, problems = ground_of(
        {"zone a": [box(0, 0, 50, 100)], "zone b": [box(50.2, 0, 100, 100)]}
    )
    assert codes(problems) == ["sliver-closed"]
    assert "0.20 mm" in problems[0].message
    assert (EdgeKind.NEIGHBOUR, "b") in kinds(edges_of(ground, "a"))
    assert (EdgeKind.NEIGHBOUR, "a") in kinds(edges_of(ground, "b"))


def test_a_pair_without_a_fold_is_mirrored_about_its_largest_x():
    ground, _ = ground_of({"piece front": [PIECE], "zone a": [box(20, 20, 60, 60)]})
    surface = ground.surface("front")
    assert [placement.side for placement in surface.sides] == [Side.LEFT, Side.RIGHT]
    assert not surface.joined_at_fold
    assert surface.sides[1].transform.apply((20, 20)) == pytest.approx((200, 20))


def test_the_undrawn_side_is_mirrored_about_the_fold():
    ground, problems = ground_of(
        {
            "piece front": [PIECE],
            "fold": [line((10, 10), (10, 210))],
            "zone a": [box(20, 20, 60, 60)],
        },
        '[pieces.front]\nmake = "pair"\ndrawn = "right"',
    )
    assert codes(problems) == []
    surface = ground.surface("front")
    assert [placement.side for placement in surface.sides] == [Side.RIGHT, Side.LEFT]
    assert surface.sides[1].transform.apply((20, 20)) == pytest.approx((0, 20))


def test_a_zone_drawn_whole_across_the_fold_is_taken_once():
    ground, problems = ground_of(
        {
            "piece front": [box(-100, 10, 100, 210)],
            "fold": [line((0, 10), (0, 210))],
            "zone a": [box(-30, 20, 30, 60)],
        },
        '[pieces.front]\nmake = "fold"',
    )
    assert set(codes(problems)) == {"drawn-whole"}
    assert ground.pieces[0].make is Make.FOLD
    (region,) = ground.zone("a").regions
    assert {x for segment in region.area.outline.segments for x in (segment.start[0],)} <= {-30, 0}


def test_what_is_not_symmetric_across_the_fold_is_refused_with_its_place():
    _, problems = ground_of(
        {
            "piece front": [box(0, 0, 100, 100)],
            "fold": [line((50, 0), (50, 100))],
            "zone a": [box(20, 20, 90, 60)],
        },
        '[pieces.front]\nmake = "fold"',
    )
    (problem,) = [p for p in problems if p.severity is Severity.ERROR]
    assert problem.code == "not-symmetric"
    assert problem.at_mm is not None


def test_order_and_overlap():
    layers = {"zone a": [box(0, 0, 60, 60)], "zone b": [box(40, 0, 100, 60)]}
    _, problems = ground_of(layers)
    (problem,) = [p for p in problems if p.severity is Severity.ERROR]
    assert problem.code == "zones-overlap"
    assert 40 <= problem.at_mm[0] <= 60
    ground, problems = ground_of(layers, 'overlap = "top"\norder = ["b", "a"]')
    assert codes(problems) == []
    assert [zone.name for zone in ground.zones] == ["b", "a"]
    assert (EdgeKind.NEIGHBOUR, "a") in kinds(edges_of(ground, "b"))


@pytest.mark.parametrize(
    ("layers", "job", "code"),
    [
        ({"zone a": [line((0, 0), (50, 0), (50, 50))]}, "", "open-outline"),
        (
            {"piece p": [line((0, 0), (50, 0), (50, 50))], "zone a": [box(0, 0, 9, 9)]},
            "",
            "open-outline",
        ),
        ({"piece front": [PIECE], "zone a": [box(300, 300, 320, 320)]}, "", "zone-outside"),
        ({"piece front": [PIECE]}, "", "no-zones"),
        ({"stuff": [box(0, 0, 9, 9)]}, "", "no-zones"),
        ({"zone a": [box(0, 0, 9, 9)]}, 'order = ["b"]', "unknown-zone"),
        ({"zone a": [box(0, 0, 9, 9)]}, "[zones.b]\nallowance = 1", "unknown-zone"),
        ({"zone a": [box(0, 0, 9, 9)]}, "[pieces.x]\nallowance = 1", "unknown-piece"),
        ({"zone a": [box(0, 0, 9, 9)]}, "[rows.x]\ngap = 1", "unknown-row"),
        ({"zone a": [box(0, 0, 9, 9)]}, '[zones.a]\nstoning = "x"', "unknown-stoning"),
        ({"zone a": [box(0, 0, 9, 9)]}, "[zones.a]\nedges = { hem = 3 }", "unknown-edge"),
        (
            {"piece front": [PIECE], "zone a": [box(20, 20, 60, 60)]},
            '[pieces.front]\nmake = "fold"',
            "no-fold",
        ),
        (
            {
                "piece front": [PIECE],
                "fold": [line((0, 0), (9, 0), (9, 9))],
                "zone a": [box(20, 20, 60, 60)],
            },
            "",
            "fold-not-straight",
        ),
        ({"zone a": [box(0, 0, 30, 30), box(20, 20, 50, 50)]}, "", "regions-overlap"),
    ],
)
def test_what_cannot_be_is_an_error_with_a_place_and_a_mend(layers, job, code):
    _, problems = ground_of(layers, job)
    errors = [p for p in problems if p.severity is Severity.ERROR]
    assert code in codes(errors)
    for problem in errors:
        assert problem.mend
        assert problem.source is not None


def test_an_open_outline_says_how_wide_the_gap_is_and_where():
    _, problems = ground_of({"zone a": [line((0, 0), (50, 0), (50, 50), (0, 3))]})
    problem = next(p for p in problems if p.code == "open-outline")
    assert "3.00 mm" in problem.message
    assert problem.at_mm == (0, 3)


def test_unused_layers_are_reported_with_the_nearest_role():
    _, problems = ground_of({"zone a": [box(0, 0, 50, 50)], "zoen b": [box(60, 0, 90, 50)]})
    (problem,) = problems
    assert problem.code == "unused-layer"
    assert "zone" in problem.mend


def test_the_job_can_say_what_a_layer_is():
    ground, problems = ground_of(
        {"Ebene 4": [box(0, 0, 50, 50)]}, '[layers]\n"Ebene 4" = "zone frond"'
    )
    assert codes(problems) == []
    assert ground.zones[0].name == "frond"


def test_what_is_kept_clear_and_how_far():
    ground, _ = ground_of(
        {
            "zone a": [box(0, 0, 100, 100)],
            "clear": [disc(20, 20, 10), line((50, 10), (50, 90)), (80, 80)],
            "crease": [line((0, 50), (100, 50))],
            "seam side": [line((100, 0), (100, 100))],
            "low": [box(60, 60, 90, 90)],
        },
        "[clear]\nmargin = 2\nwidth = 6\nseam = 8\n[low]\nheight = 1.2",
    )
    # margin beyond an area; half the width and the margin beside a line; the seam's own distance
    assert [(keep.role, keep.reach_mm) for keep in ground.keep_clear] == [
        ("clear", 2.0),
        ("clear", 5.0),
        ("clear", 2.0),
        ("crease", 5.0),
        ("seam", 8.0),
    ]
    assert [low.height_mm for low in ground.lows] == [1.2]


def test_shapes_belong_to_the_piece_that_contains_most_of_them():
    ground, _ = ground_of(
        {
            "piece left": [box(0, 0, 100, 100)],
            "piece right": [box(120, 0, 220, 100)],
            "zone a": [box(10, 10, 50, 50)],
            "zone b": [box(130, 10, 150, 50)],
            "row r": [line((90, 50), (200, 50))],
            "notch": [(120, 40)],
        }
    )
    assert {zone.name: zone.piece for zone in ground.zones} == {"a": "left", "b": "right"}
    assert ground.rows[0].piece == "right"
    assert len(ground.piece("right").notches) == 1


def test_a_zone_that_stands_out_is_cut_at_its_piece():
    ground, problems = ground_of({"piece front": [PIECE], "zone a": [box(60, 20, 130, 60)]})
    assert codes(problems) == ["zone-beyond-piece"]
    (region,) = ground.zone("a").regions
    assert max(segment.start[0] for segment in region.area.outline.segments) == pytest.approx(110)


def test_measured_scales_the_whole_drawing():
    ground, problems = ground_of(
        {"zone a": [box(0, 0, 50, 100)], "edge top": [line((0, 100), (50, 100))]},
        'measured = { layer = "edge top", length = 60 }',
    )
    assert codes(problems) == ["scaled"]
    assert ground.size_mm == pytest.approx((480, 720))
    assert path_length(ground.references[0].path) == pytest.approx(60)


def test_register_marks_do_not_match_when_turned_or_flipped():
    ground, _ = ground_of({"zone a": [box(0, 0, 60, 60)]})
    marks = ground.zone("a").register
    assert len(marks) >= 3
    cx = (min(x for x, _ in marks) + max(x for x, _ in marks)) / 2
    cy = (min(y for _, y in marks) + max(y for _, y in marks)) / 2
    here = {(round(x - cx, 3), round(y - cy, 3)) for x, y in marks}
    moves = [
        lambda x, y: (-x, -y), lambda x, y: (-y, x), lambda x, y: (y, -x), lambda x, y: (-x, y),
        lambda x, y: (x, -y), lambda x, y: (y, x), lambda x, y: (-y, -x),
    ]  # fmt: skip
    for move in moves:
        assert {(round(a, 3), round(b, 3)) for a, b in (move(x, y) for x, y in here)} != here


def test_zones_that_touch_in_a_point_share_no_edge():
    left = Area(polyline([(0, 0), (50, 50), (0, 100)], closed=True))
    right = Area(polyline([(50, 50), (100, 0), (100, 100)], closed=True))
    ground, problems = ground_of({"zone a": [left], "zone b": [right]})
    assert codes(problems) == []
    assert kinds(edges_of(ground, "a")) == [(EdgeKind.FREE, "")]
    assert kinds(edges_of(ground, "b")) == [(EdgeKind.FREE, "")]


def test_areas_that_share_an_edge_but_for_the_last_bit_lie_apart():
    # Overlaid without a grid GEOS took each of these two for the whole of the other.
    shared = [(-195.11392799886457, -78.29786140664308)]
    one = shapely.Polygon(
        [
            (-13.254442633728242, 4.931505902785393),
            *shared,
            (-153.49924434415033, -169.22760408921124),
            (28.360241020986003, -85.99823677978277),
        ]
    )
    other = shapely.Polygon(
        [
            (-13.254442633728242, 4.931505902785394),
            *shared,
            (-236.7286116535788, 12.631881275925082),
            (-54.86912628844248, 95.86124858535356),
        ]
    )
    sites = (Site("one", one), Site("other", other))
    for site in sites:
        assert site_for(sites, site.polygon) == (site.name, True)
        assert site_for(sites[::-1], site.polygon) == (site.name, True)
