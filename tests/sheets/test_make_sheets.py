import itertools
import math
from collections import Counter

import pytest
from shapely import Polygon, STRtree
from shapely.affinity import affine_transform

from templater.geometry.flatten import flatten
from templater.geometry.polygons import to_polygon
from templater.geometry.register import tells_turned
from templater.lettering import text_width_mm
from templater.model.ground import Side
from templater.model.parts import HoleKind, PartKind
from templater.model.sheets import Anchor, Circle, Lettering, Pen, Stroke


def lettering_box(item):
    """The four corners of a line of text: its letters' height and its advance width."""
    width = text_width_mm(item.text, item.height_mm)
    start = {Anchor.START: 0.0, Anchor.MIDDLE: -width / 2.0, Anchor.END: -width}[item.anchor]
    c, s = math.cos(math.radians(item.turn_deg)), math.sin(math.radians(item.turn_deg))
    return [
        (item.at[0] + c * x - s * y, item.at[1] + s * x + c * y)
        for x, y in (
            (start, 0.0), (start + width, 0.0), (start + width, item.height_mm),
            (start, item.height_mm),
        )
    ]  # fmt: skip


def _items(sheet, kind):
    return [item for layer in sheet.layers for item in layer.items if isinstance(item, kind)]


def _layer(sheet, name):
    return next(layer for layer in sheet.layers if layer.name == name)


def test_everything_lies_on_its_sheet(made):
    for sheet in made.sheets:
        points = [p for item in _items(sheet, Stroke) for p in flatten(item.path, 0.05)]
        for circle in _items(sheet, Circle):
            r = circle.diameter_mm / 2.0
            points += [(circle.x_mm - r, circle.y_mm - r), (circle.x_mm + r, circle.y_mm + r)]
        points += [p for item in _items(sheet, Lettering) for p in lettering_box(item)]
        width, height = sheet.size_mm
        for x, y in points:
            assert 4.0 <= x <= width - 4.0, (sheet.name, x, y)
            assert 4.0 <= y <= height - 4.0, (sheet.name, x, y)


def test_no_text_lies_over_other_text_or_a_hole(made):
    for sheet in made.sheets:
        boxes = [Polygon(lettering_box(item)) for item in _items(sheet, Lettering)]
        names = [item.text for item in _items(sheet, Lettering)]
        for i, j in STRtree(boxes).query(boxes).T.tolist():
            if i < j:
                shared = boxes[i].intersection(boxes[j]).area
                assert shared < 0.01, (sheet.name, names[i], names[j])
        if sheet.kind in {"stencil", "prick", "punch", "strip"}:
            holes = [
                Polygon(flatten(item.path, 0.05)).buffer(0)
                for item in _layer(sheet, "holes").items
                if isinstance(item, Stroke)
            ]
            tree = STRtree(boxes)
            assert not [
                tree.query(hole, "intersects")
                for hole in holes
                if len(tree.query(hole, "intersects"))
            ]
            for circle in _layer(sheet, "holes").items:
                if isinstance(circle, Circle):
                    x, y, r = circle.x_mm, circle.y_mm, circle.diameter_mm / 2.0
                    square = Polygon(
                        [(x - r, y - r), (x + r, y - r), (x + r, y + r), (x - r, y + r)]
                    )
                    assert len(tree.query(square, "intersects")) == 0


def test_every_part_lies_inside_its_sheet_and_clear_of_the_others(made):
    parts = {part.id: part for part in made.parts}
    assert Counter(p.part for p in made.placed) == Counter(part.id for part in made.parts)
    by_sheet = {}
    for placed in made.placed:
        t = placed.transform
        assert abs(t.determinant) == pytest.approx(1.0)
        cut = affine_transform(
            to_polygon(parts[placed.part].cut, 0.01), (t.a, t.c, t.b, t.d, t.e, t.f)
        )
        by_sheet.setdefault(placed.sheet, []).append(cut)
    sizes = {sheet.name: sheet.size_mm for sheet in made.sheets}
    for name, cuts in by_sheet.items():
        width, height = sizes[name]
        for cut in cuts:
            x0, y0, x1, y1 = cut.bounds
            assert min(x0, y0, width - x1, height - 42.0 - y1) >= 8.0
        for a, b in itertools.combinations(cuts, 2):
            assert a.distance(b) >= 3.0 - 0.03


def test_right_parts_are_mirrored_webs_once_more_and_the_grain_is_kept(made):
    parts = {part.id: part for part in made.parts}
    for placed in made.placed:
        part, t = parts[placed.part], placed.transform
        assert t.mirrors == (part.to_side.mirrors != (part.kind is PartKind.WEB))
        if part.grain_deg is not None:
            off = (t.turned(part.grain_deg) - part.to_side.turned(part.grain_deg)) % 180.0
            assert min(off, 180.0 - off) < 1e-6


