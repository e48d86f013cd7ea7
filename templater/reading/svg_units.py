"""Lengths, viewports and the page's true size.

Source of the ratios: CSS Values and Units 4, 6.2 "Absolute lengths": 1 in = 96 px = 2.54 cm,
1 pt = 1/72 in, 1 pc = 12 pt, 1 Q = 1/40 cm.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from templater.model.curves import Transform

MM_PER_INCH = 25.4
PX_MM = MM_PER_INCH / 96.0
UNIT_MM = {
    "px": PX_MM,
    "mm": 1.0,
    "cm": 10.0,
    "q": 0.25,
    "in": MM_PER_INCH,
    "pt": MM_PER_INCH / 72.0,
    "pc": MM_PER_INCH / 6.0,
}
ASKED_MM = {
    "mm": 1.0,
    "cm": 10.0,
    "in": MM_PER_INCH,
    "pt": MM_PER_INCH / 72.0,
    "px": PX_MM,
    "px72": MM_PER_INCH / 72.0,
    "px90": MM_PER_INCH / 90.0,
}
"""What `unit` may ask one user unit to be."""
_LENGTH = re.compile(
    r"\s*([+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?)\s*(%|[A-Za-z]+)?\s*\Z"
)
_LARGEST = 1e9
NORMAL_FONT_PX = 16.0


class BadLength(ValueError):
    """A length that cannot be read; the text says why."""


@dataclass(frozen=True, slots=True)
class Viewport:
    """The box that percentages refer to, in user units."""

    x: float
    y: float
    width: float
    height: float

    @property
    def diagonal(self) -> float:
        """What percentages of neither direction refer to (SVG 2, 8.9)."""
        return math.hypot(self.width, self.height) / math.sqrt(2.0)


def split_length(text: str) -> tuple[float, str]:
    """Number and unit in small letters, "" without one. Raises BadLength."""
    found = _LENGTH.match(text)
    if found is None:
        raise BadLength(f"“{text.strip()[:24]}” is not a length")
    value = float(found.group(1))
    if not abs(value) <= _LARGEST:
        raise BadLength(f"“{text.strip()[:24]}” is out of range")
    return value, (found.group(2) or "").lower()


def length(text: str, share_of: float, font_px: float, viewport: Viewport) -> float:
    """A length in user units; `share_of` is what 100 % means. Raises BadLength."""
    value, unit = split_length(text)
    match unit:
        case "":
            return value
        case "%":
            return value / 100.0 * share_of
        case "em":
            return value * font_px
        case "ex" | "ch":
            return value * font_px * 0.5
        case "rem":
            return value * NORMAL_FONT_PX
        case "vw":
            return value / 100.0 * viewport.width
        case "vh":
            return value / 100.0 * viewport.height
        case _ if unit in UNIT_MM:
            return value * UNIT_MM[unit] / PX_MM
        case _:
            raise BadLength(f"the unit “{unit}” is not known")


@dataclass(frozen=True, slots=True)
class Fit:
    """How a viewBox lies in its viewport: `preserveAspectRatio`."""

    align_x: float = 0.5
    align_y: float = 0.5
    mode: str = "meet"  # meet | slice | none


_ALIGN = re.compile(r"x(Min|Mid|Max)Y(Min|Mid|Max)\Z")
_SHARE = {"Min": 0.0, "Mid": 0.5, "Max": 1.0}


def parse_fit(text: str | None) -> Fit:
    """preserveAspectRatio; what is not understood counts as the default (SVG 2, 8.7)."""
    words = [word for word in (text or "").split() if word != "defer"]
    if not words:
        return Fit()
    if words[0] == "none":
        return Fit(mode="none")
    found = _ALIGN.match(words[0])
    mode = words[1] if len(words) > 1 else "meet"
    if found is None or mode not in {"meet", "slice"}:
        return Fit()
    return Fit(_SHARE[found.group(1)], _SHARE[found.group(2)], mode)


def parse_view_box(text: str | None) -> Viewport | None:
    """The viewBox, or None where there is none or it has no area. Raises BadLength."""
    if text is None or not text.strip():
        return None
    words = [word for word in re.split(r"[\s,]+", text.strip()) if word]
    try:
        numbers = [split_length(word) for word in words]
    except BadLength as bad:
        raise BadLength(f"the viewBox “{text.strip()[:40]}” holds {bad}") from None
    if len(numbers) != 4 or any(unit not in {"", "px"} for _, unit in numbers):
        raise BadLength(f"the viewBox “{text.strip()[:40]}” is not four numbers")
    box = Viewport(*(value for value, _ in numbers))
    if box.width < 0.0 or box.height < 0.0:
        raise BadLength(f"the viewBox “{text.strip()[:40]}” has a negative size")
    return box


def fit_box(box: Viewport, place: Viewport, fit: Fit) -> Transform:
    """The transform from a viewBox into its viewport (SVG 2, 8.2 "equivalent transform")."""
    sx, sy = place.width / box.width, place.height / box.height
    if fit.mode != "none":
        sx = sy = min(sx, sy) if fit.mode == "meet" else max(sx, sy)
    return Transform(
        a=sx,
        d=sy,
        e=place.x - box.x * sx + (place.width - box.width * sx) * fit.align_x,
        f=place.y - box.y * sy + (place.height - box.height * sy) * fit.align_y,
    )
