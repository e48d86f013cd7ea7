"""What an element looks like, as far as it bears on geometry: painted or not, seen or not."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

from templater.reading.colours import BLACK, WHITE, rgb_colour
from templater.reading.svg_units import NORMAL_FONT_PX, BadLength, Viewport, length

_VARIABLE = re.compile(r"var\(\s*--[^,)]*(?:,(.*))?\)", re.DOTALL)
CURRENT = "currentcolor"
"""Stands for the colour of CSS, known only where it is used."""


@dataclass(frozen=True, slots=True)
class Style:
    """The inherited part of an element's look. Widths in user units."""

    fill: bool = True
    stroke: bool = False
    fill_seen: bool = True
    stroke_seen: bool = True
    opaque: bool = True
    evenodd: bool = False
    stroke_width: float = 1.0
    visible: bool = True
    font_px: float = NORMAL_FONT_PX
    marker: bool = False
    colour: str = BLACK  # of CSS, which `currentColor` stands for
    fill_colour: str = BLACK
    stroke_colour: str = ""

    @property
    def filled(self) -> bool:
        return self.fill and self.fill_seen and self.opaque

    @property
    def stroked(self) -> bool:
        return self.stroke and self.stroke_seen and self.opaque and self.stroke_width > 0.0

    @property
    def line_colour(self) -> str:
        """What a line is seen in."""
        return self._resolved(self.stroke_colour) if self.stroked else self.area_colour

    @property
    def area_colour(self) -> str:
        """What an area is seen in: its fill, unless that is white paper within a line."""
        fill = self._resolved(self.fill_colour) if self.filled else ""
        line = self._resolved(self.stroke_colour) if self.stroked else ""
        return line or fill if fill in {"", WHITE} else fill

    def _resolved(self, colour: str) -> str:
        return self.colour if colour == CURRENT else "" if colour.startswith("url(") else colour


_FIRST = Style()
_FONT_WORDS = {
    "xx-small": 9.0 / 16.0,
    "x-small": 10.0 / 16.0,
    "small": 13.0 / 16.0,
    "medium": 1.0,
    "large": 18.0 / 16.0,
    "x-large": 24.0 / 16.0,
    "xx-large": 2.0,
}


def styled(above: Style, declared: Mapping[str, str], viewport: Viewport) -> Style:
    """The style inside an element. What cannot be read inherits, as CSS has it."""
    if not declared:
        return above
    changes: dict[str, object] = {}
    for name, text in declared.items():
        value = without_variable(text.lower())
        if value in {"inherit", "unset", "revert"}:
            continue
        first = value == "initial"
        match name:
            case "color" if first or css_colour(value):
                changes["colour"] = _FIRST.colour if first else css_colour(value)
            case "fill":
                changes["fill"] = _FIRST.fill if first else _painted(value, above.fill)
                changes["fill_colour"] = _FIRST.fill_colour if first else _inked(text)
            case "stroke":
                changes["stroke"] = _FIRST.stroke if first else _painted(value, above.stroke)
                changes["stroke_colour"] = "" if first else _inked(text)
            case "fill-opacity":
                changes["fill_seen"] = first or _opaque(value)
            case "stroke-opacity":
                changes["stroke_seen"] = first or _opaque(value)
            case "opacity" if not first:
                changes["opaque"] = above.opaque and _opaque(value)
            case "fill-rule" if first or value in {"nonzero", "evenodd"}:
                changes["evenodd"] = value == "evenodd"
            case "visibility" if first or value in {"visible", "hidden", "collapse"}:
                changes["visible"] = first or value == "visible"
            case "marker" | "marker-start" | "marker-mid" | "marker-end":
                changes["marker"] = value.startswith("url")
            case _:
                pass
    size = declared.get("font-size") or _font_size(declared.get("font", ""))
    if size:
        changes["font_px"] = _font_px(size.lower(), above.font_px, viewport)
    width = declared.get("stroke-width")
    if width and width.lower() not in {"inherit", "unset", "revert"}:
        font_px = changes.get("font_px", above.font_px)
        assert isinstance(font_px, float)
        try:
            changes["stroke_width"] = max(0.0, length(width, viewport.diagonal, font_px, viewport))
        except BadLength:
            changes["stroke_width"] = above.stroke_width
    return replace(above, **changes) if changes else above  # type: ignore[arg-type] # by name above


def _inked(text: str) -> str:
    """A colour, or the reference to one that is still to be looked up (`Places.swatch`)."""
    value = text.strip()
    if value.lower().startswith("url("):
        return "url(" + value[4:]
    return css_colour(without_variable(value.lower()))


@lru_cache(maxsize=4096)
def css_colour(text: str) -> str:
    """A CSS colour as "#rrggbb", CURRENT for `currentColor`, "" for what is no plain colour."""
    from tinycss2.color4 import parse_color

    word = (
        text.split(maxsplit=1)[0] if text.startswith("#") and text.strip() else text
    )  # icc-color() behind
    colour = parse_color(word)
    if colour is None:
        return ""
    if isinstance(colour, str):
        return CURRENT if colour == "currentcolor" else ""
    if colour.space not in {"srgb", "hsl", "hwb"}:
        return ""
    red, green, blue, alpha = colour.to("srgb")
    return rgb_colour(red, green, blue) if alpha > 0.0 else ""


def without_variable(value: str) -> str:
    """What a `var()` falls back to, "" where it has nothing; other values as they are.

    Custom properties themselves are for pages that embed drawings.
    """
    found = _VARIABLE.fullmatch(value)
    return (found.group(1) or "").strip() if found else value


def _painted(value: str, above: bool) -> bool:
    if value == "":
        return above
    return value != "none" and not _transparent(value)


@lru_cache(maxsize=4096)
def _transparent(value: str) -> bool:
    from tinycss2.color4 import parse_color

    colour = parse_color(value)
    return colour is not None and not isinstance(colour, str) and colour.alpha <= 0.0


def _opaque(value: str) -> bool:
    try:
        return float(value.rstrip("%")) > 0.0
    except ValueError:
        return True


def _font_size(font: str) -> str:
    """The size in a `font` shorthand: the first word that begins with a digit and has a unit."""
    for word in font.split():
        size = word.split("/")[0]
        if size[:1].isdigit() and not size.isdigit():
            return size
    return ""


def _font_px(text: str, above_px: float, viewport: Viewport) -> float:
    if text in _FONT_WORDS:
        return NORMAL_FONT_PX * _FONT_WORDS[text]
    if text in {"smaller", "larger"}:
        return above_px / 1.2 if text == "smaller" else above_px * 1.2
    try:
        return max(0.0, length(text, above_px, above_px, viewport))
    except BadLength:
        return above_px
