"""What an element looks like, as far as it bears on geometry: painted or not, seen or not."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from templater.reading.svg_units import NORMAL_FONT_PX, BadLength, Viewport, length


@dataclass(frozen=True, slots=True)
class Style:
    """The inherited part of an element's look. Widths in user units."""

    fill: bool = True
    stroke: bool = False
    fill_seen: bool = True
    stroke_seen: bool = True
    evenodd: bool = False
    stroke_width: float = 1.0
    visible: bool = True
    font_px: float = NORMAL_FONT_PX
    marker: bool = False

    @property
    def filled(self) -> bool:
        return self.fill and self.fill_seen

    @property
    def stroked(self) -> bool:
        return self.stroke and self.stroke_seen and self.stroke_width > 0.0


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
        value = text.lower()
        if value in {"inherit", "unset", "revert"}:
            continue
        first = value == "initial"
        match name:
            case "fill":
                changes["fill"] = _FIRST.fill if first else _painted(value, above.fill)
            case "stroke":
                changes["stroke"] = _FIRST.stroke if first else _painted(value, above.stroke)
            case "fill-opacity":
                changes["fill_seen"] = first or _opaque(value)
            case "stroke-opacity":
                changes["stroke_seen"] = first or _opaque(value)
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


def _painted(value: str, above: bool) -> bool:
    if value == "":
        return above
    if value in {"none", "transparent"}:
        return False
    if value.startswith(("rgba(", "hsla(", "rgb(", "hsl(")):
        parts = (
            value[value.index("(") + 1 :].rstrip(") ").replace("/", ",").replace(",", " ").split()
        )
        return len(parts) < 4 or _opaque(parts[3])
    return True


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
