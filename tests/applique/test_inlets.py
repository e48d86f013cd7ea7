"""Inlets between allowances: filled where shears could not turn, told, and never over the seam line.

That shears need 4 mm is common practice, no source.
"""

from itertools import pairwise

import pytest
import shapely
from applique_grounds import ground, job, line, piece, region, square_ring, zone
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from templater.applique import make_parts
from templater.geometry.flatten import flatten
from templater.geometry.moves import reversed_path
from templater.geometry.offset import SLIT_MM, offset_region
from templater.geometry.polygons import differing, overlap, to_polygon, without
from templater.model.curves import Arc, Line, Path
from templater.model.ground import Edge, EdgeKind
from templater.model.problems import Severity

SAID = {"inlet-uncut", "inlet-beside-raw-edge"}


def ring_of(corners, widths):
    around = [*corners, corners[0]]
    return tuple(
        Edge(EdgeKind.FREE, line(a, b), allowance_mm=width)
        for (a, b), width in zip(pairwise(around), widths, strict=True)
    )


def slotted(width, depth, left, right, *, bottom=5.0, rest=5.0):
    """A block of 200 by 120 mm with a slot from above, its middle at x = 100."""
    x0, x1 = 100 - width / 2, 100 + width / 2
    corners = [
        (0, 0), (200, 0), (200, 120), (x1, 120), (x1, 120 - depth), (x0, 120 - depth), (x0, 120),
        (0, 120),
    ]  # fmt: skip
    return ring_of(corners, [rest, rest, rest, right, bottom, left, rest, rest])


def cut_and_notes(*rings):
    made = ground(piece(), zone("comb", region(*rings)))
    parts, problems = make_parts(made, job(zones={"comb": {"web": False}}))
    part = next(part for part in parts if part.zone)
    return part, [problem for problem in problems if problem.code in SAID]


def plain_cut(*rings):
    return to_polygon(offset_region(rings)[0], 0.001)


@pytest.mark.parametrize("width", [6.0, 9.9, 10.5, 12.0, 13.9])
def test_a_slit_between_two_allowances_is_not_cut_and_is_told(width):
    part, (note,) = cut_and_notes(slotted(width, 60, 5, 5))
    expected = shapely.box(-5, -5, 205, 125)
    assert differing(to_polygon(part.cut, 0.001), expected).area < 1e-3
    assert (note.code, note.severity) == ("inlet-uncut", Severity.NOTE)
    assert 'zone "comb" has an inlet narrower than 14 mm' in note.message
    assert "allowances of 5 mm" in note.message
    assert note.at_mm[0] == pytest.approx(100.0, abs=0.1)
    assert note.at_mm[1] == pytest.approx(90.0, abs=1.0)
    assert "slash" in note.mend


@pytest.mark.parametrize("width", [14.1, 18.0, 40.0])
def test_a_wider_inlet_is_cut_as_it_was(width):
    part, notes = cut_and_notes(slotted(width, 60, 5, 5))
    assert notes == []
    slot = shapely.box(100 - width / 2 + 5, 65, 100 + width / 2 - 5, 125)
    expected = without(shapely.box(-5, -5, 205, 125), slot)
    assert differing(to_polygon(part.cut, 0.001), expected).area < 1e-3


@settings(deadline=None, max_examples=80)
@given(
    st.floats(2.0, 40.0),
    st.floats(20.0, 90.0),
    st.sampled_from([2.0, 5.0, 8.0, 12.0]),
    st.sampled_from([2.0, 5.0, 8.0, 12.0]),
)
def test_a_slot_is_filled_where_less_than_4_mm_is_left(width, depth, left, right):
    gap = width - left - right
    assume(abs(gap - SLIT_MM) > 0.05)
    ring = slotted(width, depth, left, right)
    part, notes = cut_and_notes(ring)
    cloth = to_polygon(part.cut, 0.001)
    middle = shapely.LineString([(100 + (left - right) / 2, y) for y in (120 - depth + 6, 119)])
    assert (gap < SLIT_MM) is bool(cloth.covers(middle))
    assert (gap < SLIT_MM) is (len(notes) == 1)
    assert cloth.is_valid
    finished = to_polygon(part.finished, 0.001)
    assert finished.equals(to_polygon(region(ring).area, 0.001)), "the seam line stays"
    assert cloth.buffer(1e-6).covers(finished)
    added = without(cloth, plain_cut(ring))
    assert added.buffer(-SLIT_MM / 2 - 0.01).is_empty, "nothing is filled that shears could cut"


