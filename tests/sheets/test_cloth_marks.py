"""Film is laid on cut cloth by three marks: bits of the cut line on every template, again on the
registration sheet, with the distances between them.
"""

import math
import re

import pytest
from shapely import LineString, Polygon
from shapely import Point as ShapelyPoint

from templater.geometry.flatten import flatten
from templater.geometry.polygons import polyline, rectangle, to_polygon
from templater.geometry.register import tells_turned
from templater.geometry.three_points import three_points
from templater.geometry.walk import tape_along
from templater.model.curves import Area
from templater.model.ground import Side
from templater.model.parts import PartKind
from templater.model.sheets import Lettering, Stroke
from templater.sheets.cloth_marks import NAMES, cloth_marks, panel_of


def layer(sheet, name):
    return next((each.items for each in sheet.layers if each.name == name), ())


def bits_of(sheet):
    """The bits of cut line and their strokes outwards, as polylines, mark by mark."""
    lines = [
        flatten(item.path, 0.001) for item in layer(sheet, "cloth") if isinstance(item, Stroke)
    ]
    return list(zip(lines[::2], lines[1::2], strict=True))


def cut_lines(made, zone, side):
    """Where the cut lines of a zone's cloths lie on the garment."""
    found = []
    for part in made.parts:
        if (part.kind, part.zone, part.side) == (PartKind.APPLIQUE, zone, side):
            ring = to_polygon(part.cut, 0.0005).exterior.coords
            found.append(LineString([part.to_side.apply(p) for p in ring]))
    return found


def test_every_template_shows_three_bits_of_its_cloths_cut_line(made):
    shown = 0
    for one in made.passes:
        sheet = next(s for s in made.sheets if s.name == one.template)
        lines = cut_lines(made, one.zone, one.side)
        bits = bits_of(sheet)
        assert len(bits) in {0, 3 * len(lines)}
        for bit, stroke in bits:
            on_garment = LineString([(x - one.to_sheet.e, y - one.to_sheet.f) for x, y in bit])
            assert on_garment.length == pytest.approx(8.0, abs=0.01)
            assert min(line.hausdorff_distance(on_garment) for line in lines) > 5.0, "only a bit"
            assert (
                min(
                    max(line.distance(ShapelyPoint(p)) for p in on_garment.coords) for line in lines
                )
                < 0.01
            )
            assert (
                on_garment.distance(
                    ShapelyPoint(stroke[0][0] - one.to_sheet.e, stroke[0][1] - one.to_sheet.f)
                )
                < 0.001
            )
        shown += bool(bits)
    assert shown >= 0.7 * len(made.passes), "panels amid a zone have no cut line"


def test_the_bits_lie_on_the_film_and_their_strokes_point_off_the_cloth(made):
    by_name = {sheet.name: sheet for sheet in made.sheets}
    for one in made.passes:
        (outline,) = layer(by_name[one.template], "cut")
        frame = Polygon(flatten(outline.path, 0.05))
        cloths = [Polygon(line) for line in cut_lines(made, one.zone, one.side)]
        for bit, stroke in bits_of(by_name[one.template]):
            assert frame.contains(LineString(bit))
            assert frame.contains(LineString(stroke))
            x, y = stroke[-1]
            tip = ShapelyPoint(x - one.to_sheet.e, y - one.to_sheet.f)
            assert not any(cloth.contains(tip) for cloth in cloths)


def test_passes_of_a_panel_share_their_marks_and_the_registration_sheet_has_them(made):
    found = cloth_marks(made.passes, made.parts)
    sheets = [s for s in made.sheets if s.name.endswith("-registration")]
    at_home = {}
    for one in made.passes:
        sheet = next(s for s in made.sheets if s.name == one.template)
        starts = {
            (round(stroke[0][0] - one.to_sheet.e, 3), round(stroke[0][1] - one.to_sheet.f, 3))
            for _, stroke in bits_of(sheet)
        }
        assert at_home.setdefault(panel_of(one), starts) == starts
        wanted = [at for marks in found[panel_of(one)] for at in marks.at]
        assert len(starts) == len(wanted)
        assert all(min(math.dist(at, start) for start in starts) < 0.002 for at in wanted)
    everywhere = set().union(*at_home.values())
    drawn = 0
    for sheet in sheets:
        # The sheet's own shift is that of its register marks, of which some are the passes'.
        starts = [stroke[0] for _, stroke in bits_of(sheet)]
        first = min(starts)
        for x, y in everywhere:
            dx, dy = first[0] - x, first[1] - y
            moved = [(a - dx, b - dy) for a, b in starts]
            if all(min(math.dist(at, other) for other in everywhere) < 0.01 for at in moved):
                drawn += len(starts)
                break
    assert drawn == sum(map(len, at_home.values()))


