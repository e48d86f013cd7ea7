"""What meets what across a dart: marks of zones on its two legs, edges that miss, register marks."""

import math
from collections import defaultdict

import pytest
from dart_drawings import PLAIN, RIGHT, TIP, area, box, closed, grounded, legs, with_dart
from hypothesis import given, settings
from hypothesis import strategies as st

from templater.applique import make_parts
from templater.geometry.flatten import flatten
from templater.geometry.polygons import to_polygon
from templater.model.curves import Area
from templater.model.parts import MarkKind, PartKind
from templater.model.problems import Severity

SINGLE = '[pieces.front]\nmake = "single"\n'


def made(layers, job=None):
    zones = [name.removeprefix("zone ") for name in layers if name.startswith("zone ")]
    job = job or SINGLE + "".join(f"[zones.{name}]\nweb = false\n" for name in zones)
    ground, read, found = grounded(layers, job)
    parts, more = make_parts(ground, read)
    assert not [p for p in (*found, *more) if p.severity is Severity.ERROR]
    zones = {part.id: part for part in parts if part.kind is PartKind.APPLIQUE}
    return zones, [*found, *more], ground


def dart_marks(parts):
    """Marks at darts by number: (part, where it lies on the drawing)."""
    found = defaultdict(list)
    for part in parts.values():
        for mark in part.marks:
            if mark.dart:
                found[mark.number].append((part.id, mark.drawn_at or mark.at))
    return found


def assert_meet(marks):
    for (_, a), (_, b) in marks.values():
        left, right = sorted((a, b))
        assert math.dist(left, closed(right)) < 2e-4


@settings(deadline=None, max_examples=20)
@given(st.floats(10.0, 70.0), st.floats(15.0, 60.0), st.floats(-8.0, 8.0))
def test_zones_on_the_two_legs_are_marked_alike_where_they_meet(low, tall, shifted):
    high = min(low + tall, 88.0)
    parts, _, _ = made(
        with_dart(one=box(50, low, 150, high), other=box(150, low + shifted, 250, high + shifted))
    )
    marks = dart_marks(parts)
    common = high - low - abs(shifted)
    assert (len(marks) > 0) is (common * math.sqrt(1.01) >= 10.0)
    for pair in marks.values():
        assert [name for name, _ in pair] == ["applique-one-single", "applique-other-single"]
    assert_meet(marks)


def test_a_border_that_ends_at_a_leg_is_marked_on_both_its_zones():
    """The left of the dart is all band; on the right it has a part of the leg and "other" the rest."""
    band = area((50, 20), (150, 20), (150, 50), (250, 50), (250, 80), (50, 80))
    parts, found, _ = made(with_dart(band=band, other=box(150, 20, 250, 50)))
    assert len(parts["applique-band-single"].halves) == 2
    marks = dart_marks(parts)
    assert {name for pair in marks.values() for name, _ in pair} == {
        "applique-band-single",
        "applique-other-single",
    }
    assert_meet(marks)
    # Along the leg from (145, 50) to (142, 20), where "other" begins.
    assert all(20.0 < min(pair, key=lambda p: p[1])[1][1] < 50.0 for pair in marks.values())
    assert not [p for p in found if p.code == "dart-halves-miss"]


def test_halves_in_one_part_are_not_marked_where_they_are_joined():
    parts, _, _ = made(with_dart(band=box(50, 40, 250, 80)))
    assert dart_marks(parts) == {}


def test_zones_that_just_miss_each_other_across_a_dart_are_told_where():
    _, found, _ = made(with_dart(one=box(50, 40, 150, 80), other=box(150, 37, 250, 80)))
    (problem,) = [p for p in found if p.code == "dart-halves-miss"]
    per = math.sqrt(1.01)
    assert problem.severity is Severity.WARNING
    assert '"one" meets the left leg 60.3 mm' in problem.message
    assert '"other" the right leg 63.3 mm' in problem.message
    assert math.dist(problem.at_mm, TIP) == pytest.approx(60.0 * per, abs=1e-3)


def test_zones_drawn_to_end_far_apart_across_a_dart_are_no_miss():
    _, found, _ = made(with_dart(one=box(50, 40, 150, 80), other=box(150, 10, 250, 80)))
    assert not [p for p in found if p.code == "dart-halves-miss"]


