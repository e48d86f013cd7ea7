"""The preview: what is seen on stage."""

import io
import time
from dataclasses import replace

import numpy as np
import pytest
from PIL import Image
from writing_samples import small_plan, svg_ink

from templater.catalogue.colours import colour_or_neutral
from templater.model.ground import Make, Side
from templater.model.stones import StoneShape
from templater.writing.preview_marks import StoneKinds
from templater.writing.preview_picture import preview_png
from templater.writing.preview_scene import make_scene
from templater.writing.preview_stones import stone_facets
from templater.writing.preview_svg import preview_svg


def picture(plan):
    return np.asarray(Image.open(io.BytesIO(preview_png(plan))).convert("RGB")).astype(int)


def near(pixels, colour, tolerance=6):
    rgb = [int(colour[i : i + 2], 16) for i in (1, 3, 5)]
    return (np.abs(pixels - rgb) <= tolerance).all(axis=-1)


def test_a_pair_stands_apart_and_a_fold_is_one():
    pair, fold = make_scene(small_plan(Make.PAIR)), make_scene(small_plan(Make.FOLD))
    left, right = "front, wearer’s left", "front, wearer’s right"
    assert [[text for text, _ in block.captions] for block in pair.blocks] == [[left], [right]]
    (block,) = fold.blocks
    assert block.captions == (
        (left, pytest.approx(32.5, abs=0.1)),
        (right, pytest.approx(97.5, abs=0.1)),
    )
    assert fold.size_mm == pytest.approx((130.0, 110.0), abs=0.05)
    assert pair.size_mm[0] > fold.size_mm[0] + 10.0
    assert pair.blocks[0].box[2] + 10.0 < pair.blocks[1].box[0]
    assert [{s.side for s in block.stones} for block in pair.blocks] == [{Side.LEFT}, {Side.RIGHT}]


def test_cloths_that_meet_at_the_fold_are_one_patch():
    (block,) = make_scene(small_plan(Make.FOLD)).blocks
    assert len(block.patches) == 3  # the piece once, and the leaf on either side


def test_zones_bear_the_colour_of_their_fabric():
    pixels = picture(small_plan())
    cloth = near(pixels, colour_or_neutral("dark kelp"))
    assert 0.05 < cloth.mean() < 0.5
    left, right = cloth[:, : cloth.shape[1] // 2], cloth[:, cloth.shape[1] // 2 :]
    assert left.sum() == pytest.approx(right.sum(), rel=0.02)


def test_stones_hide_the_cloth_where_they_lie():
    plan = small_plan()
    bare = picture(replace(plan, stones=plan.stones[:0]))
    kinds = StoneKinds(plan)
    assert kinds.shape("navette 10x5") is StoneShape.NAVETTE
    assert (
        near(picture(plan), colour_or_neutral("dark kelp")).mean()
        < near(bare, colour_or_neutral("dark kelp")).mean()
    )


def test_finishes_differ_in_shape_not_only_in_colour():
    def grey(mark):
        facets = stone_facets(StoneShape.ROUND, 3.9, 3.9, 0.0, "sea green", mark)
        return [ring for ring, _ in facets]

    shapes = [grey(mark) for mark in range(4)]
    assert all(a != b for i, a in enumerate(shapes) for b in shapes[i + 1 :])


@pytest.mark.parametrize("shape", list(StoneShape))
def test_facets_stay_within_the_stone(shape):
    for turn in (0.0, 33.0):
        facets = stone_facets(shape, 10.0, 5.0, turn, "navy", 1)
        reach = 5.0 if shape is not StoneShape.ROUND else 2.5
        for ring, _ in facets:
            for x, y in ring:
                assert (x * x + y * y) ** 0.5 <= reach * 1.2


def test_plain_always_looks_plain():
    plan = small_plan()
    only_ab = replace(plan, stones=tuple(s._replace(finish="ab") for s in plan.stones))
    assert StoneKinds(plan).mark("plain") == 0
    assert StoneKinds(only_ab).mark("ab") == StoneKinds(plan).mark("ab") == 1


def test_svg_and_picture_show_the_same():
    plan = small_plan()
    by_svg = svg_ink(preview_svg(plan), 4.0)
    by_png = (
        1.0
        - np.asarray(
            Image.open(io.BytesIO(preview_png(plan)))
            .convert("L")
            .resize(by_svg.shape[::-1], Image.Resampling.BOX),
            dtype=float,
        )
        / 255.0
    )
    assert np.abs(by_svg - by_png).mean() < 0.02


def test_a_plan_without_stones_or_pieces_still_has_a_preview():
    plan = small_plan()
    ground = replace(plan.ground, surfaces=(), pieces=(), zones=())
    bare = replace(plan, stones=(), parts=(), ground=ground)
    assert preview_png(bare).startswith(b"\x89PNG")
    assert b"</svg>" in preview_svg(bare)


def test_pictures_are_at_most_2000_pixels_long():
    assert max(Image.open(io.BytesIO(preview_png(small_plan()))).size) <= 2001


def test_ten_thousand_stones_take_seconds_not_minutes():
    plan = small_plan()
    one = plan.stones[0]
    many = tuple(one._replace(x_mm=i % 100 * 0.6 + 5, y_mm=i // 100 + 5.0) for i in range(10_000))
    start = time.perf_counter()
    preview_png(replace(plan, stones=many))
    assert time.perf_counter() - start < 10.0  # about 1 s when nothing else runs


def test_names_are_escaped():
    plan = replace(small_plan(), name="a<b>&\x07")
    assert b"a&lt;b&gt;&amp;" in preview_svg(plan)