def test_the_three_fit_only_one_way_and_left_mirrors_right(made):
    found = cloth_marks(made.passes, made.parts)
    fold = made.ground.piece("front").fold.mirror
    pairs = 0
    for (piece, zone, side, letter), all_marks in found.items():
        for marks in all_marks:
            assert tells_turned(marks.at, 2.5)
            a, b, c = marks.at
            twice = abs((b[0] - a[0]) * (c[1] - a[1]) - (c[0] - a[0]) * (b[1] - a[1]))
            assert twice / max(math.dist(a, b), math.dist(b, c), math.dist(c, a)) >= 15.0
        if side is Side.LEFT:
            twins = found[piece, zone, Side.RIGHT, letter]
            for one, other in zip(all_marks, twins, strict=True):
                for p, q in zip(one.at, other.at, strict=True):
                    assert math.dist(fold.apply(p), q) < 0.001
                    pairs += 1
    assert pairs >= 6


def test_the_table_has_the_distances_as_drawn(fold_made):
    (sheet,) = [s for s in fold_made.sheets if s.name.endswith("-registration")]
    words = [item for item in layer(sheet, "table") if isinstance(item, Lettering)]
    rows = {}
    for item in words:
        rows.setdefault(item.at[1], []).append((item.at[0], item.text))
    texts = [[text for _, text in sorted(row)] for _, row in sorted(rows.items(), reverse=True)]
    assert texts[0] == ["film on cut cloth", "I to II", "II to III", "III to I"]
    found = cloth_marks(fold_made.passes, fold_made.parts)
    marks = [each for own in found.values() for each in own]
    assert len(texts) - 1 == len(marks) >= 3
    for row, each in zip(texts[1:], marks, strict=True):
        assert row[0].startswith(each.name)
        a, b, c = each.at
        for said, (p, q) in zip(row[1:], ((a, b), (b, c), (c, a)), strict=True):
            assert float(re.sub(r" mm$", "", said)) == pytest.approx(math.dist(p, q), abs=0.051)


def test_the_marks_are_named_where_there_is_room(fold_made):
    named = [
        {item.text for item in layer(sheet, "cloth") if isinstance(item, Lettering)}
        for sheet in fold_made.sheets
        if sheet.kind in {"stencil", "prick", "punch"} and layer(sheet, "cloth")
    ]
    assert all(names <= set(NAMES) for names in named)
    assert sum(names == set(NAMES) for names in named) >= 0.9 * len(named)


BOX = (-1e3, -1e3, 1e3, 1e3)


@pytest.mark.parametrize(("wide", "high"), [(100.0, 100.0), (40.0, 200.0), (60.0, 20.0)])
def test_even_a_rectangle_gives_three_unlike_distances(wide, high):
    outline = rectangle(0.0, 0.0, wide, high)
    places = three_points(outline, BOX)
    at = [tape_along(outline).at(along)[0] for along in places]
    assert tells_turned(at, 2.5)


def test_corners_come_first():
    outline = polyline([(0, 0), (150, 0), (40, 90)], closed=True)
    at = [tape_along(outline).at(along)[0] for along in three_points(outline, BOX)]
    assert {(round(x), round(y)) for x, y in at} == {(0, 0), (150, 0), (40, 90)}


@pytest.mark.parametrize(
    "box", [(10.0, 10.0, 90.0, 90.0), (0.0, 0.0, 12.0, 100.0), (200.0, 0.0, 300.0, 100.0)]
)
def test_too_little_of_the_cut_line_gives_none(box):
    assert three_points(rectangle(0.0, 0.0, 100.0, 100.0), box) is None


def test_an_outline_may_begin_at_its_corner_or_amid_a_side():
    corner = rectangle(0.0, 0.0, 120.0, 70.0)
    amid = polyline([(60, 0), (120, 0), (120, 70), (0, 70), (0, 0)], closed=True)
    found = []
    for outline in (corner, amid):
        at = [tape_along(outline).at(along)[0] for along in three_points(outline, BOX)]
        found.append({(round(x, 6), round(y, 6)) for x, y in at})
    assert len(found[0]) == len(found[1]) == 3
    assert Area(corner) != Area(amid)
    assert sum(p in {(0, 0), (120, 0), (120, 70), (0, 70)} for p in found[0]) >= 2