def test_two_parts_round_the_tip_are_told_too_where_their_edges_miss():
    band = area((50, 20), (250, 30), (250, 180), (50, 180))
    parts, found, _ = made(with_dart(band=band))
    assert len(parts) == 2
    (problem,) = [p for p in found if p.code == "dart-halves-miss"]
    assert "its halves miss each other" in problem.message
    # The lower edge y = 17.5 + x / 20 meets x = 150 ∓ (100 − y) / 10.
    left = (17.5 + 7.5 - 100 / 200) / (1 - 1 / 200)
    right = (17.5 + 7.5 + 100 / 200) / (1 + 1 / 200)
    per = math.sqrt(1.01)
    for mm in ((100 - left) * per, (100 - right) * per):
        assert f"{mm:.1f}".removesuffix(".0") + " mm" in problem.message


def test_the_two_parts_of_a_dart_with_two_tips_cannot_be_turned_end_for_end():
    diamond = area((150, 250), (142, 200), (150, 150), (158, 200)).outline
    parts, found, _ = made(with_dart(diamond, band=box(50, 180, 250, 220)))
    assert len(parts) == 2
    assert {p.code for p in found} >= {"dart-not-flat"}
    heights = sorted({at[1] for pair in dart_marks(parts).values() for _, at in pair})
    assert len(heights) == 2
    # Turned about the middle, at y = 200, no mark comes within 2 mm of another.
    assert all(abs((400.0 - y) - other) > 2.0 for y in heights for other in heights)


def test_a_zone_below_one_of_two_tips_is_one_flat_part():
    diamond = area((150, 250), (142, 200), (150, 150), (158, 200)).outline
    parts, _, _ = made(with_dart(diamond, band=box(50, 205, 250, 235)))
    (part,) = parts.values()
    assert len(part.halves) == 2


def test_zones_that_share_an_edge_across_a_dart_are_marked_on_it_where_it_is_laid():
    parts, _, _ = made(with_dart(one=box(50, 40, 250, 60), other=box(50, 60, 250, 80)))
    assert all(len(part.halves) == 2 for part in parts.values())
    by_number = defaultdict(list)
    for part in parts.values():
        for mark in part.marks:
            if mark.kind is MarkKind.MATCH:
                by_number[mark.number].append((mark.at, mark.drawn_at))
    assert len(by_number) >= 2
    for (at, drawn), (other_at, other_drawn) in by_number.values():
        assert drawn == other_drawn
        # Either part has its larger half as drawn, which is the same one: the marks meet as laid.
        assert math.dist(at, other_at) < 2e-4


def test_cloth_beyond_a_leg_goes_under_the_zone_on_the_other():
    job = SINGLE + "[zones.one]\nedges = { bust = 4 }\n"
    layers = with_dart(one=box(50, 40, 150, 80), other=box(150, 40, 250, 80))
    parts, _, _ = made(layers, job)
    one, other = parts["applique-one-single"], parts["applique-other-single"]
    turned = Area(
        type(other.finished.outline)(
            tuple(type(s)(closed(s.start), closed(s.end)) for s in other.finished.outline.segments),
            closed=True,
        )
    )
    beneath = to_polygon(one.cut, 0.01).intersection(to_polygon(turned, 0.01))
    assert beneath.area == pytest.approx(4.0 * 40.0 * math.sqrt(1.01), rel=0.02)


def test_each_half_of_a_closed_part_has_the_register_marks_of_its_zones_templates():
    parts, _, ground = made(with_dart(band=box(50, 40, 250, 80)))
    (part,) = parts.values()
    marks = [mark for mark in part.marks if mark.kind is MarkKind.REGISTER]
    register = ground.zone("band").register
    first, second = part.halves
    cloth = to_polygon(part.cut, 0.01)
    import shapely

    for half in (first, second):
        own = [m for m in marks if math.dist(half.to_part.apply(m.drawn_at), m.at) < 1e-3]
        assert len(own) >= 3
        assert {mark.drawn_at for mark in own} <= set(register)
        assert all(cloth.distance(shapely.Point(mark.at)) >= 5.0 for mark in own)
    # A template laid by the second half's marks has its holes where that half is laid.
    assert second.to_part.apply(RIGHT) == pytest.approx(first.to_part.apply((140.0, 0.0)), abs=1e-9)


