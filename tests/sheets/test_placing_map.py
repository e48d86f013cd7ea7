"""Appliqués can be pinned with a tape measure alone, from the true-size sheet or from one page."""

import itertools
import math
import re

import pytest
import shapely

from templater.geometry.polygons import polyline
from templater.model.curves import Transform
from templater.model.ground import Reference
from templater.model.parts import EdgeMeasure, PartKind
from templater.model.sheets import Lettering, Stroke
from templater.sheets.measures import Pin, Room, measure_lines, pins_on, tape_words, words_box
from templater.writing.sheet_content import SheetContent


@pytest.mark.parametrize(
    ("length", "display", "said"),
    [
        (104.51, "mm", "104.5 mm"),
        (0.1, "mm", "0 mm"),
        (-12.3, "mm", "−12.5 mm"),
        (-0.1, "mm", "0 mm"),
        (25.4, "in", "1 in"),
        (123.825, "in", "4 7/8 in"),
        (-9.525, "in", "−3/8 in"),
        (0.2, "in", "0 in"),
    ],
)
def test_lengths_are_said_as_a_tape_is_read(length, display, said):
    assert tape_words(length, display) == said


def layer(sheet, name):
    return next(each.items for each in sheet.layers if each.name == name)


def sheets_of(made, ending):
    found = [each for each in made.sheets if each.name.endswith(ending)]
    assert len(found) == (1 if made.ground.surfaces[0].joined_at_fold else 2)
    return found


def words_in(items):
    return [item.text for item in items if isinstance(item, Lettering)]


def test_the_map_fits_one_page_of_the_makers_paper_and_states_its_scale(made):
    for sheet in sheets_of(made, "-map"):
        words = [word for each in sheet.layers for word in words_in(each.items)]
        assert any(re.match("Placing map 1 : [2345]", word) for word in words)
        assert any("NOT TRUE SIZE" in word for word in words)
        x0, y0, x1, y1 = SheetContent(sheet).box
        assert x1 - x0 <= 210 - 16
        assert y1 - y0 <= 297 - 16


def test_every_points_distances_are_in_the_table(made):
    pins = pins_on(made.parts, "front")
    assert len(pins) >= 3
    for sheet in sheets_of(made, "-map"):
        table = words_in(layer(sheet, "table"))
        for pin in pins:
            row = table[table.index(pin.code) :]
            said = [
                word
                for m in pin.measures
                for word in (
                    m.edge,
                    tape_words(m.along_mm, made.job.display),
                    tape_words(m.square_mm, made.job.display),
                )
            ]
            assert row[: 2 + len(said)] == [pin.code, pin.words, *said]
    named = ", ".join(pin.words for pin in pins).split(", ")
    zones = {part.zone for part in made.parts if part.kind is PartKind.APPLIQUE}
    assert {f"{zone} tip" for zone in zones} <= set(named)


def test_every_point_of_an_applique_is_named_alike(made):
    """The tip, then the others by number; none by the bare name of its appliqué."""
    named = [name for pin in pins_on(made.parts, "front") for name in pin.words.split(", ")]
    zones = {part.zone for part in made.parts if part.kind is PartKind.APPLIQUE}
    for zone in zones:
        own = {name for name in named if re.match(rf"{zone}( \d+)? (tip|point \d+)$", name)}
        assert {f"{zone} tip", f"{zone} point 2", f"{zone} point 3"} <= own
    assert all(re.search(r" (tip|point \d+)$", name) for name in named)


def test_the_true_size_sheet_has_every_distance_on_every_side(made):
    for sheet in sheets_of(made, "-placement"):
        times = 2 if made.ground.surfaces[0].joined_at_fold else 1
        items = layer(sheet, "measures")
        words = words_in(items)
        drawn = [math.dist(i.path.start, i.path.end) for i in items if isinstance(i, Stroke)]
        for pin in pins_on(made.parts, "front"):
            assert words.count(pin.code) == times
            for m in pin.measures:
                assert (
                    words.count(f"{pin.code}: {tape_words(m.along_mm, made.job.display)}") >= times
                )
                if m.square_mm > 0.25:
                    assert (
                        words.count(f"{pin.code}: {tape_words(m.square_mm, made.job.display)}")
                        >= times
                    )
                    assert sum(abs(length - m.square_mm) < 0.02 for length in drawn) >= times


@pytest.mark.parametrize("ending", ["-map", "-placement"])
def test_no_words_lie_over_other_words(made, ending):
    for sheet in sheets_of(made, ending):
        items = [i for i in layer(sheet, "measures") if isinstance(i, Lettering)]
        boxes = [(item.text, words_box(item)) for item in items]
        over = [
            (a, b)
            for (a, one), (b, other) in itertools.combinations(boxes, 2)
            if one.intersects(other)
        ]
        assert over == []


def test_words_keep_off_stones_where_there_is_room():
    stone = shapely.box(-3, -3, 3, 3)
    measure = EdgeMeasure("hem", 40.0, 60.0, (0.0, -60.0), (-40.0, -60.0))
    pin = Pin("A", "leaf tip", (0.0, 0.0), (measure,))
    edge = Reference("hem", "front", polyline([(-40, -60), (40, -60)], closed=False), None)
    piece = type("Bare", (), {"area": None})()
    room = Room([stone], [])
    items = measure_lines([pin], piece, [edge], Transform(), "mm", 2.5, room, brief=False)
    words = [item for item in items if isinstance(item, Lettering)]
    assert sorted(item.text for item in words) == ["0 hem", "A", "A: 40 mm", "A: 60 mm"]
    assert not any(words_box(item).intersects(stone) for item in words)
