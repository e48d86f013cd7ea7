import pytest
from drawings import box, codes, ground_of

from templater.ground.showing import luminance

LAYERS = {"zone low": [box(0, 0, 50, 50)], "zone high": [box(50, 0, 99, 50)]}


def told(low, high, more=""):
    _, problems = ground_of(
        LAYERS, f'[zones.low]\nfabric = "{low}"\n{more}\n[zones.high]\nfabric = "{high}"'
    )
    return codes(problems)


def test_dark_beneath_light_is_told():
    assert told("black velvet", "white mesh") == ["dark-beneath-light"]


@pytest.mark.parametrize(
    ("low", "high", "more"),
    [
        ("white mesh", "black velvet", ""),
        ("navy velvet", "black velvet", ""),
        ("black velvet", "white mesh", "underlap = 0"),
        ("velvet", "white mesh", ""),
    ],
)
def test_what_does_not_show_is_not_told(low, high, more):
    assert told(low, high, more) == []


def test_luminance_is_that_of_the_published_formula():
    # WCAG 2: white 1, black 0; sRGB green #008000 is 0.1544
    assert luminance("white") == pytest.approx(1.0)
    assert luminance("black satin") == 0.0
    assert luminance("green") == pytest.approx(0.1544, abs=1e-4)
    assert luminance("velvet") is None
