"""Colours as "#rrggbb", and a layer's shapes told apart by them.

A gradient, a pattern, a spot colour that cannot be worked out has no colour: "".
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import TypeVar

from templater.model.drawing import DrawingLayer, Shape, coloured_name

BLACK, WHITE = "#000000", "#ffffff"
MOST_COLOURS = 24
"""A layer of more colours than these is a picture: its colours do not tell things apart."""

Item = TypeVar("Item")


def rgb_colour(red: float, green: float, blue: float) -> str:
    """From shares of 1."""
    parts = (round(255.0 * min(max(share, 0.0), 1.0)) for share in (red, green, blue))
    return "#" + "".join(f"{part:02x}" for part in parts)


def cmyk_colour(cyan: float, magenta: float, yellow: float, black: float) -> str:
    """From shares of 1, without a colour profile: red is (1 - cyan) · (1 - black).

    Another program may show another shade; the same ink is the same colour here.
    """
    light = 1.0 - min(max(black, 0.0), 1.0)
    return rgb_colour((1.0 - cyan) * light, (1.0 - magenta) * light, (1.0 - yellow) * light)


def in_colours(items: Iterable[Item], colour_of: Callable[[Item], str]) -> dict[str, list[Item]]:
    """The items by colour, in the order in which each colour is first met."""
    found: dict[str, list[Item]] = {}
    for item in items:
        found.setdefault(colour_of(item), []).append(item)
    return found


def with_colours(
    layer: DrawingLayer, colours: Iterable[str], read: Callable[[str], tuple[Shape, ...]]
) -> DrawingLayer:
    """The layer with its colours apart, each as `read` gives it; unchanged if they are one or
    too many.
    """
    names = list(colours)
    if not 1 < len(names) <= MOST_COLOURS:
        return layer
    parts = tuple(
        DrawingLayer(coloured_name(layer.name, colour), shapes)
        for colour in names
        if (shapes := read(colour))
    )
    return replace(layer, by_colour=parts)
