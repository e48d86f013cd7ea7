"""A zone across a dart: one flat part with the dart closed, or two that meet again over it."""

import math
from collections import defaultdict
from itertools import pairwise

import pytest
from dart_drawings import (
    LEFT,
    LEG,
    PLAIN,
    RIGHT,
    THETA,
    TIP,
    area,
    box,
    closed,
    fan,
    grounded,
    legs,
    with_dart,
)
from hypothesis import given, settings
from hypothesis import strategies as st

from templater.applique import make_parts
from templater.geometry.flatten import flatten
from templater.geometry.measure import area_mm2, path_length
from templater.geometry.splitting import turn_deg
from templater.model.curves import Path
from templater.model.ground import Side
from templater.model.parts import MarkKind
from templater.model.problems import Severity


def parts_of(layers, job=PLAIN):
    ground, read, found = grounded(layers, job)
    parts, more = make_parts(ground, read)
    assert not [p for p in (*found, *more) if p.severity is Severity.ERROR]
    return [part for part in parts if part.zone], more, ground


def matches(part):
    return [mark for mark in part.marks if mark.kind is MarkKind.MATCH]


def test_a_band_across_a_dart_is_one_part_with_the_dart_closed():
    (part,), _, ground = parts_of(with_dart(band=box(50, 40, 250, 80)))
    regions = ground.zone("band").regions
    assert area_mm2(part.finished) == pytest.approx(sum(area_mm2(r.area) for r in regions))
    assert area_mm2(part.finished) == pytest.approx(200 * 40 - 12 * 40 + 4 * 40, abs=1e-6)
    corners = [segment.start for segment in part.finished.outline.segments]
    assert len(corners) == 6
    # Both ends of the joined line are corners, as far apart as on each leg.
    ends = [corner for corner in corners if math.dist(corner, TIP) < 70 * LEG]
    near = sorted(math.dist(corner, TIP) for corner in ends)
    assert near == pytest.approx([20.0 * LEG, 60.0 * LEG], abs=1e-9)
    assert math.dist(*ends) == pytest.approx(40.0 * LEG, abs=1e-9)
    assert any("dart bust closed" in line for line in part.label.lines)


def test_the_halves_meet_to_the_bit_where_the_dart_is_closed():
    (part,), more, ground = parts_of(with_dart(band=box(50, 40, 250, 80)))
    left, right = part.halves
    assert left.to_part.apply(TIP) == pytest.approx(right.to_part.apply(TIP), abs=1e-9)
    assert right.to_part.apply(RIGHT) == pytest.approx(left.to_part.apply(LEFT), abs=1e-9)
    rim = [
        [half.to_part.apply(at) for at in flatten(ground.zone("band").regions[n].area.outline, 0.1)]
        for n, half in enumerate(part.halves)
    ]
    meeting = [a for a in rim[0] if min(math.dist(a, b) for b in rim[1]) < 0.05]
    assert len(meeting) == 2
    assert not [problem for problem in more if "dart" in problem.code]


def test_the_cut_line_keeps_its_allowance_round_the_closed_part():
    """Steiner: of a convex outline the offset adds perimeter times width; this one is bent in."""
    (part,), _, _ = parts_of(with_dart(band=box(50, 40, 250, 80)))
    import shapely

    finished, cut = (
        shapely.LinearRing(flatten(shape.outline, 0.001)) for shape in (part.finished, part.cut)
    )
    # Square off every side the cut line is 5 mm away; at mitred corners it is farther.
    away = [finished.distance(cut.interpolate(cut.length * k / 997.0)) for k in range(997)]
    assert min(away) == pytest.approx(5.0, abs=0.02)
    assert sum(abs(mm - 5.0) < 0.02 for mm in away) > 0.9 * len(away)


