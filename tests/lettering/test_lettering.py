"""Text measured and as outlines."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from templater.geometry.measure import join_boxes, path_box, signed_path_area
from templater.lettering import (
    ISO_HEIGHTS_MM,
    fits,
    fitted,
    fitting_height_mm,
    missing_letters,
    shown_text,
    text_outlines,
    text_width_mm,
)


@pytest.mark.parametrize("height_mm", ISO_HEIGHTS_MM)
def test_a_capital_is_as_high_as_asked(height_mm):
    (letter,) = text_outlines("H", height_mm)
    _, low, _, high = path_box(letter)
    assert (low, high) == pytest.approx((0.0, height_mm), abs=1e-9)


@pytest.mark.parametrize("text", ["frond", "Größe", "μήκος", "платье", "Ł ő ş", "½ × 3–5 °"])
def test_scripts_of_europe_are_all_there(text):
    assert missing_letters(text) == ()
    assert shown_text(text) == text
    assert text_outlines(text, 3.5)


@pytest.mark.usefixtures("no_fonts")
def test_letters_no_font_has_are_named_and_replaced_by_a_box():
    assert missing_letters("漢 ok 漢 字\x07") == ("漢", "字", "\x07")
    assert shown_text("漢 ok") == "□ ok"
    assert text_outlines("漢", 3.5) == text_outlines("□", 3.5)
    assert text_width_mm("漢", 3.5) > 1.0


def test_accents_typed_apart_are_put_together():
    assert shown_text("e\u0301") == "é"


def test_line_ends_and_tabs_become_blanks():
    assert shown_text("a\tb\nc") == "a b c"


UNJOINED = st.text(st.characters(codec="cp1252") | st.sampled_from("ΩλЖдőШ漢字"), max_size=12)


@given(UNJOINED, UNJOINED, st.sampled_from(ISO_HEIGHTS_MM))
@settings(deadline=None, max_examples=60)
def test_width_adds_up_and_scales(left, right, height_mm):
    both = text_width_mm(shown_text(left) + shown_text(right), height_mm)
    apart = text_width_mm(left, height_mm) + text_width_mm(right, height_mm)
    assert math.isclose(both, apart, rel_tol=1e-9, abs_tol=1e-9)
    assert math.isclose(text_width_mm(left, 2 * height_mm), 2 * text_width_mm(left, height_mm))


def test_outlines_stay_within_the_width():
    text, height_mm = "Wearer's left, right side up", 3.5
    x0, _, x1, _ = join_boxes(path_box(path) for path in text_outlines(text, height_mm))
    assert x0 > -0.1
    assert x1 < text_width_mm(text, height_mm) + 0.1


def test_outsides_run_anticlockwise_and_counters_clockwise():
    areas = sorted(signed_path_area(path) for path in text_outlines("O", 10.0))
    assert len(areas) == 2
    assert areas[0] < 0.0 < areas[1]
    assert areas[1] > -areas[0]


def test_every_outline_closes_to_the_bit():
    for path in text_outlines("Ωй&§äQ8", 7.0):
        assert path.closed
        assert path.start == path.end
        assert all(a.end == b.start for a, b in zip(path.segments, path.segments[1:], strict=False))


def test_fitting_picks_the_largest_height_that_fits():
    width = text_width_mm("frond left", 5.0)
    assert fitting_height_mm("frond left", width + 0.01) == 5.0
    assert fitting_height_mm("frond left", width - 0.01) == 3.5
    assert fitting_height_mm("frond left", 1.0) is None
    assert fits("frond left", 5.0, width)


@pytest.mark.parametrize("height_mm", [0.0, -1.0, math.nan])
def test_heights_that_are_none_are_refused(height_mm):
    with pytest.raises(ValueError, match="height"):
        text_width_mm("a", height_mm)
    with pytest.raises(ValueError, match="height"):
        text_outlines("a", height_mm)


def test_fitted_takes_the_first_height_that_fits_and_cuts_short_only_at_the_last():
    wide, narrow = text_width_mm("frond left", 5.0) + 0.01, text_width_mm("frond left", 2.5) + 0.01
    assert fitted("frond left", wide, (5.0, 2.5)) == ("frond left", 5.0)
    assert fitted("frond left", narrow, (5.0, 2.5)) == ("frond left", 2.5)
    short, height = fitted("frond left", 0.7 * narrow, (5.0, 2.5))
    assert height == 2.5
    assert short.endswith("…")
    assert "frond left".startswith(short.removesuffix("…"))
    assert len(short) > 4
    assert fits(short, 2.5, 0.7 * narrow)
    assert fitted("frond left", 0.1, (5.0, 2.5)) == ("…", 2.5)
