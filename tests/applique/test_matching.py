"""Match marks: the same places on both parts, never to be matched the wrong way round."""

import math
from dataclasses import replace
from itertools import pairwise

import pytest
from applique_grounds import ground, job, leaf_ring, line, piece, region, square_ring, zone
from hypothesis import given, settings
from hypothesis import strategies as st

from templater.applique import make_parts
from templater.applique.matching import MARK_WIDTH_MM, matches, meetings, places_along
from templater.geometry.moves import reversed_path
from templater.geometry.walk import tape_along
from templater.model.curves import Cubic, Path
from templater.model.ground import Edge, EdgeKind, Notch
from templater.model.parts import MarkKind, PartKind

SHARED = Path((Cubic((100, 50), (140, 120), (60, 200), (100, 300)),), closed=False)


def two_zones(underlap=5.0):
    """A zone to the left of a curved line and one to its right, sharing it."""
    left = (
        Edge(EdgeKind.FREE, line((100, 300), (20, 300), (20, 50), (100, 50))),
        Edge(EdgeKind.NEIGHBOUR, SHARED, "upper", underlap, visible=False),
    )
    right = (
        Edge(EdgeKind.NEIGHBOUR, reversed_path(SHARED), "lower"),
        Edge(EdgeKind.FREE, line((100, 50), (200, 50), (200, 300), (100, 300))),
    )
    return zone("lower", region(left)), zone("upper", region(right), level=1)


def marks_of(part, kind=MarkKind.MATCH):
    return {mark.number: mark.at for mark in part.marks if mark.kind is kind}


def made(*zones, **tables):
    parts, problems = make_parts(ground(piece(), *zones), job(**tables))
    return {part.id: part for part in parts}, problems


def test_both_parts_of_a_shared_edge_bear_the_same_marks():
    parts, _ = made(*two_zones())
    lower, upper = marks_of(parts["applique-lower-left"]), marks_of(parts["applique-upper-left"])
    assert len(lower) >= 3
    assert lower == upper


def test_marks_are_on_the_cloth_as_well_as_on_the_web():
    parts, _ = made(*two_zones())
    assert marks_of(parts["web-lower-left"]) == marks_of(parts["applique-lower-left"])


def test_a_mark_is_cut_into_the_allowance_and_no_deeper_than_half_of_it():
    parts, _ = made(*two_zones(underlap=6.0))
    for mark in parts["applique-lower-left"].marks:
        (stroke,) = mark.path.segments
        assert tape_along(SHARED).foot(stroke.start).away_mm == pytest.approx(6.0, abs=0.02)
        assert tape_along(SHARED).foot(stroke.end).away_mm == pytest.approx(3.0, abs=0.02)


def test_without_an_allowance_a_mark_is_drawn_on_the_cloth():
    from shapely import Point

    from templater.geometry.polygons import to_polygon

    parts, _ = made(*two_zones())
    part = parts["applique-upper-left"]
    inside = to_polygon(part.finished, 0.01)
    strokes = [mark.path.segments[0] for mark in part.marks if mark.kind is MarkKind.MATCH]
    assert strokes
    for stroke in strokes:
        assert inside.boundary.distance(Point(stroke.start)) < 0.02
        assert inside.contains(Point(stroke.end))


@settings(max_examples=80, deadline=None)
@given(
    st.tuples(*(st.tuples(st.integers(0, 300), st.integers(0, 300)) for _ in range(4))),
)
def test_marks_are_never_symmetric_nor_near_an_end(points):
    path = Path((Cubic(*points),), closed=False)
    tape = tape_along(path)
    if tape.length_mm < 1.0:
        return
    places = [tape.foot(at).along_mm for at in places_along(path)]
    assert bool(places) or tape.length_mm < 25.0 or tape.corners(math.radians(30))
    if not places:
        return
    turned = [tape.length_mm - place for place in reversed(places)]
    # The places lie on the curve itself, so a foot may jump where the curve crosses itself.
    if all(abs(a - b) > 1e-3 for a, b in zip(places, sorted(places)[::-1], strict=True)):
        assert max(abs(a - b) for a, b in zip(places, turned, strict=True)) >= 3.9


