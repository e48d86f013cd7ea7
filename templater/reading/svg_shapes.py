"""SVG's basic shapes to strokes of a pen. Source: SVG 2, chapter 10 "Basic Shapes"."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

from templater.reading.pen import Pen
from templater.reading.svg_paths import BadData, draw_path, points_of
from templater.reading.svg_units import BadLength, Viewport, length

if TYPE_CHECKING:
    from lxml import etree

_QUARTER = math.pi / 2.0


class BadShape(ValueError):
    """A shape that cannot be drawn; the text says why."""


class Sizes:
    """An element's geometry attributes in user units, style sheets before attributes."""

    def __init__(
        self,
        element: etree._Element,
        declared: Mapping[str, str],
        viewport: Viewport,
        font_px: float,
    ) -> None:
        self._element, self._declared = element, declared
        self.viewport, self._font_px = viewport, font_px

    def text(self, name: str) -> str | None:
        value = self._declared.get(name)
        return value if value is not None else self._element.get(name)

    def get(self, name: str, default: float = 0.0) -> float:
        """One length; `default` where it is absent or `auto`. Raises BadShape."""
        text = self.text(name)
        if text is None or text.strip() in {"", "auto"}:
            return default
        if name in {"x", "cx", "width", "rx", "x1", "x2"}:
            share_of = self.viewport.width
        elif name in {"y", "cy", "height", "ry", "y1", "y2"}:
            share_of = self.viewport.height
        else:
            share_of = self.viewport.diagonal
        try:
            return length(text, share_of, self._font_px, self.viewport)
        except BadLength as bad:
            raise BadShape(f"{name}: {bad}") from None

    def has(self, name: str) -> bool:
        text = self.text(name)
        return text is not None and text.strip() not in {"", "auto"}


def _path(_: str, sizes: Sizes, pen: Pen) -> None:
    data = sizes.text("d")
    if data and data.strip() != "none":
        draw_path(data, pen)


def _rect(_: str, sizes: Sizes, pen: Pen) -> None:
    x, y = sizes.get("x"), sizes.get("y")
    width, height = sizes.get("width"), sizes.get("height")
    if width < 0.0 or height < 0.0:
        raise BadShape("its width or height is negative")
    if width == 0.0 or height == 0.0:
        return
    rx, ry = _radii(sizes)
    rx, ry = min(rx, width / 2.0), min(ry, height / 2.0)
    right, bottom = x + width, y + height
    if rx <= 0.0 or ry <= 0.0:
        pen.move(x, y)
        pen.line(right, y)
        pen.line(right, bottom)
        pen.line(x, bottom)
        pen.close()
        return
    along, down = (rx, 0.0), (0.0, ry)
    pen.move(x + rx, y)
    pen.line(right - rx, y)
    pen.sweep((right - rx, y + ry), along, down, -_QUARTER, _QUARTER, (right, y + ry))
    pen.line(right, bottom - ry)
    pen.sweep((right - rx, bottom - ry), along, down, 0.0, _QUARTER, (right - rx, bottom))
    pen.line(x + rx, bottom)
    pen.sweep((x + rx, bottom - ry), along, down, _QUARTER, _QUARTER, (x, bottom - ry))
    pen.line(x, y + ry)
    pen.sweep((x + rx, y + ry), along, down, 2.0 * _QUARTER, _QUARTER, (x + rx, y))
    pen.close()


def _radii(sizes: Sizes) -> tuple[float, float]:
    """Rx and ry, one standing in for the other where it is left open."""
    rx, ry = sizes.get("rx"), sizes.get("ry")
    if not sizes.has("rx") or rx < 0.0:
        rx = ry if sizes.has("ry") else 0.0
    if not sizes.has("ry") or ry < 0.0:
        ry = rx
    return max(rx, 0.0), max(ry, 0.0)


def _circle(name: str, sizes: Sizes, pen: Pen) -> None:
    if name == "circle":
        rx = ry = sizes.get("r")
    else:
        rx, ry = _radii(sizes)
    cx, cy = sizes.get("cx"), sizes.get("cy")
    if rx < 0.0 or ry < 0.0:
        raise BadShape("its radius is negative")
    if rx == 0.0 or ry == 0.0:
        return
    right = (cx + rx, cy)
    pen.move(*right)
    pen.sweep((cx, cy), (rx, 0.0), (0.0, ry), 0.0, 4.0 * _QUARTER, right)
    pen.close()


def _line(_: str, sizes: Sizes, pen: Pen) -> None:
    pen.move(sizes.get("x1"), sizes.get("y1"))
    pen.line(sizes.get("x2"), sizes.get("y2"))


def _poly(name: str, sizes: Sizes, pen: Pen) -> None:
    points = points_of(sizes.text("points") or "")
    if not points:
        return
    pen.move(*points[0])
    for point in points[1:]:
        pen.line(*point)
    if name == "polygon":
        pen.close()


SHAPES: Mapping[str, Callable[[str, Sizes, Pen], None]] = {
    "path": _path,
    "rect": _rect,
    "circle": _circle,
    "ellipse": _circle,
    "line": _line,
    "polyline": _poly,
    "polygon": _poly,
}


def draw_shape(name: str, sizes: Sizes, pen: Pen) -> None:
    """Draw one basic shape or path. Raises BadShape or BadData where it cannot be read."""
    SHAPES[name](name, sizes, pen)


__all__ = ["SHAPES", "BadData", "BadShape", "Sizes", "draw_shape"]
