"""Colour words against CSS Color Module Level 4, as Pillow's own table has them."""

import pytest
from PIL import ImageColor

from templater.catalogue.colours import NEUTRAL, colour_or_neutral, find_colour
from templater.catalogue.tables import table


def test_every_named_colour_of_css_is_there_as_css_has_it():
    """148 names: https://www.w3.org/TR/css-color-4/#named-colors"""
    ours = table("colours")["css"]
    assert len(ours) == 148
    assert ours == {name: value.lower() for name, value in ImageColor.colormap.items()}


@pytest.mark.parametrize(
    ("words", "colour"),
    [
        ("sea green", "#2e8b57"),
        ("Sea-Green stretch velvet", "#2e8b57"),
        ("navy", "#000080"),
        ("dark slate grey", "#2f4f4f"),
        ("light pink satin", "#ffb6c1"),
    ],
)
def test_css_names_are_found_among_the_words(words, colour):
    assert find_colour(words) == colour


def test_own_words_do_not_stand_in_for_css_names():
    assert not set(table("colours")["own"]) & set(table("colours")["css"])


def test_words_nobody_knows_are_grey():
    assert find_colour("Meergrün 3000") is None
    assert find_colour("") is None
    assert colour_or_neutral("Meergrün") == NEUTRAL
