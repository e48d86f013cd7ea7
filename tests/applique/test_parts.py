"""Parts as the maker cuts them: the right sides, the right words, the right lines."""

from itertools import pairwise

import pytest
from applique_grounds import (
    MIRROR_LINE,
    ground,
    job,
    leaf_ring,
    line,
    piece,
    region,
    square_ring,
    zone,
)

from templater.applique import make_parts
from templater.geometry.measure import area_mm2, path_box
from templater.geometry.polygons import to_polygon
from templater.model.ground import Edge, EdgeKind, Make, Side
from templater.model.parts import MarkKind, PartKind

FROND = {"frond": {"fabric": "sea-green cotton"}}


def parts_of(made, *zones, **tables):
    parts, problems = make_parts(ground(made, *zones), job(**tables))
    return {part.id: part for part in parts}, problems


def words(part):
    return " · ".join(part.label.lines)


def test_a_pair_gives_left_and_right_and_a_web_for_each():
    parts, problems = parts_of(piece(), zone("frond", region(leaf_ring(at=(20, 200)))), zones=FROND)
    assert problems == ()
    assert sorted(parts) == [
        "applique-frond-left",
        "applique-frond-right",
        "piece-front-left",
        "piece-front-right",
        "web-frond-left",
        "web-frond-right",
    ]
    left, right = parts["applique-frond-left"], parts["applique-frond-right"]
    assert (left.cut, left.finished) == (right.cut, right.finished)
    assert not left.to_side.mirrors
    assert right.to_side.mirrors


def test_only_the_web_is_reversed_and_says_so():
    parts, _ = parts_of(piece(), zone("frond", region(leaf_ring(at=(20, 200)))), zones=FROND)
    web, cloth = parts["web-frond-left"], parts["applique-frond-left"]
    assert web.reversed
    assert web.kind is PartKind.WEB
    assert not cloth.reversed
    assert "REVERSED – trace on paper side" in words(web)
    assert "right side up" in words(cloth)
    assert "REVERSED" not in words(cloth)
    assert web.finished == cloth.cut


def test_a_zone_without_web_has_no_web_part():
    parts, _ = parts_of(
        piece(), zone("frond", region(leaf_ring(at=(20, 200)))), zones={"frond": {"web": False}}
    )
    assert not [part for part in parts.values() if part.kind is PartKind.WEB]


@pytest.mark.parametrize(("side", "said"), [("left", "WEARER'S LEFT"), ("right", "WEARER'S RIGHT")])
def test_the_label_says_what_the_maker_must_know(side, said):
    parts, _ = parts_of(
        piece(), zone("frond", region(leaf_ring(at=(20, 200), allowance=5.0))), zones=FROND
    )
    text = words(parts[f"applique-frond-{side}"])
    for word in ("Kelp leotard, front", "frond", said, "sea-green cotton", "cut 1"):
        assert word in text
    assert "allowance 5 mm included" in text


def test_inches_are_shown_as_a_tape_has_them():
    ring = leaf_ring(at=(20, 200), allowance=25.4 * 3 / 16)
    parts, _ = parts_of(piece(), zone("frond", region(ring)), display="in")
    assert "allowance 3/16 in included" in words(parts["applique-frond-left"])


def fold_half():
    """A half 150 wide whose fold is its right side, x = 150."""
    corners = [(0, 0), (150, 0), (150, 400), (0, 400), (0, 0)]
    kinds = (EdgeKind.FREE, EdgeKind.FOLD, EdgeKind.FREE, EdgeKind.FREE)
    return tuple(
        Edge(kind, line(a, b), allowance_mm=0.0 if kind is EdgeKind.FOLD else 10.0)
        for kind, a, b in zip(kinds, corners, corners[1:], strict=False)
    )


def fold_zone(allowance=5.0):
    corners = [(100.0, 100.0), (150.0, 120.0), (150.0, 180.0), (100.0, 200.0), (100.0, 100.0)]
    kinds = (EdgeKind.FREE, EdgeKind.FOLD, EdgeKind.FREE, EdgeKind.FREE)
    return tuple(
        Edge(kind, line(a, b), allowance_mm=0.0 if kind is EdgeKind.FOLD else allowance)
        for kind, a, b in zip(kinds, corners, corners[1:], strict=False)
    )


