"""A layer's shapes told apart by their colour: where the job asks, or where a proposal may help.

The job names a colour of a layer as `"0 #ff0000" = "zone frond"`.
"""

from __future__ import annotations

import colorsys
from collections.abc import Mapping
from dataclasses import replace
from itertools import chain

from templater.catalogue.role_words import roles_named
from templater.ground.roles import read_layer_name
from templater.model.drawing import AreaShape, Drawing, DrawingLayer, TextShape
from templater.model.names import plain_name

_HUES = (
    (15, "red"), (42, "orange"), (70, "yellow"), (165, "green"), (195, "turquoise"),
    (255, "blue"), (290, "violet"), (345, "pink"), (361, "red"),
)  # fmt: skip
"""Up to which hue in degrees a colour has which name: our own choice."""


def told_apart(drawing: Drawing, overrides: Mapping[str, str]) -> Drawing:
    """The drawing with each layer of which the job names a colour parted: those colours are layers
    of their own, and so are the others, unless the layer has a role, which they keep.
    """
    spelt = {plain_name(key) for key in overrides}
    return replace(
        drawing, layers=tuple(chain(*(_parts(x, spelt, overrides) for x in drawing.layers)))
    )


def _parts(
    layer: DrawingLayer, spelt: set[str], overrides: Mapping[str, str]
) -> tuple[DrawingLayer, ...]:
    rest = [part for part in layer.by_colour if plain_name(part.name) not in spelt]
    if len(rest) == len(layer.by_colour):
        return (layer,)
    if not rest or read_layer_name(layer.name, overrides).role is None:
        return layer.by_colour
    kept = DrawingLayer(layer.name, tuple(chain(*(part.shapes for part in rest))))
    parts = (kept if part is rest[0] else part for part in layer.by_colour)
    return tuple(part for part in parts if part not in rest)


def by_colour(drawing: Drawing, overrides: Mapping[str, str]) -> Drawing:
    """The drawing with the layers parted whose colours may tell what is what."""
    layers = (x.by_colour if _telling(x, overrides) else (x,) for x in drawing.layers)
    return replace(drawing, layers=tuple(chain(*layers)))


def _telling(layer: DrawingLayer, overrides: Mapping[str, str]) -> bool:
    """Whether colours may tell what is what: on a layer without a role whose name says nothing,
    where areas, or lines beside areas, are drawn in several.
    """
    if read_layer_name(layer.name, overrides).role is not None:
        return False
    if any(word.whole for word in roles_named(layer.name)):
        return False
    drawn = [p for p in layer.by_colour if not all(isinstance(s, TextShape) for s in p.shapes)]
    return len(drawn) > 1 and any(isinstance(s, AreaShape) for p in drawn for s in p.shapes)


def colours_of(layer: DrawingLayer) -> tuple[str, ...]:
    """The colours of a layer's shapes, each once, in the order drawn."""
    return tuple(dict.fromkeys(s.source.colour for s in layer.shapes if s.source.colour))


def tint(colour: str) -> str:
    """A light shade of a colour, to fill with; "" for black, white and grey, and for none."""
    if not colour or colour_word(colour) in {"black", "white", "grey"}:
        return ""
    parts = (255 - (255 - int(colour[k : k + 2], 16)) // 4 for k in (1, 3, 5))
    return "#" + "".join(f"{part:02x}" for part in parts)


def colour_word(colour: str) -> str:
    """What people call a colour, "plain" for none: for a name, not to tell colours apart."""
    if not colour:
        return "plain"
    red, green, blue = (int(colour[k : k + 2], 16) / 255.0 for k in (1, 3, 5))
    hue, light, _ = colorsys.rgb_to_hls(red, green, blue)
    if max(red, green, blue) - min(red, green, blue) < 0.12:
        return "black" if light < 0.25 else "white" if light > 0.92 else "grey"
    word = next(name for most, name in _HUES if hue * 360.0 < most)
    if light < 0.4 and word == "orange":
        return "brown"
    return "pink" if light > 0.75 and word == "red" else word