def test_an_edge_without_allowance_stays_the_cut_line_and_its_slit_is_told():
    ring = slotted(8, 60, 6, 0.0, bottom=0.0, rest=0.0)
    part, (note,) = cut_and_notes(ring)
    cloth = to_polygon(part.cut, 0.001)
    assert differing(cloth, plain_cut(ring)).area < 1e-3
    assert note.code == "inlet-beside-raw-edge"
    assert "allowance of 6 mm leaves 2 mm to cut" in note.message


def test_raw_slots_are_cut_as_they_were_drawn_without_a_word():
    ring = slotted(2, 60, 0.0, 0.0, bottom=0.0, rest=0.0)
    part, notes = cut_and_notes(ring)
    assert notes == []
    assert differing(to_polygon(part.cut, 0.001), to_polygon(region(ring).area, 0.001)).area < 1e-9


def notched(half_width, depth=80.0):
    corners = [(0, 0), (200, 0), (200, 120), (100 + half_width, 120), (100, 120 - depth),
               (100 - half_width, 120), (0, 120)]  # fmt: skip
    return ring_of(corners, [5.0] * 7)


def test_an_inward_corner_keeps_its_point():
    """60 mm wide and 80 deep: 41°."""
    ring = notched(30)
    part, notes = cut_and_notes(ring)
    assert notes == []
    assert differing(to_polygon(part.cut, 0.001), plain_cut(ring)).area < 1e-3


def test_a_sharp_inward_corner_is_cut_to_where_it_is_4_mm_wide():
    """30 mm wide and 80 deep: 21°, below the 29° at which tips are blunted."""
    ring = notched(15)
    part, (note,) = cut_and_notes(ring)
    (added,) = [without(to_polygon(part.cut, 0.001), plain_cut(ring))]
    x0, y0, x1, _ = added.bounds
    assert x1 - x0 == pytest.approx(SLIT_MM, abs=0.4)
    # Its point lies 5/sin(θ/2) above the drawn one.
    half = shapely.Point(0, 0).distance(shapely.Point(15, 80))
    assert y0 == pytest.approx(40 + 5 * half / 15, abs=0.01)
    assert note.at_mm[0] == pytest.approx(100, abs=3)


def test_a_bay_behind_a_narrow_mouth_stays_a_hole_and_the_mouth_is_told():
    corners = [
        (0, 0), (200, 0), (200, 150), (106, 150), (106, 110), (140, 110), (140, 50), (60, 50),
        (60, 110), (94, 110), (94, 150), (0, 150),
    ]  # fmt: skip
    part, (note,) = cut_and_notes(ring_of(corners, [5.0] * 12))
    (hole,) = to_polygon(part.cut, 0.001).interiors
    assert differing(shapely.Polygon(hole), shapely.box(65, 55, 135, 105)).area < 1e-3
    assert note.at_mm == pytest.approx((100, 130), abs=2)


def hole(x0, y0, x1, y1, width):
    return tuple(
        Edge(edge.kind, reversed_path(edge.path), allowance_mm=width)
        for edge in reversed(square_ring(x0, y0, x1, y1))
    )


@pytest.mark.parametrize(("size", "closed"), [(9.0, True), (13.0, True), (15.0, False)])
def test_a_hole_that_leaves_too_little_to_cut_is_closed_and_told(size, closed):
    ring = (square_ring(0, 0, 90, 90, 5.0), hole(40, 40, 40 + size, 60, 5.0))
    made = ground(piece(), zone("ring", region(*ring)))
    parts, problems = make_parts(made, job(zones={"ring": {"web": False}}))
    part = next(part for part in parts if part.zone)
    assert (part.cut.holes == ()) is closed
    assert ("hole-closed" in {problem.code for problem in problems}) is closed


