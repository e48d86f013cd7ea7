"""The one protocol: what a sheet tells a writer."""

import math

import pytest
from writing_samples import line, sheet, small_sheet

from templater.model.curves import Arc, Path
from templater.model.sheets import Circle, Lettering, Pen, SheetLayer, Stroke
from templater.writing.numbers import plain, snap
from templater.writing.protocol import RecordingWriter, draw_sheet


def calls(one):
    writer = RecordingWriter()
    draw_sheet(one, writer)
    return writer.calls


def test_layers_and_their_items_come_in_order():
    verbs = [verb for verb, _ in calls(small_sheet())]
    assert verbs == [
        *("begin_layer", "circle", "end_layer"),
        *("begin_layer", "fill", "stroke", "stroke", "stroke", "end_layer"),
        *("begin_layer", "lettering", "end_layer"),
    ]


def test_coordinates_are_snapped_and_bulges_kept():
    path = Path((Arc((1 / 3, -1e-9), (2.0, 2 / 3), 1 / 7),), closed=False)
    drawn = calls(
        sheet(SheetLayer("x", (Stroke(path, Pen.CUT), Circle(1 / 3, 0, 2 / 3, Pen.HOLE))))
    )
    (arc,) = drawn[1][1][0].segments
    assert arc == Arc((0.3333, 0.0), (2.0, 0.6667), 1 / 7)
    assert math.copysign(1.0, arc.start[1]) == 1.0
    assert drawn[2][1] == Circle(0.3333, 0.0, 0.6667, Pen.HOLE)


def test_empty_texts_and_paths_are_not_drawn():
    items = (Lettering("  ", (0, 0), 3.5), Stroke(Path((), closed=False), Pen.CUT))
    assert [verb for verb, _ in calls(sheet(SheetLayer("x", items)))] == [
        "begin_layer",
        "end_layer",
    ]


def test_an_endless_bulge_is_refused():
    with pytest.raises(ValueError, match="layer x"):
        calls(
            sheet(
                SheetLayer("x", (Stroke(Path((Arc((0, 0), (1, 1), math.inf),), False), Pen.CUT),))
            )
        )
    assert calls(sheet(SheetLayer("x", (Stroke(line((0, 0), (1, 1)), Pen.CUT),))))


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (0.0, "0"),
        (-0.00001, "0"),
        (12.5, "12.5"),
        (1e-5, "0"),
        (1e20, "1" + "0" * 20),
        (-3.10, "-3.1"),
        (100.0, "100"),
    ],
)
def test_plain_numbers_have_no_exponent_and_no_idle_noughts(value, text):
    assert plain(value) == text


def test_snapping_never_gives_minus_nothing():
    assert math.copysign(1.0, snap(-0.00004)) == 1.0