def test_sheets_say_which_side_and_which_way_up(made):
    for one in made.passes:
        sheet = next(s for s in made.sheets if s.name == one.template)
        words = {
            Side.LEFT: "WEARER’S LEFT", Side.RIGHT: "WEARER’S RIGHT",
            Side.CENTRE: "ACROSS THE FOLD", Side.SINGLE: "",
        }[one.side]  # fmt: skip
        said = " | ".join(item.text for item in _items(sheet, Lettering))
        assert words in said
        assert "RIGHT SIDE UP" in said
        assert one.zone in said
        assert f"sheet {sheet.number} of {sheet.of}" in said
        assert ("Never PVC" in said) == (one.kind is HoleKind.STENCIL)
    for sheet in made.of_kind("applique"):
        said = sheet.title
        is_web = sheet.title.startswith("Fusible web")
        assert ("REVERSED" in said) == is_web
        assert ("RIGHT SIDE UP" in said) != is_web
    assert not any(item.mirrored for s in made.sheets for item in _items(s, Lettering))


def test_bars_are_drawn_at_their_length(made):
    inches = made.job.display == "in"
    for sheet in made.sheets:
        if sheet.kind == "map":  # reduced: there is no true length on it
            assert not sheet.bars
            continue
        assert sheet.bars
        drawn = {
            (s.path.start, s.path.end)
            for s in _layer(sheet, "bars").items
            if isinstance(s, Stroke) and not s.path.closed
        }
        corners = [
            set(flatten(s.path, 1.0))
            for s in _layer(sheet, "bars").items
            if isinstance(s, Stroke) and s.path.closed
        ]
        for bar in sheet.bars:
            ends = ((bar.x0, bar.y0), (bar.x1, bar.y1))
            assert math.dist(*ends) == pytest.approx(bar.length_mm, abs=1e-3)
            assert ends in drawn or any(set(ends) <= square for square in corners)
            assert bar.length_mm in ({101.6, 50.8} if inches else {150.0, 100.0, 50.0})
    for sheet in made.of_kind("placement"):
        assert len(sheet.bars) == 4


def test_register_marks_are_drawn_and_tell_turned_sheets(made):
    for sheet in made.sheets:
        if sheet.kind in {"strip", "map", "half"}:  # nothing is laid on these
            continue
        assert tells_turned(sheet.register, 1.0), sheet.name
        rings = {
            (round(c.x_mm, 3), round(c.y_mm, 3))
            for c in _items(sheet, Circle)
            if c.pen is Pen.REGISTER
        }
        assert {(round(x, 3), round(y, 3)) for x, y in sheet.register} <= rings


def test_names_and_numbers_tell_sheets_apart(made):
    names = [sheet.name for sheet in made.sheets]
    assert len(set(names)) == len(names)
    assert len({name.split("/")[-1] for name in names}) == len(names)
    for kind in {sheet.kind for sheet in made.sheets}:
        own = [s for s in made.of_kind(kind) if not s.name.endswith("-reversed")]
        assert [s.number for s in own] == list(range(1, len(own) + 1))
        assert {s.of for s in own} == {len(own)}


def test_holes_are_drawn_once_each_with_their_stones_and_inside_the_outline(made):
    by_name = {sheet.name: sheet for sheet in made.sheets}
    for one in made.passes:
        sheet = by_name[one.template]
        holes = _layer(sheet, "holes").items
        assert len(holes) == len(one.holes)
        order = [layer.name for layer in sheet.layers if layer.name != "cloth"]
        assert order[:3] == ["holes", "register", "cut"]
        round_holes = {h.stone_id: h for h in one.holes if h.shape == "round"}
        drawn = {c.tag: c for c in holes if isinstance(c, Circle)}
        assert drawn.keys() == round_holes.keys()
        for name, circle in drawn.items():
            hole = round_holes[name]
            assert circle[:3] == (hole.x_mm, hole.y_mm, hole.diameter_mm)
        (outline,) = _layer(sheet, "cut").items
        frame = Polygon(flatten(outline.path, 0.05))
        for hole in one.holes:
            reach = max(hole.diameter_mm, hole.length_mm) / 2.0
            ring = frame.exterior
            from shapely import Point

            assert frame.contains(Point(hole.x_mm, hole.y_mm))
            assert ring.distance(Point(hole.x_mm, hole.y_mm)) >= reach + one.bridge_mm


def test_outlines_tell_the_pass_and_the_way_up_without_print(made):
    by_name = {sheet.name: sheet for sheet in made.sheets}
    for one in made.passes:
        (outline,) = _layer(by_name[one.template], "cut").items
        points = flatten(outline.path, 0.05)
        top = max(y for _, y in points)
        right = max(x for x, _ in points)
        assert (right, top) not in points, "the upper right corner is clipped"
        notches = [p for p in points if top - 2.5 < p[1] < top - 0.5]
        assert len(notches) == (one.number if one.of > 1 else 0)


