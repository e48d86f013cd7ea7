"""The half of a part cut on the fold: unfolded it is the whole part again."""

import pytest
import shapely

from templater.geometry.flatten import flatten
from templater.geometry.polygons import to_polygon
from templater.model.ground import Side
from templater.model.parts import PartKind
from templater.model.sheets import Lettering, Pen, Stroke
from templater.sheets.fold_half import ON_THE_FOLD, half_sheets

STEMS = {"front": "front", "blade": "blade"}


def halves(made):
    """Of the piece, and of the blade as if it had no web."""
    parts = [part for part in made.parts if part.kind is not PartKind.WEB]
    return {sheet.name: sheet for sheet in half_sheets(made.ground, parts, made.job, STEMS)}


def test_only_parts_cut_on_the_fold_without_web_have_a_half(made):
    names = [sheet.name for sheet in made.sheets if sheet.kind == "half"]
    joined = made.ground.surfaces[0].joined_at_fold
    assert names == (["print/front-half"] if joined else [])
    assert set(halves(made)) == (
        {"print/front-half", "print/blade-applique-half"} if joined else set()
    )


@pytest.fixture
def folded(fold_made):
    return fold_made


@pytest.mark.parametrize(
    ("name", "kind"),
    [("print/front-half", PartKind.PIECE), ("print/blade-applique-half", PartKind.APPLIQUE)],
)
def test_unfolded_it_is_the_whole_part(folded, name, kind):
    sheet = halves(folded)[name]
    (part,) = [p for p in folded.parts if p.kind is kind and p.side is Side.CENTRE]
    layers = {layer.name: layer.items for layer in sheet.layers}
    (cut,) = [item.path for item in layers["cut"]]
    (fold,) = [i.path for i in layers["fold"] if isinstance(i, Stroke) and i.pen is Pen.FOLD]
    assert {cut.start, cut.end} == {fold.start, fold.end}
    x = fold.start[0]  # the demo's fold is upright
    assert fold.end[0] == pytest.approx(x, abs=1e-6)
    half = shapely.Polygon(flatten(cut, 0.001))
    whole = shapely.union(half, shapely.transform(half, lambda xy: xy * [-1, 1] + [2 * x, 0]))
    wanted = to_polygon(part.cut, 0.001)
    assert whole.area == pytest.approx(wanted.area, abs=0.5)
    assert 2.0 * half.area == pytest.approx(wanted.area, abs=0.5)


def test_it_says_to_be_laid_on_the_fold_and_draws_the_bent_arrow(folded):
    for sheet in halves(folded).values():
        words = [i.text for layer in sheet.layers for i in layer.items if isinstance(i, Lettering)]
        assert ON_THE_FOLD in words
        assert "place on the fold" in words
        assert not any(word == "cut 1" or word.endswith(" · cut 1") for word in words)
        items = next(layer.items for layer in sheet.layers if layer.name == "fold")
        (fold,) = [i.path for i in items if isinstance(i, Stroke) and i.pen is Pen.FOLD]
        line = shapely.LineString([fold.start, fold.end])
        ends = [
            i.path.segments[0].end
            for i in items
            if isinstance(i, Stroke) and i.pen is Pen.MARK and len(i.path.segments) == 2
        ]
        assert len(ends) == 2  # two heads, their tips on the fold
        assert all(line.distance(shapely.Point(tip)) < 1e-6 for tip in ends)


def test_its_label_lies_inside_it_clear_of_the_arrow(folded):
    for sheet in halves(folded).values():
        cut = next(layer.items for layer in sheet.layers if layer.name == "cut")[0].path
        inside = shapely.Polygon(flatten(cut, 0.01))
        label = [
            i
            for layer in sheet.layers
            if layer.name == "text"
            for i in layer.items
            if isinstance(i, Lettering) and "right side up" in i.text
        ]
        assert label
        assert all(inside.contains(shapely.Point(i.at)) for i in label)


def test_the_half_lies_on_the_drawn_side(folded):
    sheet = halves(folded)["print/front-half"]
    cut = next(layer.items for layer in sheet.layers if layer.name == "cut")[0].path
    # The demo is drawn to the right of its fold.
    assert shapely.Polygon(flatten(cut, 0.01)).centroid.x > cut.start[0]
