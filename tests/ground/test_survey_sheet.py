"""The survey's picture: everything named once, nothing over anything, problems where they are."""

import math
from dataclasses import replace
from itertools import pairwise

import pytest
import shapely
from drawings import box, disc, drawing, ground_of, line
from hypothesis import given, settings
from hypothesis import strategies as st

from templater.geometry.hatch import hatch
from templater.geometry.polygons import to_polygon
from templater.ground.survey import survey
from templater.ground.survey_frame import frame_of
from templater.ground.survey_legend import numbered
from templater.ground.survey_sheet import survey_sheet
from templater.lettering import fits, text_width_mm
from templater.lettering.stacking import stacked, wrapped
from templater.model.curves import Area
from templater.model.drawing import DrawingLayer, TextShape
from templater.model.problems import Problem, Severity, Source
from templater.model.sheets import Anchor, Circle, Fill, Lettering, Pen, Stroke

GOOD = {
    "piece front": [box(10, 10, 210, 310)],
    "fold": [line((10, 10), (10, 310))],
    "zone leaf": [box(30, 30, 120, 100)],
    "zone tip": [box(30, 150, 60, 180), box(150, 150, 180, 180)],
    "row spine": [line((30, 200), (100, 260))],
    "edge hem": [line((10, 10), (210, 10))],
    "clear snaps": [disc(160, 60, 12), disc(160, 90, 12)],
    "low flap": [box(140, 40, 180, 110)],
    "notch waist": [line((210, 150), (205, 150))],
    "drill a": [(100.0, 130.0)],
    "Ebene 4": [box(40, 270, 70, 300)],
}


def sheet_of(layers, size=(400.0, 600.0), extra=()):
    ground, problems = ground_of(layers)
    drawn = drawing(layers, size)
    return survey_sheet(drawn, survey(drawn, ground, (*problems, *extra)))


def layer(sheet, name):
    return next(layer.items for layer in sheet.layers if layer.name == name)


def words(sheet, name="names"):
    return [item for item in layer(sheet, name) if isinstance(item, Lettering)]


def word_box(item):
    width = text_width_mm(item.text, item.height_mm)
    x = {Anchor.START: 0.0, Anchor.MIDDLE: width / 2.0, Anchor.END: width}[item.anchor]
    return shapely.box(
        item.at[0] - x, item.at[1], item.at[0] - x + width, item.at[1] + item.height_mm
    )


def test_every_layer_is_named_once():
    assert sorted(item.text for item in words(sheet_of(GOOD))) == sorted(
        [
            "piece front",
            "fold",
            "zone leaf",
            "zone tip (2)",
            "row spine",
            "edge hem",
            "clear snaps (2)",
            "low flap",
            "notch waist",
            "drill a",
            '"Ebene 4": likely zone',
        ]
    )


def test_texts_drawn_over_one_another_are_laid_apart():
    ground, problems = ground_of({"piece p": [box(0, 0, 200, 200)]})
    drawn = drawing({"piece p": [box(0, 0, 200, 200)]})
    source = Source(drawn.file, "note")
    texts = [TextShape(f"Line {k}: of the pattern", (5.0, 5.0), 4.0, 0.0, source) for k in range(6)]
    texts.append(TextShape("turned", (100.0, 100.0), 4.0, 90.0, source))
    drawn = replace(drawn, layers=(*drawn.layers, DrawingLayer("note", tuple(texts))))
    sheet = survey_sheet(drawn, survey(drawn, ground, problems))
    shown = words(sheet, "notes")
    assert [item.text for item in shown] == [text.text for text in texts]
    boxes = [word_box(item) for item in shown if not item.turn_deg]
    (name,) = [word_box(item) for item in words(sheet) if item.text == "piece p"]
    for k, one in enumerate(boxes):
        assert not any(one.intersects(other) for other in [*boxes[k + 1 :], name])


