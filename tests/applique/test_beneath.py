"""What goes beneath a neighbour: hidden, and in one clean line with the allowances beside it."""

import math
from functools import cache
from importlib.resources import files
from itertools import pairwise

import numpy as np
import pytest
import shapely
from drawings import box, ground_of, line
from neighbours import cut_out

from templater.applique import make_parts
from templater.applique.beneath import BACK_MM, covers_of
from templater.geometry.flatten import flatten
from templater.geometry.offset import SLIT_MM, TONGUE_MM, offset_region
from templater.geometry.polygons import (
    differing,
    overlap,
    polygons_in,
    polyline,
    to_polygon,
    united,
    without,
)
from templater.geometry.smooth import end_direction, start_direction
from templater.ground import build_ground
from templater.job import load_job
from templater.model.curves import Area, Line, mirror_about
from templater.model.parts import PartKind
from templater.reading import read_drawing

TIGHT_MM = 1.9
STEP_MM = 0.4


@cache
def patches():
    """(seed, ground, part, the same part had no underlap) of 25 patchworks."""
    found = []
    for seed in range(25):
        made, plain = cut_out(seed), cut_out(seed, underlaps=False)
        if made is not None:
            found += [(seed, made[0], part, plain[1][zone]) for zone, part in made[1].items()]
    assert len(found) > 80
    return found


def tight_places(area, given):
    """Where the cut line comes back to within 1.9 mm of itself after more than four times as far,
    on lines other than those that are given: what no shears could follow.
    """
    polygon, found = to_polygon(area, 0.005), []
    for path in (area.outline, *area.holes):
        ring = shapely.LinearRing(flatten(path, 0.005))
        marks = np.arange(0.0, ring.length, STEP_MM)
        points = shapely.line_interpolate_point(ring, marks)
        one, two = shapely.STRtree(points).query(points, predicate="dwithin", distance=TIGHT_MM)
        one, two = one[one < two], two[one < two]
        apart = shapely.distance(points[one], points[two])
        between = marks[two] - marks[one]
        between = np.minimum(between, ring.length - between)
        far = between > 4.0 * np.maximum(apart, STEP_MM) + 1.0
        own = [shapely.distance(points[ends], given) > 0.05 for ends in (one, two)]
        where = far & (own[0] | own[1])
        found += [(round(p.x, 1), round(p.y, 1)) for p in points[one[where]]]
    assert polygon.is_valid
    return found


def test_no_cut_line_has_a_slit_or_a_tongue_of_its_underlap():
    for seed, _, part, plain in patches():
        given = united([to_polygon(a, 0.005).boundary for a in (part.finished, plain.cut)])
        assert tight_places(part.cut, given) == [], (seed, part.zone)


def test_nothing_is_moved_but_across_slits_and_tongues():
    """Every cut line lies on the allowances, on the underlap's width or 1 mm inside the cover."""
    bridges = 0
    for seed, ground, part, plain in patches():
        own = ground.zone(part.zone)
        # Corners that run on beneath a zone above are those of all allowances together.
        whole = offset_region(own.regions[0].rings)
        lines = [
            to_polygon(a, 0.002).boundary
            for a in (plain.cut, *whole, *covers_of(ground, own, 0.02))
        ]
        finished = to_polygon(part.finished, 0.002)
        for segment in part.cut.outline.segments:
            at = shapely.points(flatten(_path(segment), 0.01))
            off = min(shapely.distance(at, each).max() for each in lines)
            widths = {e.allowance_mm for r in own.regions[0].rings for e in r} - {0.0}
            beside = shapely.distance(at, finished)
            if off <= 0.02 or any(np.abs(beside - width).max() <= 0.02 for width in widths):
                continue
            # A corner of the allowances (its mitre is straight) or a bridge, which is short.
            if isinstance(segment, Line) and _length(segment) <= max(SLIT_MM, TONGUE_MM) + 0.01:
                bridges += 1
                continue
            corners = [e.path.start for r in own.regions[0].rings for e in r]
            reach = 4.1 * max(widths)
            assert shapely.distance(at, shapely.multipoints(corners)).max() <= reach, (
                seed,
                part.zone,
            )
    assert bridges > 4


def _path(segment):
    from templater.model.curves import Path

    return Path((segment,), closed=False)


def _length(segment):
    return shapely.LineString([segment.start, segment.end]).length


def folds_at(zone, above):
    """The lines along which turned edges end at underlaps: (place, direction)."""
    ring = zone.regions[0].rings[0]
    for edge, after in pairwise((*ring, ring[0])):
        first, second = (each.name in above for each in (edge, after))
        if second and not first:
            yield edge.path.end, end_direction(edge.path.segments[-1])
        if first and not second:
            yield after.path.start, start_direction(after.path.segments[0])


def mirrored(polygon, fold):
    (x, y), (dx, dy) = fold
    across = mirror_about((x, y), (x + dx, y + dy))
    return shapely.transform(polygon, lambda u, v: across.apply((u, v)), interleaved=False)


def test_no_underlap_peeps_out():
    """Beyond the allowances all cloth lies beneath the zones above, but beside cloth turned under, and
    where it is itself turned under along an edge that runs on: there its mirror image does.
    """
    folded = 0
    for seed, ground, part, plain in patches():
        level = ground.zone(part.zone).level
        above = united(
            to_polygon(z.regions[0].area, 0.002) for z in ground.zones if z.level > level
        )
        allowances = without(to_polygon(plain.cut, 0.002), to_polygon(part.finished, 0.002))
        showing = without(to_polygon(part.cut, 0.002), to_polygon(plain.cut, 0.002))
        showing = without(showing, united([above, allowances.buffer(SLIT_MM)])).buffer(-0.02)
        under = united([above, to_polygon(part.finished, 0.002)])
        for each in polygons_in(showing):
            folded += 1
            names = {z.name for z in ground.zones if z.level > level}
            folds = folds_at(ground.zone(part.zone), names)
            turned = [mirrored(each, fold) for fold in folds]
            assert min(without(way, under).area for way in turned) < 0.05, (seed, part.zone)
    assert folded > 0


