"""Absolute lengths against the published ratios.

Source: CSS Values and Units Module Level 4, 6.2 "Absolute lengths": 1 cm = 96/2.54 px,
1 mm = 1/10 cm, 1 Q = 1/40 cm, 1 in = 2.54 cm = 96 px, 1 pc = 1/6 in, 1 pt = 1/72 in, and
1 px = 1/96 in. Angles: 7.1: 360 deg = 400 grad = 2π rad = 1 turn.
"""

from __future__ import annotations

import math
from fractions import Fraction

import pytest

from templater.reading import read_drawing
from templater.reading.svg_transform import parse_transform
from templater.reading.svg_units import Viewport

IN_MM = Fraction(254, 10)
PUBLISHED_MM = {
    "cm": Fraction(10),
    "mm": Fraction(1),
    "Q": Fraction(10, 40),
    "in": IN_MM,
    "pc": IN_MM / 6,
    "pt": IN_MM / 72,
    "px": IN_MM / 96,
    "": IN_MM / 96,
    "MM": Fraction(1),  # units are written in any case
}


def page(width: str, height: str, body: str = "") -> bytes:
    return (
        (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}">'
            f'<g id="zone a">{body or "<rect width=&quot;1&quot; height=&quot;1&quot;/>"}</g></svg>'
        )
        .replace("&quot;", '"')
        .encode()
    )


@pytest.mark.parametrize("unit", PUBLISHED_MM)
def test_page_sizes(unit):
    drawing = read_drawing(page(f"120{unit}", f"40{unit}"), "a.svg")
    mm = float(PUBLISHED_MM[unit])
    assert drawing.size_mm == pytest.approx((120 * mm, 40 * mm), rel=1e-12)


@pytest.mark.parametrize("unit", PUBLISHED_MM)
def test_lengths_inside_a_page(unit):
    body = f'<rect width="7{unit}" height="3{unit}"/>'
    drawing = read_drawing(page("200mm", "200mm", body), "a.svg")
    (shape,) = drawing.layers[0].shapes
    xs = [s.end[0] for s in shape.area.outline.segments]
    ys = [s.end[1] for s in shape.area.outline.segments]
    mm = float(PUBLISHED_MM[unit])
    assert max(xs) - min(xs) == pytest.approx(7 * mm, rel=1e-12)
    assert max(ys) - min(ys) == pytest.approx(3 * mm, rel=1e-12)


@pytest.mark.parametrize("eighth", ["45deg", "50grad", f"{math.pi / 4!r}rad", "0.125turn", "45"])
def test_angles(eighth):
    turn = parse_transform(f"rotate({eighth})", Viewport(0, 0, 1, 1), 16.0)
    half = math.sqrt(0.5)
    assert (turn.a, turn.b, turn.c, turn.d) == pytest.approx((half, half, -half, half), abs=1e-15)