@settings(deadline=None, max_examples=25)
@given(
    st.floats(3.0, 25.0),
    st.floats(0.0, 360.0),
    st.floats(20.0, 40.0),
    st.floats(45.0, 90.0),
)
def test_bands_between_arcs_about_the_tip_close_to_whole_arcs(angle, turn, inner, outer):
    """r·θ: closed, an arc about the tip has the length r (φ − θ), and runs on without a corner."""
    theta, middle = math.radians(angle), math.radians(turn)
    tip = (150.0, 200.0)
    ends = [
        (
            tip[0] + 100 * math.cos(middle + s * theta / 2),
            tip[1] + 100 * math.sin(middle + s * theta / 2),
        )
        for s in (-1, 1)
    ]
    phi = theta + 1.3
    # Off the dart's middle, so that one half is larger.
    band = fan(tip, inner, outer, middle - theta / 2 - 0.8, middle + theta / 2 + 0.5)
    dart = legs(ends[1], tip, ends[0])
    (part,), more, _ = parts_of(with_dart(dart, box(0, 0, 300, 400), band=band))
    assert area_mm2(part.finished) == pytest.approx(
        (phi - theta) / 2 * (outer**2 - inner**2), abs=1e-5
    )
    arcs = [s for s in part.finished.outline.segments if type(s).__name__ == "Arc"]
    lengths = sum(path_length(Path((arc,), closed=False)) for arc in arcs)
    assert lengths == pytest.approx((phi - theta) * (inner + outer), abs=1e-6)
    pairs = [*pairwise(part.finished.outline.segments)]
    joints = [(a, b) for a, b in pairs if type(a).__name__ == type(b).__name__ == "Arc"]
    assert all(turn_deg(a, b) < 0.1 for a, b in joints)
    assert not [problem for problem in more if problem.code == "dart-halves-miss"]


def crossing(height_at, end):
    """How far from the tip a leg crosses the line y = a + b (x − 150)."""
    (a, b), (ex, ey) = height_at, end
    dx, dy = ex - TIP[0], ey - TIP[1]
    t = (a - TIP[1]) / (dy - b * dx)
    return t * math.hypot(dx, dy)


@pytest.mark.parametrize(("slope", "severity"), [(0.05, "note"), (0.2, "warning")])
def test_a_slanted_edge_misses_itself_and_is_told_where_and_by_how_much(slope, severity):
    band = area((50, 30 - 100 * slope), (250, 30 + 100 * slope), (250, 80), (50, 80))
    (part,), more, ground = parts_of(with_dart(band=band))
    (problem,) = [each for each in more if each.code == "dart-halves-miss"]
    left, right = (crossing((30.0, slope), end) for end in (LEFT, RIGHT))
    assert problem.severity.value == severity
    for mm in (left, right, abs(left - right)):
        assert f"{mm:.1f}".rstrip("0").rstrip(".") + " mm" in problem.message
    assert math.dist(problem.at_mm, TIP) == pytest.approx(left, abs=1e-3)
    assert abs(problem.at_mm[0] - (150 - left * 0.1 / LEG)) < 1e-3
    # Nothing of the drawn zone is lost or added for it.
    regions = ground.zone("band").regions
    assert area_mm2(part.finished) == pytest.approx(sum(area_mm2(r.area) for r in regions))


def test_legs_of_unequal_length_are_told_with_both_lengths():
    _, more, _ = parts_of(with_dart(legs(right=(160.3, -3.0)), band=box(50, 40, 250, 80)))
    (problem,) = [each for each in more if each.code == "edges-differ-in-length"]
    left, right = math.hypot(10, 100), math.hypot(10.3, 103)
    assert f"({right:.1f} mm against {left:.1f} mm)" in problem.message
    assert problem.severity is Severity.WARNING
    assert problem.mend


