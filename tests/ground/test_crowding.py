"""Pieces drawn over each other are told with their place, before anything is cut of either."""

import pytest
from drawings import box, codes, ground_of

from templater.model.problems import Severity

FRONT = box(0, 0, 100, 200)


def told(other, zone):
    _, problems = ground_of({"piece front": [FRONT], "piece back": [other], "zone a": [zone]})
    return [problem for problem in problems if problem.code == "pieces-overlap"]


def test_a_zone_on_what_two_pieces_share_is_an_error_at_its_place():
    (problem,) = told(box(60, 0, 160, 200), box(70, 20, 90, 60))
    assert problem.severity is Severity.ERROR
    assert "80.0 cm²" in problem.message  # 40 by 200 mm
    assert 60 <= problem.at_mm[0] <= 100
    assert 0 <= problem.at_mm[1] <= 200
    assert "apart" in problem.mend


def test_without_a_zone_there_it_is_a_warning():
    (problem,) = told(box(60, 0, 160, 200), box(10, 20, 40, 60))
    assert problem.severity is Severity.WARNING


def test_the_same_outline_twice_is_told_as_that():
    (problem,) = told(FRONT, box(10, 20, 40, 60))
    assert "drawn twice" in problem.message
    assert "Delete" in problem.mend


@pytest.mark.parametrize("left", [100, 99.5, 120])
def test_pieces_side_by_side_are_left_alone(left):
    assert told(box(left, 0, left + 100, 200), box(10, 20, 40, 60)) == []


def test_one_inside_the_other_is_told():
    (problem,) = told(box(20, 20, 60, 60), box(70, 20, 90, 60))
    assert problem.severity is Severity.WARNING


def test_a_single_piece_is_no_crowd():
    _, problems = ground_of({"piece front": [FRONT], "zone a": [box(10, 20, 40, 60)]})
    assert codes(problems) == []