def test_a_part_with_darts_has_no_register_marks_rather_than_some_on_its_cloth():
    """An allowance of 40 mm reaches over the frame."""
    job = PLAIN.replace("allowance = 5", "allowance = 40")
    parts, _, _ = made(with_dart(band=box(50, 40, 250, 80)), job)
    (part,) = parts.values()
    assert not [mark for mark in part.marks if mark.kind is MarkKind.REGISTER]


EDGES = {
    "edge back": [legs((0, 0), (0, 200), (0, 400))],
    "edge hem": [legs((0, 0), (150, 0), (300, 0))],
    "edge side": [legs((300, 0), (300, 200), (300, 400))],
}


def test_a_tape_along_an_edge_does_not_pass_over_a_sewn_dart():
    """Beyond the dart a point is nearer by the 20 mm of its mouth."""
    parts, found, _ = made(with_dart(band=box(50, 20, 250, 80)) | EDGES)
    (part,) = parts.values()
    hem = {p.at: m for p in part.placing for m in p.measures if m.edge == "hem"}
    assert {x < 150.0 for x, _ in hem} == {True, False}
    for (x, y), measure in hem.items():
        assert measure.along_mm == pytest.approx(x if x < 150.0 else x - 20.0)
        assert measure.square_mm == pytest.approx(y)
    assert not [p for p in found if p.code == "measured-over-dart"]


def test_no_point_is_measured_across_a_dart_where_there_is_another_edge():
    parts, _, _ = made(with_dart(band=box(50, 20, 250, 80)) | EDGES)
    (part,) = parts.values()
    for point in part.placing:
        sides = {measure.edge for measure in point.measures}
        assert ("side" in sides) is (point.at[0] > 150.0)


def test_a_point_that_can_only_be_measured_across_a_dart_is_told():
    layers = with_dart(band=box(50, 20, 250, 80)) | {"edge side": EDGES["edge side"]}
    _, found, _ = made(layers)
    (problem,) = [p for p in found if p.code == "measured-over-dart"]
    assert problem.at_mm[0] < 150.0
    assert "only across a dart" in problem.message


def test_a_zone_through_two_darts_names_both_in_their_order():
    layers = with_dart(legs((90, 0), (100, 100), (110, 0)), band=box(20, 40, 280, 80))
    layers["dart waist"] = [legs((190, 0), (200, 100), (210, 0))]
    parts, _, _ = made(layers)
    (part,) = parts.values()
    assert any("dart bust and dart waist closed" in line for line in part.label.lines)
    rim = flatten(part.finished.outline, 0.1)
    assert len(rim) == 8


def gaps(layers, job=None):
    return [p for p in made(layers, job)[1] if p.code == "no-underlap-at-dart"]


def test_two_zones_edge_to_edge_across_a_dart_are_told_how_one_goes_beneath_the_other():
    (note,) = gaps(with_dart(one=box(50, 40, 150, 80), other=box(150, 40, 250, 80)))
    assert note.severity is Severity.NOTE
    assert '"one" and "other" meet edge to edge' in note.message
    assert "= 5 } under [zones.one]" in note.mend
    assert note.at_mm[0] < 150.0  # on the leg of "one", which lies below


@pytest.mark.parametrize("words", ["underlap = 0", "edges = { dart = 4 }"])
def test_nothing_is_told_of_it_where_it_was_decided(words):
    layers = with_dart(one=box(50, 40, 150, 80), other=box(150, 40, 250, 80))
    name = next(each for each in layers if each.startswith("dart")).removeprefix("dart").strip()
    told = words.replace("dart", name or "dart")
    job = SINGLE + f"[zones.one]\nweb = false\n{told}\n[zones.other]\nweb = false\n"
    assert gaps(layers, job) == []


def test_halves_of_one_zone_are_not_told_of_an_underlap():
    assert gaps(with_dart(band=box(50, 40, 250, 80))) == []
    assert gaps(with_dart(band=area((50, 20), (250, 30), (250, 180), (50, 180)))) == []
