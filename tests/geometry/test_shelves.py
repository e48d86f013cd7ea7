"""Boxes in rows across a roll: none overlaps another or leaves the roll, and the order is settled."""

import itertools

from hypothesis import given, settings
from hypothesis import strategies as st

from templater.geometry.shelves import shelve

SIZES = st.lists(st.tuples(st.floats(1.0, 500.0), st.floats(1.0, 400.0)), min_size=1, max_size=25)


@given(SIZES, st.sampled_from([500.0, 610.0, 914.0]), st.sampled_from([0.0, 10.0]))
@settings(deadline=None, max_examples=80)
def test_boxes_lie_on_the_roll_and_apart(sizes, width, spacing):
    places, lengths = shelve(sizes, width, spacing, 1000.0)
    boxes = [
        (p.stretch, p.from_left_mm, p.from_top_mm, p.from_left_mm + w, p.from_top_mm + h)
        for p, (w, h) in zip(places, sizes, strict=True)
    ]
    for stretch, x0, y0, x1, y1 in boxes:
        assert min(x0, y0) >= 0.0
        assert x1 <= width + 1e-6
        assert y1 <= lengths[stretch] + 1e-6 <= 1000.0 + 1e-3
    for a, b in itertools.combinations(boxes, 2):
        apart = max(a[1] - b[3], b[1] - a[3], a[2] - b[4], b[2] - a[4])
        assert a[0] != b[0] or apart >= spacing - 1e-6


def test_small_boxes_stand_beside_tall_ones():
    places, lengths = shelve([(100.0, 50.0), (300.0, 200.0), (150.0, 80.0)], 600.0, 10.0)
    assert lengths == (200.0,)
    assert [p.from_left_mm for p in places] == [470.0, 0.0, 310.0]
    assert {p.from_top_mm for p in places} == {0.0}


def test_a_stretch_ends_where_it_may_be_no_longer():
    places, lengths = shelve([(500.0, 400.0)] * 3, 600.0, 10.0, 850.0)
    assert lengths == (810.0, 400.0)
    assert [p.stretch for p in places] == [0, 0, 1]
