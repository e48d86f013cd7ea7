"""Parts read back from their written files and laid on the garment go together without a gap."""

import pytest
import shapely
from applique_grounds import ground, job, piece
from laid_parts import LaidPart, away
from test_matching import SHARED, two_zones

from templater.applique import make_parts
from templater.geometry.polygons import to_polygon
from templater.geometry.walk import tape_along
from templater.model.curves import Transform
from templater.model.ground import Side
from templater.model.parts import MarkKind, PartKind
from templater.readback.svg import read_svg
from templater.sheets.appliques import applique_sheets
from templater.writing import svg_bytes

APART_MM = 0.05


@pytest.fixture(scope="module")
def laid():
    made = ground(piece(), *two_zones(underlap=5.0))
    parts, problems = make_parts(made, job())
    assert problems == ()
    stems = {
        "front": "front",
        "lower": "lower",
        "upper": "upper",
        "": "cloth",
        "fusible web": "web",
    }
    placed, sheets, _ = applique_sheets(made, parts, job(), stems)
    facts = {sheet.name: read_svg(svg_bytes(sheet), sheet.name) for sheet in sheets}
    by_id = {part.id: part for part in parts}
    return {
        each.part: LaidPart(by_id[each.part], facts[each.sheet], each.transform) for each in placed
    }


def shared_points(side):
    tape = tape_along(SHARED)
    move = Transform() if side is Side.LEFT else Transform(a=-1.0, e=600.0)
    return [move.apply(tape.at(tape.length_mm * (i + 0.5) / 60)[0]) for i in range(60)]


@pytest.mark.parametrize("side", [Side.LEFT, Side.RIGHT])
def test_shared_edges_coincide(laid, side):
    for zone in ("lower", "upper"):
        drawn = laid[f"applique-{zone}-{side.value}"].lines
        for x, y in shared_points(side):
            assert drawn.distance(shapely.Point(x, y)) < APART_MM


@pytest.mark.parametrize("side", [Side.LEFT, Side.RIGHT])
def test_match_marks_of_one_number_coincide(laid, side):
    lower, upper = (laid[f"applique-{zone}-{side.value}"] for zone in ("lower", "upper"))
    marks = [mark for mark in lower.part.marks if mark.kind is MarkKind.MATCH]
    assert len(marks) >= 3
    for mark in marks:
        at = shapely.Point(*lower.part.to_side.apply(mark.at))
        for laid_part in (lower, upper):
            assert min(away(stroke, at) for stroke in laid_part.strokes) < APART_MM
        assert str(mark.number) in {text.text for text in lower.texts}


@pytest.mark.parametrize("side", [Side.LEFT, Side.RIGHT])
def test_the_underlap_is_there_and_covered(laid, side):
    lower, upper = (laid[f"applique-{zone}-{side.value}"] for zone in ("lower", "upper"))
    beneath = lower.cut.intersection(upper.finished)
    length = tape_along(SHARED).length_mm
    assert beneath.area == pytest.approx(5.0 * length, rel=0.03)
    showing = lower.cut.difference(shapely.union(lower.finished, upper.finished).buffer(APART_MM))
    assert showing.area < 0.1


@pytest.mark.parametrize("side", [Side.LEFT, Side.RIGHT])
def test_together_they_are_the_drawn_zones(laid, side):
    zones = two_zones()
    drawn = shapely.union_all([to_polygon(r.area, 0.001) for z in zones for r in z.regions])
    if side is Side.RIGHT:
        drawn = shapely.transform(drawn, lambda xy: xy * [-1, 1] + [600, 0])
    cut = shapely.union_all(
        [laid[f"applique-{zone}-{side.value}"].finished for zone in ("lower", "upper")]
    )
    assert cut.symmetric_difference(drawn).area < APART_MM * drawn.length


def test_left_mirrors_right_to_the_micrometre(laid):
    for name, one in laid.items():
        if one.part.side is not Side.LEFT:
            continue
        other = laid[name.replace("left", "right")]
        mirrored = shapely.transform(one.cut, lambda xy: xy * [-1, 1] + [600, 0])
        assert shapely.hausdorff_distance(mirrored, other.cut) < 0.001 + 0.0002  # four decimals
        assert one.part.kind in set(PartKind)


def test_no_label_is_mirrored(laid):
    for one in laid.values():
        assert one.texts
        assert not any(text.mirrored for text in one.texts)
