"""Cloth to buy: the length that the parts take of it, laid with their grain along it."""

from dataclasses import replace

import pytest

from templater.geometry.polygons import rectangle
from templater.model.curves import IDENTITY, Area, Transform
from templater.model.ground import Side
from templater.model.parts import PartKind
from templater.model.plan import ClothLine
from templater.sheets import lay_cloth

FLIP = Transform(a=-1.0)


def _line(parts):
    return ClothLine("mesh", False, len(parts), 0.0, 0.0, 1.0, 0.0)


def _job(made, width, folded=False):
    cloth = made.job.templates.cloth.model_copy(update={"width": width, "folded": folded})
    templates = made.job.templates.model_copy(update={"cloth": cloth})
    return made.job.model_copy(update={"templates": templates})


def _parts(made, pairs, grain=90.0):
    """So many mirrored pairs of 300 by 500 mm."""
    cut = Area(rectangle(0.0, 0.0, 300.0, 500.0))
    like = next(part for part in made.parts if part.kind is PartKind.APPLIQUE)
    return tuple(
        replace(
            like, id=f"{n}-{side}", zone=f"z{n}", side=side, to_side=move, cut=cut, fabric="mesh",
            copies=1, grain_deg=grain,
        )
        for n in range(pairs)
        for side, move in ((Side.LEFT, IDENTITY), (Side.RIGHT, FLIP))
    )  # fmt: skip


def _length(parts, job):
    (line,), problems = lay_cloth((_line(parts),), parts, job)
    assert not problems
    assert line.laid
    return line.length_mm


def test_rectangles_take_as_many_rows_as_go_across(fold_made):
    # Two of 300 and 5 between go across 700: two rows of 500 and 5 between. Each row is laid to
    # within the lay's own cells.
    assert _length(_parts(fold_made, 2), _job(fold_made, 700.0)) == pytest.approx(1005.0, abs=0.5)
    # With the grain across the part, it is 500 wide on the cloth: one a row.
    along = _parts(fold_made, 2, grain=0.0)
    assert _length(along, _job(fold_made, 700.0)) == pytest.approx(1215.0, abs=0.5)


def test_doubled_cloth_takes_pairs_once_and_the_rest_opened_out(fold_made):
    pairs = _parts(fold_made, 2)
    doubled = _job(fold_made, 1400.0, folded=True)
    assert _length(pairs, doubled) == pytest.approx(500.0, abs=0.5)
    lone = replace(pairs[0], id="lone", zone="lone", side=Side.CENTRE)
    assert _length((*pairs, lone), doubled) == pytest.approx(1000.0, abs=0.5)
    # A pair that is backed with web before it is cut is cut single.
    web = replace(pairs[0], id="web", kind=PartKind.WEB)
    (line,), _ = lay_cloth((_line(pairs),), (*pairs, web), doubled)
    assert line.length_mm == pytest.approx(1000.0, abs=0.5)


def test_a_part_wider_than_the_cloth_is_told_and_estimated(fold_made):
    parts = _parts(fold_made, 1)
    (line,), problems = lay_cloth((_line(parts),), parts, _job(fold_made, 250.0))
    assert [problem.code for problem in problems] == ["part-wider-than-cloth"]
    assert not line.laid
    assert line.length_mm == 1.0