def test_the_demos_blade_with_an_allowance_has_no_slit_at_its_tip():
    """There, beside the frond, the cut line once ran up and down again 1 mm apart."""
    demo = files("templater.demo")
    told = demo.joinpath("kelp-leotard.toml").read_text("utf-8")
    told = told.replace("[zones.blade]\n", "[zones.blade]\nweb = false\nallowance = 6\n")
    job, _ = load_job(told, "kelp-leotard.toml")
    drawing = read_drawing(demo.joinpath("kelp-front.svg").read_bytes(), "kelp-front.svg")
    parts, _ = make_parts(build_ground(drawing, job)[0], job)
    (blade,) = [part for part in parts if part.zone == "blade"]
    tight = tight_places(blade.cut, to_polygon(blade.finished, 0.005).boundary)
    assert [at for at in tight if at[1] > 400.0] == []


def cut_lines(layers, tables):
    ground, _ = ground_of(layers, tables)
    job, _ = load_job(f'drawing = "test.svg"\n{tables}', "test.toml")
    parts, _ = make_parts(ground, job)
    return {p.zone: to_polygon(p.cut, 0.002) for p in parts if p.kind is PartKind.APPLIQUE}


def test_beneath_two_zones_that_meet_the_underlap_is_not_parted():
    made = cut_lines(
        {
            "zone low": [box(0, 0, 100, 50)],
            "zone left": [box(0, 50, 48, 100)],
            "zone right": [box(48, 50, 100, 100)],
        },
        "",
    )
    expected = united([shapely.box(0, 0, 100, 50), shapely.box(BACK_MM, 50, 100 - BACK_MM, 55)])
    assert differing(made["low"], expected).area < 1e-3


SEAM_AT_THE_LEFT = {
    "piece front": [box(0, 0, 300, 300)],
    "seam side": [line((0, 0), (0, 300))],
}


def test_an_underlap_runs_into_the_seam_with_what_covers_it():
    """It ended 1 mm before the seam line, so that the two only met in the seam."""
    made = cut_lines(
        {
            **SEAM_AT_THE_LEFT,
            "zone low": [box(0, 100, 80, 150)],
            "zone up": [box(0, 150, 80, 200)],
        },
        "[zones.low]\nedges = { side = 12 }\n[zones.up]\nedges = { side = 12 }\n",
    )
    expected = united([shapely.box(-12, 100, 80, 150), shapely.box(-12, 150, 79, 155)])
    assert differing(made["low"], expected).area < 1e-3


def test_an_underlap_beside_one_that_ends_at_the_seam_line_stays_hidden():
    made = cut_lines(
        {
            **SEAM_AT_THE_LEFT,
            "zone low": [box(0, 100, 80, 150)],
            "zone up": [box(0, 150, 80, 200)],
        },
        "[zones.low]\nedges = { side = 12 }\n",
    )
    expected = united([shapely.box(-12, 100, 80, 150), shapely.box(1, 150, 79, 155)])
    assert differing(made["low"], expected).area < 0.02


def leaning(turn_deg):
    """A zone above right of x = 100 whose upper edge leaves the lower one's by this angle."""
    rise = 80 * math.tan(math.radians(turn_deg))
    corners = [(100, 0), (180, 0), (180, 60 + rise), (100, 60)]
    return Area(polyline(corners, closed=True))


@pytest.mark.parametrize("turn_deg", [15.0, 30.0, 45.0, 70.0])
def test_a_turned_edge_runs_on_beneath_the_zone_above(turn_deg):
    """Its allowance is cut straight on by the underlap, and hidden once it is folded."""
    made = cut_lines(
        {"zone low": [box(0, 0, 100, 60)], "zone up": [leaning(turn_deg)]},
        "[zones.low]\nallowance = 6\n[zones.up]\nallowance = 6\n",
    )
    corner = shapely.box(90, 40, 105, 66)
    cut = overlap(made["low"], shapely.box(90, 40, 140, 100))
    assert differing(cut, corner).area < 1e-3


@pytest.mark.parametrize("turn_deg", [0.0, -20.0])
def test_a_fold_that_would_lie_on_the_edge_above_or_beyond_it_does_not_run_on(turn_deg):
    made = cut_lines(
        {"zone low": [box(0, 0, 100, 60)], "zone up": [leaning(turn_deg)]},
        "[zones.low]\nallowance = 6\n[zones.up]\nallowance = 6\n",
    )
    assert overlap(made["low"], shapely.box(100.01, 59.01, 140, 100)).area < 1e-6


def test_over_a_lower_zone_an_allowance_is_kept():
    made = cut_lines(
        {"zone low": [box(0, 0, 50, 100)], "zone up": [box(50, 0, 90, 100)]},
        "[zones.up]\nallowance = 6\n[zones.low]\nallowance = 4\n",
    )
    assert differing(made["up"], shapely.box(44, -6, 96, 106)).area < 1e-3


def test_every_mark_is_on_the_cloth():
    """Also where an underlap was cut back."""
    strokes = 0
    for seed, _, part, _ in patches():
        cloth = to_polygon(part.cut, 0.01).buffer(0.06)
        for mark in part.marks:
            if mark.path is not None:
                strokes += 1
                ends = shapely.LineString([mark.path.start, mark.path.end])
                assert cloth.covers(ends), (seed, part.zone, mark.at)
    assert strokes > 120
