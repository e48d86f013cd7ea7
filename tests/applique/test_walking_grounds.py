"""Lengths walked on grounds built from drawings, against lengths worked out by hand."""

import math

import pytest
from drawings import box, ground_of, line

from templater.applique import walked
from templater.geometry.moves import reversed_segment
from templater.geometry.polygons import polyline
from templater.model.curves import Arc, Area, Cubic, Line, Path

TAPE_MM = 0.002


def beside(*seam):
    """Two zones on either side of a line that goes up from (50, 0) to (50, 100)."""
    down = tuple(reversed_segment(segment) for segment in reversed(seam))
    left = Path((Line((-50, 0), (50, 0)), *seam, Line((50, 100), (-50, 100)),
                 Line((-50, 100), (-50, 0))), closed=True)  # fmt: skip
    right = Path((Line((50, 0), (150, 0)), Line((150, 0), (150, 100)), Line((150, 100), (50, 100)),
                  *down), closed=True)  # fmt: skip
    return {"zone lower": [Area(left)], "zone upper": [Area(right)]}


def quarter_ellipses(across, along):
    """Half an ellipse from (50, 0) to (50, 100) in cubics of 11.25°, within a millionth of it."""
    count = 16
    step = math.pi / count
    reach = 4.0 / 3.0 * math.tan(step / 4.0)

    def at(angle):
        return (50 + across * math.cos(angle), 50 + along * math.sin(angle))

    def ahead(angle, by):
        (x, y), dx, dy = at(angle), -across * math.sin(angle), along * math.cos(angle)
        return (x + by * dx, y + by * dy)

    angles = [-math.pi / 2 + k * step for k in range(count + 1)]
    ends = [(50.0, 0.0), *(at(angle) for angle in angles[1:-1]), (50.0, 100.0)]
    return [
        Cubic(ends[k], ahead(angles[k], reach), ahead(angles[k + 1], -reach), ends[k + 1])
        for k in range(count)
    ]


def half_ellipse_mm(across, along):
    """Half the circumference, 2·a·E(m) with m = 1 − (b/a)²: the complete elliptic integral."""
    from scipy.special import ellipe

    a, b = max(across, along), min(across, along)
    return 2.0 * a * float(ellipe(1.0 - (b / a) ** 2))


EDGES = {
    "straight": ([Line((50.0, 0.0), (50.0, 100.0))], 100.0),
    # r·θ with r = 50·√2 and θ = 90°.
    "circular": (
        [Arc((50.0, 0.0), (50.0, 100.0), math.tan(math.pi / 8))],
        50 * math.sqrt(2) * math.pi / 2,
    ),
    "elliptical": (quarter_ellipses(30.0, 50.0), half_ellipse_mm(30.0, 50.0)),
}


@pytest.mark.parametrize("name", EDGES)
def test_a_shared_edge_is_as_long_as_worked_out_by_hand(name):
    seam, by_hand = EDGES[name]
    ground, problems = ground_of(beside(*seam))
    assert not [p for p in problems if p.severity == "error"]
    results, told = walked(ground)
    (result,) = [each for each in results if each.kind == "shared edge"]
    assert result.first_mm == pytest.approx(by_hand, abs=TAPE_MM)
    assert result.second_mm == pytest.approx(by_hand, abs=TAPE_MM)
    assert told == ()


@pytest.mark.parametrize("name", ["circular", "elliptical"])
def test_a_curved_seam_against_a_straight_one_is_told_with_the_ease(name):
    seam, by_hand = EDGES[name]
    layers = {
        "piece front": [beside(*seam)["zone lower"][0]],
        "piece back": [box(400, 0, 500, 100)],
        "seam side": [Path(tuple(seam), closed=False), line((400, 0), (400, 100))],
    }
    ground, _ = ground_of(layers)
    results, (problem,) = walked(ground)
    (result,) = [each for each in results if each.kind == "seam"]
    assert sorted((result.first_mm, result.second_mm)) == pytest.approx(
        [100.0, by_hand], abs=TAPE_MM
    )
    assert problem.code == "edges-differ-in-length"
    assert f"ease in {by_hand - 100:.1f} mm" in problem.mend


def test_a_zone_is_walked_against_its_piece():
    layers = {"piece front": [box(0, 0, 100, 100)], "zone fin": [box(60, 20, 100, 80)]}
    ground, _ = ground_of(layers)
    (result,) = walked(ground)[0]
    assert (result.first, result.second) == ('zone "fin"', 'piece "front"')
    assert result.first_mm == pytest.approx(60.0, abs=TAPE_MM)
    assert result.second_mm == pytest.approx(60.0, abs=TAPE_MM)


FOLDED = {"fold": [line((0, -10), (0, 110))]}


def test_two_cloths_are_walked_against_their_mirror_images_at_the_fold():
    layers = {
        "piece front": [box(0, 0, 80, 100)], "zone fin": [box(0, 20, 40, 50)], **FOLDED
    }  # fmt: skip
    ground, _ = ground_of(layers, '[pieces.front]\nmake = "pair"')
    found = [each for each in walked(ground)[0] if each.kind == "at the fold"]
    assert [(each.first, each.second) for each in found] == [
        ('piece "front", left', 'piece "front", right'),
        ('zone "fin", left', 'zone "fin", right'),
    ]
    assert [each.first_mm for each in found] == pytest.approx([100.0, 30.0], abs=TAPE_MM)
    assert [each.second_mm for each in found] == pytest.approx([100.0, 30.0], abs=TAPE_MM)


def test_one_cloth_drawn_whole_is_walked_left_against_right():
    # The right hem rises by 0.2 mm: within what counts as a mirror image.
    outline = [(-80, 0), (0, 0), (80, 0.2), (80, 100), (0, 100), (-80, 100)]
    layers = {"piece front": [Area(polyline(outline, closed=True))], **FOLDED}
    ground, problems = ground_of(layers, '[pieces.front]\nmake = "fold"')
    assert [p.code for p in problems if p.severity == "error"] == ["no-zones"]
    (result,) = walked(ground)[0]
    assert result.kind == "sides"
    left, right = 80 + 100 + 80, math.hypot(80, 0.2) + 99.8 + 80
    lengths = {result.first.split()[0]: result.first_mm, result.second.split()[0]: result.second_mm}
    assert lengths["left"] == pytest.approx(left, abs=TAPE_MM)
    assert lengths["right"] == pytest.approx(right, abs=TAPE_MM)


def test_one_cloth_drawn_by_half_has_nothing_to_walk_at_the_fold():
    layers = {"piece front": [box(0, 0, 80, 100)], **FOLDED}
    ground, _ = ground_of(layers, '[pieces.front]\nmake = "fold"')
    assert walked(ground)[0] == ()


def test_a_measured_length_rescales_what_is_walked():
    seam, by_hand = EDGES["circular"]
    layers = {**beside(*seam), "edge top": [line((-50, 100), (150, 100))]}
    ground, problems = ground_of(layers, 'measured = { layer = "edge top", length = 206.0 }')
    assert not [p for p in problems if p.severity == "error"]
    (result,) = [each for each in walked(ground)[0] if each.kind == "shared edge"]
    assert result.first_mm == pytest.approx(1.03 * by_hand, abs=2 * TAPE_MM)
    assert result.second_mm == pytest.approx(1.03 * by_hand, abs=2 * TAPE_MM)
    told = [p for p in problems if "measured" in p.code or "scaled" in p.code]
    assert told
    assert "3" in told[0].message
