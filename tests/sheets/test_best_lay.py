"""The best lay: verified, kept, used again, and refused by name where its library is missing."""

import pytest
from shapely import Polygon
from shapely.affinity import affine_transform

from templater.model.lays import dump_lays, load_lays
from templater.model.problems import Severity
from templater.sheets import appliques as room
from templater.sheets import best_lays, make_sheets
from templater.sheets.best_lay import best_lay
from templater.sheets.lay import quick_lay
from templater.sheets.lay_shapes import LayShape


def _quick(job):
    templates = job.templates.model_copy(
        update={"lay": "best", "lay_seconds": 8, "sheet": (420.0, 620.0)}
    )
    return job.model_copy(update={"templates": templates})


def _laid(shapes, spots):
    moves = [(spot.sheet, spot.move) for spot in spots]
    return [
        (n, affine_transform(s.geometry, (m.a, m.c, m.b, m.d, m.e, m.f)))
        for s, (n, m) in zip(shapes, moves, strict=True)
    ]


def test_wedges_are_laid_head_to_tail_and_apart():
    pytest.importorskip("spyrrow")
    wedge = Polygon([(0.0, 0.0), (60.0, 0.0), (4.0, 90.0), (0.0, 90.0)])
    shapes = [LayShape(wedge, (0, 180))] * 6
    spots = best_lay(shapes, 140.0, 300.0, 3.0, 4)
    laid = _laid(shapes, spots)
    for index, (sheet, one) in enumerate(laid):
        x0, y0, x1, y1 = one.bounds
        assert min(x0, y0, 140.0 - x1, 300.0 - y1) >= -0.001
        for other, neighbour in laid[:index]:
            if other == sheet:
                assert one.distance(neighbour) >= 3.0 - 0.002
    quick = _laid(shapes, quick_lay(shapes, 140.0, 300.0, 3.0))
    assert max(g.bounds[3] for _, g in laid) <= max(g.bounds[3] for _, g in quick) + 0.001


def test_a_lay_is_kept_and_used_again(pair_made):
    pytest.importorskip("spyrrow")
    job = _quick(pair_made.job)
    lays, problems = best_lays(pair_made.parts, job, ())
    assert [p.code for p in problems] == ["lay-not-repeatable"]
    assert all(p.severity is Severity.NOTE for p in problems)
    kept = load_lays(dump_lays(lays))
    assert kept == lays
    again, said = best_lays(pair_made.parts, job, kept)
    assert again == lays
    assert said == problems
    arguments = (
        pair_made.ground, pair_made.parts, pair_made.passes, pair_made.stones, pair_made.sizes, job,
    )  # fmt: skip
    placed, _, _ = make_sheets(*arguments, lays)
    assert placed == make_sheets(*arguments, kept)[0]
    assert {p.part for p in placed} == {part.id for part in pair_made.parts}


def test_without_its_library_it_is_refused_with_the_mend_unless_all_is_kept(pair_made, monkeypatch):
    job = _quick(pair_made.job)
    monkeypatch.setattr(room, "can_lay_best", lambda: False)
    lays, problems = best_lays(pair_made.parts, job, ())
    assert lays == ()
    assert [(p.code, p.severity) for p in problems] == [("lay-needs-library", Severity.ERROR)]
    assert "[lay]" in problems[0].mend


@pytest.mark.parametrize(
    "data", [b"", b"[]", b'{"version": 2}', b'{"version": 1, "lays": {"a": [[1]]}}']
)
def test_a_spoilt_lay_is_made_anew(data):
    assert load_lays(data) == ()