def test_what_touches_the_fold_is_one_part_and_the_rest_are_two():
    from templater.model.ground import Fold

    made = piece(Make.FOLD, Fold((150.0, 0.0), (150.0, 400.0)), fold_half())
    parts, _ = parts_of(
        made,
        zone("heart", region(fold_zone())),
        zone("side", region(square_ring(10, 10, 60, 60))),
        zones={"heart": {"web": False}, "side": {"web": False}},
    )
    assert sorted(parts) == [
        "applique-heart-centre",
        "applique-side-left",
        "applique-side-right",
        "piece-front-centre",
    ]
    heart = parts["applique-heart-centre"]
    assert heart.side is Side.CENTRE
    assert area_mm2(heart.finished) == pytest.approx(2 * 80 * 50, abs=1e-9)
    assert path_box(heart.finished.outline) == pytest.approx((100, 100, 200, 200))
    x0, _, x1, _ = path_box(heart.cut.outline)
    assert (x0, x1) == pytest.approx((95, 205))
    assert area_mm2(parts["piece-front-centre"].cut) == pytest.approx(320 * 420)
    assert "CENTRE" in words(heart)


def test_an_opened_ring_that_meets_the_fold_twice_has_a_hole():
    from templater.applique.unfold import rings_area, unfolded
    from templater.model.ground import Fold

    corners = [
        (0, 0), (50, 0), (50, 10), (10, 10), (10, 40), (50, 40), (50, 50), (0, 50), (0, 0),
    ]  # fmt: skip
    ring = tuple(
        Edge(EdgeKind.FOLD if a[0] == b[0] == 50 else EdgeKind.FREE, line(a, b))
        for a, b in pairwise(corners)
    )
    opened = rings_area(unfolded((ring,), Fold((50.0, 0.0), (50.0, 1.0))))
    assert len(opened.holes) == 1
    assert area_mm2(opened) == pytest.approx(100 * 50 - 80 * 30)


def test_an_outline_drawn_as_the_cut_line_is_cut_as_drawn():
    parts, _ = parts_of(piece(outline_is="cut"))
    part = parts["piece-front-left"]
    assert path_box(part.cut.outline) == pytest.approx((0, 0, 300, 400))
    assert path_box(part.finished.outline) == pytest.approx((10, 10, 290, 390))


def test_allowances_wider_than_the_piece_are_refused_with_a_mend():
    parts, problems = parts_of(piece(outline_is="cut", allowance=160.0))
    assert parts == {}
    assert [p.code for p in problems] == ["allowance-too-wide"]
    assert "front" in problems[0].message
    assert problems[0].mend


def test_register_marks_belong_to_the_zone():
    marks = ((0.0, 0.0), (290.0, 0.0), (0.0, 380.0))
    parts, _ = parts_of(piece(), zone("frond", region(leaf_ring(at=(20, 200))), register=marks))
    found = parts["applique-frond-left"].marks
    assert tuple(m.at for m in found if m.kind is MarkKind.REGISTER) == marks


def test_two_regions_have_names_of_their_own():
    made = zone("frond", region(square_ring(0, 0, 50, 50)), region(square_ring(80, 0, 140, 50)))
    parts, _ = parts_of(piece(), made, zones={"frond": {"web": False}})
    ids = [i for i in parts if i.startswith("applique")]
    assert ids == [
        "applique-frond.1-left",
        "applique-frond.1-right",
        "applique-frond.2-left",
        "applique-frond.2-right",
    ]


def test_mirror_line_is_where_the_right_side_comes_from():
    parts, _ = parts_of(piece(), zone("frond", region(leaf_ring(at=(20, 200)))))
    right = parts["applique-frond-right"].to_side
    assert right == MIRROR_LINE.mirror
    left = to_polygon(parts["applique-frond-left"].cut, 0.01)
    assert right.apply((300.0, 7.0)) == pytest.approx((300.0, 7.0), abs=1e-9)
    assert left.area > 0