def test_marks_keep_off_corners():
    bent = line((0, 0), (120, 0), (120, 90))
    for at in places_along(bent):
        for corner in ((0, 0), (120, 0), (120, 90)):
            assert math.dist(at, corner) >= MARK_WIDTH_MM


def test_there_are_more_marks_where_the_edge_bends():
    straight = line((0, 0), (200, 0))
    bent = Path((Cubic((0, 0), (0, 100), (140, 100), (140, 0)),), closed=False)
    assert abs(tape_along(bent).length_mm - 250) < 60
    assert len(places_along(bent)) > len(places_along(straight))


def test_a_short_edge_has_none():
    assert places_along(line((0, 0), (15, 0))) == ()


def test_marks_against_the_piece_are_on_both():
    side = Edge(EdgeKind.PIECE, line((300, 100), (300, 250)), "front", 12.0, visible=False)
    rest = Edge(EdgeKind.FREE, line((300, 250), (250, 200), (300, 100)))
    parts, _ = made(zone("fin", region((side, rest))))
    fin = marks_of(parts["applique-fin-left"])
    assert fin
    assert fin == marks_of(parts["piece-front-left"])


def test_numbers_are_never_used_twice():
    side = Edge(EdgeKind.PIECE, line((300, 100), (300, 250)), "front", 12.0, visible=False)
    rest = Edge(EdgeKind.FREE, line((300, 250), (250, 200), (300, 100)))
    both = ground(piece(), *two_zones(), zone("fin", region((side, rest)), level=2))
    found = matches(meetings(both))
    assert [match.number for match in found] == list(range(1, len(found) + 1))
    assert len({match.at for match in found}) == len(found)


def test_drawn_notches_carry_through_to_the_zone_that_runs_there():
    from applique_grounds import SOURCE

    side = Edge(EdgeKind.PIECE, line((300, 100), (300, 250)), "front", 12.0, visible=False)
    rest = Edge(EdgeKind.FREE, line((300, 250), (250, 200), (300, 100)))
    front = piece(notches=(Notch((300.2, 180.0), SOURCE), Notch((0.0, 50.0), SOURCE)))
    parts, _ = make_parts(ground(front, zone("fin", region((side, rest)))), job())
    by_id = {part.id: part for part in parts}
    fin = [m.at for m in by_id["applique-fin-left"].marks if m.kind is MarkKind.NOTCH]
    whole = [m.at for m in by_id["piece-front-left"].marks if m.kind is MarkKind.NOTCH]
    assert fin == [pytest.approx((300.0, 180.0))]
    assert len(whole) == 2


def test_inward_curves_that_are_turned_under_are_clipped_and_outward_ones_are_not():
    leaf = zone("leaf", region(leaf_ring(at=(20, 200), allowance=5.0)))
    bay = (
        Edge(EdgeKind.FREE, line((100, 100), (0, 100), (0, 0), (100, 0)), "", 5.0),
        Edge(
            EdgeKind.FREE,
            Path((Cubic((100, 0), (60, 20), (60, 80), (100, 100)),), closed=False),
            "",
            5.0,
        ),
    )
    parts, _ = made(leaf, zone("bay", region(bay)))
    clips = [m for m in parts["applique-bay-left"].marks if m.kind is MarkKind.CLIP]
    assert len(clips) >= 5
    for clip in clips:
        (stroke,) = clip.path.segments
        assert tape_along(bay[1].path).foot(stroke.end).away_mm == pytest.approx(1.5, abs=0.02)
    assert not [m for m in parts["applique-leaf-left"].marks if m.kind is MarkKind.CLIP]


def test_an_inward_corner_is_clipped():
    corners = [(0, 0), (100, 0), (100, 100), (50, 40), (0, 100), (0, 0)]
    ring = tuple(Edge(EdgeKind.FREE, line(a, b), "", 5.0) for a, b in pairwise(corners))
    parts, _ = made(zone("notched", region(ring)))
    clips = [m for m in parts["applique-notched-left"].marks if m.kind is MarkKind.CLIP]
    assert [clip.at for clip in clips] == [(50, 40)]


def test_a_raw_edge_is_never_clipped():
    ring = tuple(replace(edge, allowance_mm=0.0) for edge in square_ring(0, 0, 90, 90))
    parts, _ = made(zone("plain", region(ring)))
    for part in parts.values():
        if part.kind is not PartKind.PIECE:
            assert not part.marks