def test_a_zone_round_the_tip_is_two_parts_with_equal_marks_at_equal_distances():
    parts, _, _ = parts_of(with_dart(band=box(50, 0, 250, 180)))
    assert [part.id for part in parts] == [
        "applique-band.1-single",
        "applique-band.2-single",
    ]
    numbers = defaultdict(list)
    for part in parts:
        assert part.halves == ()
        for mark in matches(part):
            if mark.dart:
                numbers[mark.number].append(mark.at)
    assert len(numbers) >= 2
    for places in numbers.values():
        (a, b) = places
        assert math.dist(a, TIP) == pytest.approx(math.dist(b, TIP), abs=2e-4)
        below = a[1] < TIP[1]
        assert math.dist(a, closed(b) if below else b) < 2e-4 or math.dist(b, closed(a)) < 2e-4


def test_halves_are_marked_where_they_lie_and_know_where_they_lay():
    """Marks shared with the piece: those of the turned half go with it."""
    (part,), _, _ = parts_of(with_dart(band=box(50, 0, 250, 80)))
    marks = matches(part)
    assert len(marks) == 2
    moved = [mark for mark in marks if mark.drawn_at != mark.at]
    assert len(moved) == 1
    assert moved[0].at == pytest.approx(closed(moved[0].drawn_at), abs=2e-4)
    assert moved[0].drawn_at[1] == 0.0


def test_the_mirrored_pair_is_the_same_reference():
    parts, _, _ = parts_of(with_dart(band=box(50, 40, 250, 80)), "[zones.band]\nweb = false\n")
    left, right = parts
    assert {left.side, right.side} == {Side.LEFT, Side.RIGHT}
    assert left.cut == right.cut
    assert left.halves == right.halves
    assert left.to_side.determinant * right.to_side.determinant == -1.0


def test_two_darts_close_one_after_the_other():
    layers = with_dart(legs((90, 0), (100, 100), (110, 0)), band=box(20, 40, 280, 80))
    layers["dart waist"] = [legs((190, 0), (200, 100), (210, 0))]
    (part,), _, ground = parts_of(layers)
    assert len(part.halves) == 3
    regions = ground.zone("band").regions
    assert area_mm2(part.finished) == pytest.approx(sum(area_mm2(r.area) for r in regions))
    assert part.halves[0].to_part.apply((0.0, 0.0)) == (0.0, 0.0)


def test_a_hole_over_the_dart_is_a_hole_of_the_closed_part():
    frame = box(60, 20, 240, 85)
    hole = box(120, 40, 180, 60).outline
    from templater.geometry.moves import reversed_path
    from templater.model.curves import Area

    (part,), _, _ = parts_of(with_dart(band=Area(frame.outline, (reversed_path(hole),))))
    assert len(part.finished.holes) == 1
    wedge = (16.0 + 3.0) / 2 * 65 - (12.0 + 8.0) / 2 * 20
    assert area_mm2(part.finished) == pytest.approx(180 * 65 - 60 * 20 - wedge)


def test_a_part_on_the_fold_closes_the_dart_on_both_sides():
    layers = with_dart(piece=box(0, 0, 250, 400), band=box(50, 40, 250, 80))
    layers["fold"] = [legs((250, 0), (250, 200), (250, 400))]
    job = '[zones.band]\nweb = false\n[pieces.front]\nmake = "fold"\n'
    parts, _, ground = parts_of(layers, job)
    (part,) = parts
    assert part.side is Side.CENTRE
    regions = ground.zone("band").regions
    assert area_mm2(part.finished) == pytest.approx(2 * sum(area_mm2(r.area) for r in regions))
    # The half at the fold stays, the outer one is turned to it.
    assert part.halves[0].to_part.apply((250.0, 40.0)) == (250.0, 40.0)


def test_the_dart_angle_is_taken_out_of_the_parts_turn():
    (part,), _, _ = parts_of(with_dart(band=box(50, 40, 250, 80)))
    turned = part.halves[1].to_part
    assert abs(math.atan2(turned.b, turned.a)) == pytest.approx(THETA, abs=1e-12)
