"""Layers that the job gives a role are read as if their own names had said it."""

import math

import pytest
from drawings import box, codes, ground_of, line

from templater.geometry.measure import area_mm2
from templater.ground import build_ground
from templater.job import load_job
from templater.model.curves import Area
from templater.model.problems import has_errors
from templater.reading import read_drawing

SIDES = [
    line((20, 20), (60, 20)),
    line((60, 90.03), (60, 20.02)),
    line((20, 90), (60, 90)),
    line((20, 20), (20, 90)),
]
MAPPED = '[layers]\n"Ebene 4" = "{} frond"'


def test_loose_lines_of_a_mapped_layer_become_its_outline():
    ground, problems = ground_of({"Ebene 4": SIDES}, MAPPED.format("zone"))
    assert [zone.name for zone in ground.zones] == ["frond"]
    assert area_mm2(ground.zones[0].regions[0].area) == pytest.approx(40 * 70, rel=1e-3)
    assert "lines-joined" in codes(problems)
    assert not has_errors(problems)


def test_a_gap_that_is_too_wide_is_told_with_its_place():
    apart = [*SIDES[:1], line((60, 90), (60, 20.5)), *SIDES[2:]]
    ground, problems = ground_of({"Ebene 4": apart}, MAPPED.format("zone"))
    assert ground.zones == ()
    gap = next(problem for problem in problems if problem.code == "gap-in-line")
    assert "0.500 mm" in gap.message
    assert math.dist(gap.at_mm, (60, 20.5)) < 0.6
    assert "open-outline" in codes(problems)


def test_a_clockwise_outline_is_turned_round():
    turned = [line((20, 20), (20, 90), (60, 90), (60, 20), (20, 20))]
    ground, _ = ground_of({"Ebene 4": turned}, MAPPED.format("zone"))
    assert area_mm2(ground.zones[0].regions[0].area) == pytest.approx(40 * 70)


def test_rows_within_rows_are_no_holes():
    outer, inner = box(20, 20, 90, 90), box(40, 40, 60, 60)
    ring = Area(outer.outline, (box(40, 40, 60, 60).outline,))
    for items in ([outer, inner], [ring]):
        layers = {"piece p": [box(0, 0, 100, 100)], "zone z": [box(5, 5, 95, 95)], "Ebene 4": items}
        ground, _ = ground_of(layers, MAPPED.format("row"))
        assert len(ground.rows) == 2


SVG = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100"'
    ' fill="none" stroke="#000"><g data-name="{}"><path d="M20 20H60"/><path d="M60 20V90"/>'
    '<path d="M20 90H60"/><path d="M20 20V90"/></g></svg>'
)


@pytest.mark.parametrize("role", ["zone", "piece", "low"])
def test_a_mapped_layer_of_a_file_is_read_as_one_that_bears_the_role(role):
    job, _ = load_job(f'drawing = "a.svg"\n{MAPPED.format(role)}', "a.toml")
    plain, _ = load_job('drawing = "a.svg"', "a.toml")
    mapped, _ = build_ground(read_drawing(SVG.format("Ebene 4").encode(), "a.svg"), job)
    named, _ = build_ground(read_drawing(SVG.format(f"{role} frond").encode(), "a.svg"), plain)

    def areas(ground):
        zones = [r.area.outline for zone in ground.zones for r in zone.regions]
        pieces = [piece.area.outline for piece in ground.pieces if piece.area is not None]
        return [*zones, *pieces, *(low.area.outline for low in ground.lows)]

    assert areas(mapped) == areas(named)
    assert len(areas(mapped)) == 1
