"""A label lies inside its part, or beside it with a line that leads there."""

import math

import pytest
import shapely
from applique_grounds import ground, job, leaf_ring, piece, region, square_ring, zone

from templater.applique import make_parts
from templater.applique.labels import HEIGHTS_MM, block_size_mm
from templater.geometry.polygons import to_polygon
from templater.lettering import ISO_HEIGHTS_MM
from templater.model.parts import MarkKind


def part_of(*rings, **tables):
    register = ((60.0, 200.0),)
    made = ground(piece(), zone("frond", region(*rings), register=register))
    parts, _ = make_parts(made, job(**tables))
    return next(part for part in parts if part.id == "applique-frond-left")


def block(label):
    width, height = block_size_mm(label.lines, label.height_mm)
    box = shapely.box(-width / 2, -height / 2, width / 2, height / 2)
    turned = shapely.affinity.rotate(box, label.turn_deg, origin=(0, 0))
    return shapely.affinity.translate(turned, *label.at)


@pytest.mark.parametrize("belly", [25.0, 40.0, 90.0])
@pytest.mark.parametrize("length", [120.0, 200.0, 280.0])
def test_it_lies_inside_the_finished_line_and_off_the_marks(length, belly):
    part = part_of(leaf_ring(length, belly, at=(10, 200)))
    assert part.label.leader is None
    inside = to_polygon(part.finished, 0.01)
    assert inside.contains(block(part.label))
    for mark in part.marks:
        if mark.kind is MarkKind.REGISTER:
            assert block(part.label).distance(shapely.Point(mark.at)) > 4.9


def test_a_part_too_small_has_it_outside_with_a_leader_into_the_part():
    part = part_of(square_ring(10, 10, 30, 22))
    assert part.label.leader is not None
    cloth = to_polygon(part.cut, 0.01)
    assert cloth.contains(shapely.Point(part.label.leader))
    assert not cloth.intersects(block(part.label))
    assert cloth.distance(block(part.label)) < 10.0
    assert part.label.height_mm == 2.5


def test_heights_are_those_of_the_standard():
    assert set(HEIGHTS_MM) <= set(ISO_HEIGHTS_MM)


def test_a_roomy_part_has_it_level_and_large():
    part = part_of(square_ring(10, 10, 210, 210))
    assert part.label.turn_deg == 0.0
    assert part.label.height_mm == max(HEIGHTS_MM)


def test_a_long_narrow_part_has_it_along_its_length():
    ring = square_ring(10, 10, 290, 32)
    part = part_of(ring)
    assert part.label.leader is None
    assert part.label.turn_deg in {0.0, 180.0}
    from dataclasses import replace

    from templater.geometry.moves import moved_path
    from templater.model.curves import Transform

    c, s = math.cos(0.6), math.sin(0.6)
    turned = tuple(
        replace(edge, path=moved_path(edge.path, Transform(c, s, -s, c, 0, 0))) for edge in ring
    )
    assert part_of(turned).label.turn_deg == pytest.approx(math.degrees(0.6), abs=0.2)


def test_any_script_is_measured_and_placed():
    part = part_of(square_ring(10, 10, 210, 210), zones={"frond": {"fabric": "Κύμα, волна"}})
    assert any("Κύμα, волна" in text for text in part.label.lines)
    assert to_polygon(part.finished, 0.01).contains(block(part.label))
