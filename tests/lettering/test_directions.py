"""Words that run from right to left: seen in their order, joined, apart from their neighbours."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from templater.lettering import fitted, text_outlines, text_width_mm
from templater.lettering.bidi import visual_runs
from templater.lettering.shaping import clusters, shape
from templater.lettering.stacking import wrapped


def seen(text):
    """What stands from left to right, letter by letter."""
    glyphs = sorted(shape(text).glyphs, key=lambda glyph: glyph.x)
    return "".join(glyph.text for glyph in glyphs)


@pytest.mark.parametrize(
    ("text", "from_left"),
    [
        ("שלום", "םולש"),
        ("עלה 16", "16 הלע"),  # numbers run to the right
        ("עלה 1.5 מ", "מ 1.5 הלע"),
        ("עלה left", "left הלע"),
        ("left עלה", "left הלע"),
        ("frond (עלה) 2", "frond (הלע) 2"),
        ("frond", "frond"),
    ],
)
def test_words_are_seen_in_the_order_of_their_script(text, from_left):
    assert seen(text) == from_left


@pytest.mark.parametrize(
    ("text", "from_left"),
    [
        ("עלה · 2 to cut", "הלע · 2 to cut"),
        ("Stencil · עלה 12 · left 3", "Stencil · 12 הלע · left 3"),
        ("עלה · קצה", "הצק · הלע"),  # all of one direction: one sentence
    ],
)
def test_the_fields_of_a_caption_keep_their_places(text, from_left):
    """A number that follows a Hebrew or Arabic field would else change sides (UAX #9, HL4)."""
    assert seen(text) == from_left


def test_brackets_turn_with_what_they_hold():
    opening = shape("(").glyphs[0].number
    first = min(shape("(עלה)").glyphs, key=lambda glyph: glyph.x)
    assert first.text == ")"
    assert first.number == opening


def test_arabic_letters_are_joined():
    """Each letter has up to four forms (Unicode Standard, 9.2): beh alone, and three in a row."""
    alone, row = shape("ب").glyphs, shape("ببب").glyphs
    assert len({glyph.number for glyph in (*alone, *row)}) == 4
    assert text_width_mm("ببب", 5.0) < 0.9 * 3.0 * text_width_mm("ب", 5.0)
    assert len(text_outlines("ورق", 5.0)) > 0


def test_lam_and_alef_are_one_letter():
    (glyph,) = shape("لا").glyphs
    assert glyph.text == "لا"


def test_vowel_points_stand_on_their_letter():
    assert text_width_mm("שָׁלוֹם", 5.0) == pytest.approx(text_width_mm("שלום", 5.0))


@given(st.text(st.sampled_from("ab1.( אב\u0627\u0628\u0661\u0301\u200f"), max_size=12))
@settings(deadline=None, max_examples=80)
def test_nothing_is_lost_or_doubled_by_ordering(text):
    runs = visual_runs(text)
    assert sorted(i for run in runs for i in range(run.start, run.end)) == list(range(len(text)))


def test_text_is_never_parted_within_a_letter_and_its_marks():
    assert list(clusters("שָׁלe\u0301क्षि")) == ["שָׁ", "ל", "e\u0301", "क्षि"]
    narrow = text_width_mm("שָׁ…", 2.5) + 0.01
    assert fitted("שָׁלוֹם", narrow, (2.5,)) == ("שָׁ…", 2.5)
    lines = wrapped("שָׁשָׁשָׁ", text_width_mm("שש", 2.5) + 0.01, 2.5)
    assert lines == ["שָׁשָׁ", "שָׁ"]
