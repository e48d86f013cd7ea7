import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from templater.geometry.register import corner_marks, tells_turned

SPANS = st.floats(5.0, 900.0)


@settings(deadline=None, max_examples=200)
@given(SPANS, SPANS)
def test_marks_lie_outside_the_box_and_tell_a_turned_or_flipped_sheet(wide, tall):
    marks = corner_marks((10.0, 20.0, 10.0 + wide, 20.0 + tall), 6.0)
    assert tells_turned(marks)
    # Independently: the triangle's sides differ, so that no congruence but standing still maps it.
    a, b, c = marks
    sides = sorted((math.dist(a, b), math.dist(b, c), math.dist(c, a)))
    assert min(sides[1] - sides[0], sides[2] - sides[1]) > 3.0
    for x, y in marks:
        on_side = x in {4.0, round(16.0 + wide, 4)} and 14.0 <= y <= 26.0 + tall + 8.0001
        on_top = y == round(26.0 + tall, 4) and 4.0 <= x <= 16.0 + wide
        assert on_side or on_top


@pytest.mark.parametrize(
    "marks",
    [
        ((0.0, 0.0), (100.0, 0.0)),
        ((0.0, 0.0), (100.0, 0.0), (50.0, 30.0)),
        ((0.0, 0.0), (100.0, 0.0), (100.0, 60.0), (0.0, 60.0)),
        ((0.0, 0.0), (80.0, 0.0), (0.0, 80.5)),
    ],
)
def test_marks_that_match_themselves_are_seen(marks):
    assert not tells_turned(marks)