def test_reversed_prick_sheets_mirror_the_right_way_ones(made):
    pricks = made.of_kind("prick")
    plain = {s.name: s for s in pricks if not s.name.endswith("-reversed")}
    behind = [s for s in pricks if s.name.endswith("-reversed")]
    assert len(behind) == len(plain) > 0
    for sheet in behind:
        front = plain[sheet.name.removesuffix("-reversed")]
        sums = {
            (round(a.x_mm + b.x_mm, 3), round(a.y_mm - b.y_mm, 3))
            for a, b in zip(_layer(front, "holes").items, _layer(sheet, "holes").items, strict=True)
        }
        assert len({x for x, _ in sums}) <= 2
        assert {y for _, y in sums} == {0.0}
        assert "REVERSED" in sheet.title


def test_placement_shows_every_stone_once_where_it_lies(made):
    sheets = [s for s in made.of_kind("placement") if s.name.endswith("-placement")]
    shown = Counter(c.tag for s in sheets for c in _items(s, Circle) if c.pen is Pen.STONE)
    rounds = [stone for stone in made.stones if stone.size.startswith("ss")]
    assert shown == Counter(stone.id for stone in rounds)
    shaped = sum(
        isinstance(item, Stroke)
        for s in sheets
        for layer in s.layers
        if layer.name.startswith("stones navette")
        for item in layer.items
    )
    assert shaped == len(made.stones) - len(rounds)
    at = {stone.id: stone for stone in made.stones}
    for sheet in sheets:
        offs = {
            (round(c.x_mm - at[c.tag].x_mm, 3), round(c.y_mm - at[c.tag].y_mm, 3))
            for c in _items(sheet, Circle)
            if c.pen is Pen.STONE
        }
        assert len(offs) == 1


def test_a_joined_front_is_one_placement_sheet_and_a_pair_two(fold_made, pair_made):
    assert [s.name for s in fold_made.of_kind("placement")] == [
        "print/front-centre-placement", "print/front-centre-registration",
    ]  # fmt: skip
    assert len(pair_made.of_kind("placement")) == 4


def test_parts_too_large_for_the_sheet_get_their_own_and_a_note(fold_made, pair_made):
    (told,) = [p for p in fold_made.problems if p.code == "part-larger-than-sheet"]
    assert "front" in told.message
    assert not pair_made.problems
    assert len(pair_made.of_kind("applique")) < len(pair_made.parts)


def test_the_test_strip_has_each_size_at_the_jobs_clearance_and_around_it(made):
    (strip,) = made.of_kind("strip")
    widths = sorted(c.diameter_mm for c in _layer(strip, "holes").items if isinstance(c, Circle))
    # Clearance 0.3 and 0.1, 0.2 to either side, on the largest of ss12, ss16 and ss20
    # (3.20, 4.00, 4.80: the catalogue's upper ends).
    expected = sorted(round(d + c, 4) for d in (3.2, 4.0, 4.8) for c in (0.1, 0.2, 0.3, 0.4, 0.5))
    assert widths == pytest.approx(expected)


def test_prick_sheets_tell_sizes_by_signs_and_their_number(made):
    """The commonest size has no sign; each hole of another has its size's, and the legend counts them."""
    by_id = {stone.id: stone for stone in made.stones}
    for one in made.passes:
        if one.kind is not HoleKind.PRICK:
            continue
        sheet = next(s for s in made.sheets if s.name == one.template)
        counts = Counter(by_id[hole.stone_id].size for hole in one.holes)
        order = sorted(counts, key=lambda size: (-counts[size], size))
        said = " ".join(item.text for item in _items(sheet, Lettering))
        signs = Counter()
        for item in _layer(sheet, "sizes").items:
            x0, y0, x1, y1 = Polygon(flatten(item.path, 0.05)).bounds
            middle = ((x0 + x1) / 2.0, (y0 + y1) / 2.0)
            hole = min(one.holes, key=lambda h: math.dist((h.x_mm, h.y_mm), middle))
            assert math.dist((hole.x_mm, hole.y_mm), middle) < 0.6
            signs[by_id[hole.stone_id].size, len(item.path.segments)] += 1
        corners = {"square": 4, "triangle": 3, "diamond": 4}
        for size, sign in zip(order[1:], corners, strict=False):
            assert signs[size, corners[sign]] == counts[size]
            assert f"{size} ({counts[size]}) {sign}" in said
        assert sum(signs.values()) == sum(counts.values()) - counts[order[0]]
        assert f"{order[0]} ({counts[order[0]]}) no sign" in said


def test_no_label_lies_on_a_register_mark(made):
    for sheet in made.of_kind("applique"):
        boxes = [Polygon(lettering_box(item)) for item in _items(sheet, Lettering)]
        rings = [c for c in _items(sheet, Circle) if c.pen is Pen.REGISTER]
        assert rings
        for ring in rings:
            cross = Polygon(
                [(ring.x_mm + dx * 4.0, ring.y_mm + dy * 4.0)
                 for dx, dy in ((-1, 0), (0, -1), (1, 0), (0, 1))]
            )  # fmt: skip
            assert not any(box.intersects(cross) for box in boxes), sheet.name