def test_an_inlet_of_a_piece_is_told_with_its_name():
    ring = slotted(12, 60, 10, 10, bottom=10.0, rest=10.0)
    parts, problems = make_parts(ground(piece(ring=ring)), job())
    (note,) = [problem for problem in problems if problem.code in SAID]
    assert note.message.startswith('piece "front" has an inlet narrower than 24 mm')
    assert differing(to_polygon(parts[0].cut, 0.001), shapely.box(-10, -10, 210, 130)).area < 1e-3


def test_an_outline_drawn_as_the_cut_line_is_left_alone():
    ring = slotted(3, 60, 10, 10, bottom=10.0, rest=10.0)
    parts, problems = make_parts(ground(piece(ring=ring, outline_is="cut")), job())
    assert [problem for problem in problems if problem.code in SAID] == []
    assert overlap(to_polygon(parts[0].cut, 0.001), shapely.box(99, 70, 101, 119)).area == 0.0


@st.composite
def bays(draw):
    """A block with three bays of straight or curved sides, none of them alike, and allowances."""
    corners, widths, x = [(0.0, 0.0), (300.0, 0.0), (300.0, 120.0)], [], 280.0
    for _ in range(3):
        mouth, end = draw(st.floats(1.0, 45.0)), draw(st.floats(0.5, 45.0))
        depth, lean = draw(st.floats(5.0, 100.0)), draw(st.floats(-12.0, 12.0))
        middle = x - 45.0
        corners += [
            (middle + mouth / 2, 120.0),
            (middle + lean + end / 2, 120.0 - depth),
            (middle + lean - end / 2, 120.0 - depth),
            (middle - mouth / 2, 120.0),
        ]
        x -= 92.0
    corners.append((0.0, 120.0))
    bulges = [draw(st.sampled_from([0.0, 0.0, 0.1, -0.1, 0.25])) for _ in corners]
    widths = [draw(st.sampled_from([0.0, 3.0, 5.0, 8.0, 12.0])) for _ in corners]
    if draw(st.booleans()):
        widths = [draw(st.sampled_from([3.0, 5.0, 8.0]))] * len(corners)
    around = [*corners, corners[0]]
    return tuple(
        Edge(
            EdgeKind.FREE,
            Path((Arc(a, b, bulge) if bulge else Line(a, b),), closed=False),
            allowance_mm=width,
        )
        for (a, b), bulge, width in zip(pairwise(around), bulges, widths, strict=True)
    )


@settings(deadline=None, max_examples=120)
@given(bays())
def test_whatever_the_bay_its_filling_is_clean(ring):
    """A simple ring round the whole seam line; filled is only what no disc of 4 mm can enter; edges
    without allowance stay the cut line; what is new of the line is straight and short.
    """
    drawn = to_polygon(region(ring).area, 0.001)
    assume(drawn.is_valid and drawn.exterior.is_ccw)
    plain = offset_region([ring])[0]
    filled = offset_region([ring], inlet_mm=SLIT_MM)[0]
    cloth, before = to_polygon(filled, 0.001), to_polygon(plain, 0.001)
    assume(before.is_valid)
    assert cloth.is_valid
    assert cloth.buffer(0.02).covers(drawn)
    assert cloth.buffer(0.02).covers(before)
    added = without(cloth, before)
    assert added.buffer(-SLIT_MM / 2 - 0.02).is_empty
    raw = [to_line(edge.path) for edge in ring if edge.allowance_mm == 0.0]
    touched = shapely.union_all(raw).intersection(added.buffer(-0.02))
    assert touched.length < 0.3
    known = before.boundary.buffer(0.03)
    for path in (filled.outline, *filled.holes):
        for segment in path.segments:
            new = to_line(Path((segment,), closed=False)).difference(known)
            if new.length > 0.1:
                assert isinstance(segment, Line)
                assert max(each.length for each in shapely.get_parts(new)) <= SLIT_MM + 0.01


def to_line(path):
    return shapely.LineString(flatten(path, 0.001))
