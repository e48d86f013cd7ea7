from __future__ import annotations

import math

import pytest
from stoning_grounds import HERE, ground, ring_hole, zone

from templater.catalogue.sizes import find_size
from templater.geometry.polygons import circle, polyline, rectangle
from templater.model.curves import Arc, Area, Cubic, Line, Path
from templater.model.ground import EdgeKind, Fold, KeepClear, Low, Make
from templater.model.stones import Obstacle
from templater.stoning.fields import make_field
from templater.stoning.outline import outline_seats

SS16 = find_size("ss16")
assert SS16
R = SS16.width_mm / 2.0
FREE = (EdgeKind.FREE, True)


def on_cubic(cubic, t):
    u = 1 - t
    return tuple(
        u**3 * a + 3 * u * u * t * b + 3 * u * t * t * c + t**3 * d
        for a, b, c, d in zip(cubic.start, cubic.control1, cubic.control2, cubic.end, strict=True)
    )


def clearances(field):
    return {round(wall.clearance_mm, 6) for wall in field.walls}


class TestClearanceNeverSuffersFromFlattening:
    @pytest.mark.parametrize(
        ("control1", "control2"),
        [((60, 22), (20, 22)), ((60, -14), (20, -14)), ((50, 60), (30, -40)), ((70, 4), (69, 1))],
    )
    def test_of_cubics_that_bend_in_out_or_both_ways(self, control1, control2):
        bend = Cubic((80.0, 0.0), control1, control2, (0.0, 0.0))
        outline = Path(
            (
                Line((0.0, 0.0), (0.0, -50.0)),
                Line((0.0, -50.0), (80.0, -50.0)),
                Line((80.0, -50.0), (80.0, 0.0)),
                bend,
            ),
            closed=True,
        )
        the_zone = zone(outline)
        field = make_field(the_zone, ground(the_zone), gap_mm=0.2, edge_mm=0.1)
        seats = outline_seats(field, SS16, 0.2)
        curve = [on_cubic(bend, k / 40000) for k in range(40001)]
        rooms = []
        for seat in seats:
            near = [p for p in curve if abs(p[0] - seat.x) < 3 and abs(p[1] - seat.y) < 3]
            if near:
                rooms.append(min(math.dist(p, seat.at) for p in near) - R - 0.1)
        assert len(rooms) > 10
        assert min(rooms) >= -1e-6
        # And it costs next to nothing: the row still touches its margin.
        assert sorted(rooms)[len(rooms) // 2] < 0.0012

    def test_of_a_hole_and_of_a_disc(self):
        the_zone = zone(circle((0, 0), 100), [ring_hole((3, 4), 40)])
        field = make_field(the_zone, ground(the_zone), gap_mm=0.2, edge_mm=0.1)
        for seat in outline_seats(field, SS16, 0.2):
            assert 50 - math.dist(seat.at, (0, 0)) >= R + 0.1 - 1e-6
            assert math.dist(seat.at, (3, 4)) - 20 >= R + 0.1 - 1e-6

    def test_of_a_curved_line_kept_clear(self):
        # bulge = tan(angle/4) = −0.6: over a chord of 40, 12 high, radius 40·(1 + 0.36)/(4·0.6).
        crease = Path((Arc((10.0, -3.0), (50.0, -3.0), -0.6),), closed=False)
        keep = KeepClear("crease", "front", crease, 3.0, HERE)
        the_zone = zone(rectangle(0, 0, 60, 40))
        field = make_field(the_zone, ground(the_zone, keep_clear=[keep]), gap_mm=0.2, edge_mm=0.1)
        radius = 40 * 1.36 / 2.4
        centre = (30.0, 9.0 - radius)
        span = 4 * math.atan(0.6) / 2
        arc = [
            (
                centre[0] + radius * math.sin(span * k / 20000),
                centre[1] + radius * math.cos(span * k / 20000),
            )
            for k in range(-20000, 20001)
        ]
        assert math.dist(arc[0], (10, -3)) < 1e-9
        rooms = sorted(
            min(math.dist(p, seat.at) for p in arc) - R - 3.0
            for seat in outline_seats(field, SS16, 0.2)
        )
        assert rooms[0] >= -1e-6
        # The row along the bottom is broken twice: four stones touch the crease's margin.
        assert rooms[3] < 0.0012 < rooms[4]


class TestWalls:
    def test_each_kind_of_edge_keeps_its_own_distance(self):
        kinds = [FREE, (EdgeKind.NEIGHBOUR, True), (EdgeKind.SEAM, False), FREE]
        the_zone = zone(rectangle(0, 0, 40, 30), kinds=kinds)
        field = make_field(the_zone, ground(the_zone), gap_mm=0.6, edge_mm=0.1)
        by_side = {(w.x0, w.y0): w.clearance_mm for w in field.walls}
        assert by_side == {(0, 0): 0.1, (40, 0): 0.3, (40, 30): 0.1, (0, 30): 0.1}
        wide = make_field(the_zone, ground(the_zone), gap_mm=0.6, edge_mm=1.0)
        assert clearances(wide) == {1.0}

    def test_rows_run_where_edges_show_across_the_start_of_the_ring(self):
        kinds = [FREE, FREE, (EdgeKind.SEAM, False), FREE]
        the_zone = zone(rectangle(0, 0, 40, 30), kinds=kinds)
        field = make_field(the_zone, ground(the_zone), gap_mm=0.6, edge_mm=0.1)
        assert field.row_lines == (((((0, 30), (0, 0), (40, 0), (40, 30))), False),)
        everywhere = make_field(the_zone, ground(the_zone), gap_mm=0.6, edge_mm=0.1, along="all")
        assert [closed for _, closed in everywhere.row_lines] == [True]

    def test_the_fold_is_a_wall_of_its_own_on_one_cloth_and_an_edge_on_two(self):
        fold = Fold((0.0, -10.0), (0.0, 90.0))
        kinds = [FREE, FREE, FREE, (EdgeKind.FOLD, False)]
        the_zone = zone(rectangle(0, 0, 40, 30), kinds=kinds)
        joined = make_field(
            the_zone, ground(the_zone, make=Make.FOLD, fold=fold), gap_mm=0.6, edge_mm=1.0
        )
        assert joined.fold == fold
        (wall,) = [w for w in joined.walls if w.is_fold]
        assert wall.clearance_mm == 0.3
        assert wall.x0 == wall.x1 == 0.0
        assert min(wall.y0, wall.y1) < 0
        assert max(wall.y0, wall.y1) > 30
        apart = make_field(
            the_zone, ground(the_zone, make=Make.PAIR, fold=fold), gap_mm=0.6, edge_mm=0.1
        )
        assert apart.fold is None
        assert {w.clearance_mm for w in apart.walls if w.x0 == w.x1 == 0} == {0.3}

    def test_a_zone_away_from_the_fold_does_not_know_of_it(self):
        fold = Fold((0.0, -10.0), (0.0, 90.0))
        the_zone = zone(rectangle(5, 0, 40, 30))
        field = make_field(
            the_zone, ground(the_zone, make=Make.FOLD, fold=fold), gap_mm=0.6, edge_mm=1.0
        )
        assert field.fold is None

    def test_clear_areas_are_cut_out_and_lows_are_named(self):
        keep = KeepClear("clear", "front", Area(rectangle(10, 10, 20, 20)), 3.0, HERE)
        line = KeepClear("seam", "front", polyline([(40, -5), (40, 35)], closed=False), 8.0, HERE)
        low = Low("front", Area(rectangle(0, 20, 10, 30)), 1.6, HERE)
        far = KeepClear("clear", "front", Area(rectangle(400, 10, 420, 20)), 3.0, HERE)
        the_zone = zone(rectangle(0, 0, 40, 30))
        field = make_field(
            the_zone,
            ground(the_zone, keep_clear=[keep, line, far], lows=[low]),
            gap_mm=0.2,
            edge_mm=0.1,
        )
        assert len(field.rings) == 2
        assert [a.limit_mm for a in field.lows] == [1.6]
        assert {w.limit_mm for w in field.walls} == {-1.0, 1.6}
        assert clearances(field) == {0.1, 3.0, 8.0, 0.0}
        # Zone less the square grown by 3 (corners rounded) and less the 8 beside the seam.
        expected = 40 * 30 - (100 + 4 * 10 * 3 + math.pi * 9) - 8 * 30
        assert field.area_mm2 == pytest.approx(expected, rel=2e-4)

    def test_only_obstacles_near_the_zone_are_kept(self):
        near, far = Obstacle(((50.0, 10.0),), 2.0, 0.3), Obstacle(((300.0, 10.0),), 2.0, 0.3)
        the_zone = zone(rectangle(0, 0, 40, 30))
        field = make_field(
            the_zone, ground(the_zone), gap_mm=0.2, edge_mm=0.1, obstacles=[near, far]
        )
        assert field.obstacles == (near,)
