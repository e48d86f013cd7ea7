"""Edges that will meet are walked; what differs by more than fitters accept is told with the ease."""

import pytest
from applique_grounds import SOURCE, ground, job, line, piece, surface
from test_matching import SHARED, two_zones

from templater.applique import make_parts, walked
from templater.geometry.walk import tape_along
from templater.model.ground import Dart, Ground, SeamLine
from templater.model.problems import Severity


def two_pieces(first, second):
    front = piece(seams=(SeamLine("side", first, SOURCE),))
    back = piece(name="back", seams=(SeamLine("side", second, SOURCE),))
    return Ground(
        (600.0, 400.0), (front, back), (), (), (surface(front), surface(back)), (), (), ()
    )


def test_both_parts_of_a_shared_edge_are_as_long():
    results, problems = walked(ground(piece(), *two_zones()))
    assert problems == ()
    (result,) = results
    assert (result.first, result.second) == ('zone "lower"', 'zone "upper"')
    assert result.first_mm == pytest.approx(tape_along(SHARED).length_mm, abs=0.01)
    assert result.second_mm == pytest.approx(result.first_mm, abs=0.01)


def test_seams_of_one_name_are_walked_across_pieces():
    results, problems = walked(
        two_pieces(line((0, 0), (0, 300)), line((900, 0), (900, 150), (903, 304)))
    )
    (result,) = results
    assert result.first_mm == 300.0
    (problem,) = problems
    assert problem.severity is Severity.WARNING
    assert 'seam "side" of piece "back" is 4 mm (1.3 %) longer' in problem.message
    assert "ease in 4 mm" in problem.mend


@pytest.mark.parametrize(("longer", "told"), [(1.4, False), (1.6, True)])
def test_what_fitters_accept_is_not_told(longer, told):
    _, problems = walked(two_pieces(line((0, 0), (0, 300)), line((900, 0), (900, 300 + longer))))
    assert bool(problems) is told


def test_dart_legs_are_walked():
    made = ground(piece(darts=(Dart((150, 200), (140, 100), (160, 100), SOURCE),)))
    results, problems = walked(made)
    assert problems == ()
    assert results[0].first_mm == pytest.approx(results[0].second_mm)


def test_differences_are_told_in_inches_where_inches_are_read():
    made = ground(piece(darts=(Dart((150, 200), (140, 100), (160, 97), SOURCE),)))
    _, problems = make_parts(made, job(display="in"))
    assert "is 0.12 in (3.0 %) longer" in problems[0].message