CROWDED = {
    "piece p": [box(0, 0, 300, 400)],
    **{f"zone number {k}": [disc(30 + k % 8 * 34, 30 + k // 8 * 24, 14)] for k in range(96)},
}


@pytest.mark.parametrize("layers", [GOOD, CROWDED])
def test_no_name_lies_over_another_or_off_the_sheet(layers):
    sheet = sheet_of(layers)
    boxes = [word_box(item) for item in words(sheet)]
    for k, one in enumerate(boxes):
        assert shapely.box(0, 0, *sheet.size_mm).contains(one)
        assert not any(one.intersects(other) for other in boxes[k + 1 :])


def test_a_name_inside_a_zone_lies_on_no_line_and_no_hatch():
    sheet = sheet_of(GOOD)
    lines = [item for item in layer(sheet, "lines") if isinstance(item, Stroke)]
    inside = [item for item in words(sheet) if item.anchor is Anchor.MIDDLE]
    assert {item.text for item in inside} >= {"piece front", "zone leaf"}
    for item in inside:
        for stroke in lines:
            ends = [(stroke.path.start, *(s.end for s in stroke.path.segments))]
            assert not word_box(item).intersects(shapely.LineString(ends[0]))


def test_each_leader_ends_on_what_it_names():
    layers = {"piece p": [box(0, 0, 100, 100)], "clear snaps": [disc(30, 30, 10), disc(60, 60, 10)]}
    sheet = sheet_of(layers)
    dots = [item for item in layer(sheet, "names") if isinstance(item, Circle)]
    spots = [
        to_polygon(Area(item.path), 0.05)
        for item in layer(sheet, "lines")
        if isinstance(item, Stroke) and item.pen is Pen.KEEP_CLEAR
    ]
    leading = [shapely.Point(dot.x_mm, dot.y_mm) for dot in dots]
    assert len(leading) == len(spots) == 2
    assert all(sum(point.within(spot) for point in leading) == 1 for spot in spots)


def test_clear_and_low_areas_are_hatched_apart():
    sheet = sheet_of(GOOD)
    strokes = [item for item in layer(sheet, "hatched") if isinstance(item, Stroke)]
    rising = {Pen.KEEP_CLEAR: True, Pen.STONE: False}
    assert {stroke.pen for stroke in strokes} == set(rising)
    for stroke in strokes:
        (x0, y0), (x1, y1) = stroke.path.start, stroke.path.end
        assert ((x1 - x0) * (y1 - y0) > 0.0) is rising[stroke.pen]


def test_the_sheet_is_to_scale_and_says_so():
    sheet = sheet_of(GOOD)  # 200 × 300 mm, at 1 : 1
    text = " ".join(item.text for item in words(sheet, "size"))
    assert "shown 200.0 × 300.0 mm at 1 : 1" in text
    assert "page 400.0 × 600.0 mm" in text
    (bar,) = sheet.bars
    assert f"{bar.length_mm:g} mm" in text
    xs = [x for s in layer(sheet, "lines") if s.pen is Pen.CUT for x, _ in [s.path.start]]
    ends = [s.end[0] for x in layer(sheet, "lines") if x.pen is Pen.CUT for s in x.path.segments]
    assert max(ends) - min([*xs, *ends]) == pytest.approx(200.0)


@pytest.mark.parametrize(
    ("width", "words_", "scale"),
    [
        (9.0, "20 : 1", 20.0),
        (150.0, "1 : 1", 1.0),
        (420.0, "1 : 1", 1.0),
        (421.0, "1 : 2", 0.5),
        (3000.0, "1 : 10", 0.1),
    ],
)
def test_any_size_comes_to_a_sheet_that_can_be_looked_at(width, words_, scale):
    frame = frame_of(drawing({"zone a": [box(0, 0, width, 5)]}), ())
    assert (frame.words, frame.scale) == (words_, scale)
    bar = frame.bar_mm()
    assert bar == pytest.approx(float(f"{bar:.0e}"))
    assert int(f"{bar:e}"[0]) in (1, 2, 5)


BAD = {
    "piece front": [box(10, 10, 210, 310)],
    "zone open": [line((40, 40), (90, 40), (90, 90))],
    "zone away": [box(300, 300, 340, 340)],
    "fold": [line((10, 10), (40, 100), (10, 310))],
}


def test_problems_are_circled_where_they_are_numbered_and_told():
    ground, problems = ground_of(BAD)
    drawn = drawing(BAD)
    sheet = survey_sheet(drawn, survey(drawn, ground, problems))
    items = numbered(problems)
    assert len(items) == 3
    told = " ".join(item.text for item in words(sheet, "legend"))
    rings = [to_polygon(i.area, 0.05) for i in layer(sheet, "problems") if isinstance(i, Fill)]
    piece = next(s for s in layer(sheet, "lines") if s.pen is Pen.CUT).path.start
    dx, dy = piece[0] - 10, piece[1] - 10  # the piece's corner is at (10, 10), at 1 : 1
    for item in items:
        assert f"{item.severity} at x {item.problem.at_mm[0]:.1f}" in told
        at = shapely.Point(item.problem.at_mm[0] + dx, item.problem.at_mm[1] + dy)
        assert any(r.centroid.distance(at) < 0.1 and not r.contains(at) for r in rings)
    assert [w.text for w in words(sheet, "problems")] == ["1", "2", "3"]
    flat = told.replace(" ", "")
    for problem in problems:
        assert problem.message.replace(" ", "") in flat
        assert problem.mend.replace(" ", "") in flat


def test_numbers_never_lie_over_one_another():
    here = [
        Problem(f"p{k}", Severity.WARNING, f"problem {k}", "", None, (60.0 + k * 4.0, 60.0))
        for k in range(12)
    ]
    sheet = sheet_of({"zone a": [box(0, 0, 200, 200)]}, extra=here)
    boxes = [word_box(item) for item in words(sheet, "problems")]
    assert len(boxes) == 12
    for k, one in enumerate(boxes):
        assert not any(one.intersects(other) for other in boxes[k + 1 :])


def test_errors_come_first_and_each_problem_once():
    problems = (
        Problem("a", Severity.NOTE, "n"),
        Problem("b", Severity.ERROR, "e"),
        Problem("a", Severity.NOTE, "n"),
        Problem("c", Severity.WARNING, "w"),
    )
    assert [(i.number, i.problem.message) for i in numbered(problems)] == [
        (1, "e"),
        (2, "w"),
        (3, "n"),
    ]


def test_very_many_problems_are_told_up_to_a_number():
    many = [Problem("x", Severity.NOTE, f"note {k}") for k in range(200)]
    sheet = sheet_of({"zone a": [box(0, 0, 20, 20)]}, extra=many)
    shown = [item for item in words(sheet, "legend") if item.text.isdigit()]
    last = words(sheet, "legend")[-1].text
    ground_has = len(ground_of({"zone a": [box(0, 0, 20, 20)]})[1])
    assert f"{200 + ground_has - len(shown)} more" in last
    assert 20 < len(shown) < 100


def test_an_empty_drawing_still_gives_a_sheet():
    sheet = sheet_of({}, size=(0.0, 0.0))
    assert min(sheet.size_mm) > 100.0
    assert any("no zones" in item.text for item in words(sheet, "legend"))


@given(st.lists(st.floats(-1e3, 1e3), max_size=30))
@settings(max_examples=100, deadline=None)
def test_stacked_names_keep_their_order_and_pitch(wishes):
    wishes = sorted(wishes)
    places = stacked(wishes, 5.0)
    assert all(b - a >= 5.0 - 1e-6 for a, b in pairwise(places))
    if all(b - a >= 5.0 for a, b in pairwise(wishes)):
        assert places == pytest.approx(wishes, abs=1e-6)
    if wishes:  # moving the whole column never brings it nearer to the wishes
        off = sum(p - w for p, w in zip(places, wishes, strict=True)) / len(wishes)
        assert abs(off) < 1e-6


@given(st.text(max_size=120), st.floats(5.0, 80.0))
@settings(max_examples=60, deadline=None)
def test_wrapped_lines_fit_and_lose_nothing(text, width):
    lines = wrapped(text, width, 2.5)
    assert "".join(lines).replace(" ", "") == "".join(text.split())
    assert all(fits(one, 2.5, width) or len(one) == 1 for one in lines)


@pytest.mark.parametrize("falling", [False, True])
def test_a_hatch_covers_an_area_evenly(falling):
    polygon = shapely.Polygon([(3, 2), (50, 9), (44, 60), (10, 40)])
    lines = hatch(polygon, 2.0, falling=falling)
    length = sum(math.dist(a, b) for a, b in lines)
    assert length * 2.0 == pytest.approx(polygon.area, rel=0.02)
    assert all(polygon.buffer(1e-6).covers(shapely.LineString(ends)) for ends in lines)
