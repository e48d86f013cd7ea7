"""SVG and CSS transform lists to one matrix.

Sources: SVG 1.1, 7.6 (attribute), CSS Transforms 1, 8 to 12 (functions, units, origin).
"""

from __future__ import annotations

import math
import re

from templater.model.curves import IDENTITY, Transform, shift
from templater.reading.svg_units import BadLength, Viewport, length, split_length

_CALL = re.compile(r"\s*([A-Za-z]\w*)\s*\(([^()]*)\)\s*,?")
_ANGLE = re.compile(
    r"([+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?)(deg|grad|rad|turn)?\Z"
)
_TO_DEG = {"deg": 1.0, "grad": 0.9, "rad": 180.0 / math.pi, "turn": 360.0}
_ARGUMENT = re.compile(r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?(?:%|[A-Za-z]+)?")
_ODD = re.compile(r"[^\s,\0]|,\s*,|\A\s*,|,\s*\Z")
_LARGEST = 1e9


class BadTransform(ValueError):
    """A transform that cannot be read; the text says why."""


def parse_transform(text: str, viewport: Viewport, font_px: float) -> Transform:
    """The matrix of a transform list, outermost first. Raises BadTransform."""
    result = IDENTITY
    at = 0
    text = text.strip()
    if text in {"", "none"}:
        return IDENTITY
    while at < len(text):
        call = _CALL.match(text, at)
        if call is None:
            raise BadTransform(f"“{text[at : at + 24]}” is not a transform")
        name = call.group(1).lower()
        if _ODD.search(_ARGUMENT.sub("\0", call.group(2))):
            raise BadTransform(f"“{call.group(2)[:24]}” in {name}() is no list of numbers")
        args = _ARGUMENT.findall(call.group(2))
        result = _one(name, args, viewport, font_px).then(result)
        at = call.end()
    numbers = (result.a, result.b, result.c, result.d, result.e, result.f)
    if not all(math.isfinite(n) and abs(n) <= _LARGEST for n in numbers):
        raise BadTransform(f"“{text[:40]}” moves or scales beyond any size")
    return result


def _one(name: str, args: list[str], viewport: Viewport, font_px: float) -> Transform:
    """One function's matrix."""
    count = len(args)

    def across(i: int, share_of: float) -> float:
        try:
            return length(args[i], share_of, font_px, viewport)
        except BadLength as bad:
            raise BadTransform(f"{name}(): {bad}") from None

    match name:
        case "matrix" if count == 6:
            a, b, c, d, e, f = (_number(a) for a in args)
            return Transform(a, b, c, d, e, f)
        case "translate" if count in (1, 2):
            return shift(
                across(0, viewport.width), across(1, viewport.height) if count > 1 else 0.0
            )
        case "translatex" if count == 1:
            return shift(across(0, viewport.width), 0.0)
        case "translatey" if count == 1:
            return shift(0.0, across(0, viewport.height))
        case "translate3d" if count == 3:  # seen from straight above, height is nothing
            return shift(across(0, viewport.width), across(1, viewport.height))
        case "translatez" | "scalez" if count == 1:
            return IDENTITY
        case "rotatez" if count == 1:
            return _turn(_degrees(args[0]))
        case "scale3d" if count == 3:
            return Transform(a=_share(args[0]), d=_share(args[1]))
        case "scale" if count in (1, 2):
            sx = _share(args[0])
            return Transform(a=sx, d=_share(args[1]) if count > 1 else sx)
        case "scalex" if count == 1:
            return Transform(a=_share(args[0]))
        case "scaley" if count == 1:
            return Transform(d=_share(args[0]))
        case "rotate" if count in (1, 3):
            turn = _turn(_degrees(args[0]))
            if count == 1:
                return turn
            x, y = across(1, viewport.width), across(2, viewport.height)
            return shift(-x, -y).then(turn).then(shift(x, y))
        case "skewx" if count == 1:
            return Transform(c=_slope(args[0]))
        case "skewy" if count == 1:
            return Transform(b=_slope(args[0]))
        case "skew" if count in (1, 2):
            return Transform(c=_slope(args[0]), b=_slope(args[1]) if count > 1 else 0.0)
        case _:
            raise BadTransform(f"{name}() with {count} values is not a transform in the plane")


def _turn(degrees: float) -> Transform:
    """A turn whose quarter turns are exact."""
    degrees %= 360.0
    exact = {0.0: (1.0, 0.0), 90.0: (0.0, 1.0), 180.0: (-1.0, 0.0), 270.0: (0.0, -1.0)}
    angle = math.radians(degrees)
    cos, sin = exact.get(degrees, (math.cos(angle), math.sin(angle)))
    return Transform(cos, sin, -sin, cos)


def _slope(text: str) -> float:
    degrees = _degrees(text)
    if abs((degrees + 90.0) % 180.0) < 1e-9:
        raise BadTransform("a skew of 90 degrees has no end")
    return math.tan(math.radians(degrees))


def _degrees(text: str) -> float:
    found = _ANGLE.match(text)
    if found is None:
        raise BadTransform(f"“{text}” is not an angle")
    return float(found.group(1)) * _TO_DEG[found.group(2) or "deg"]


def _number(text: str) -> float:
    try:
        value, unit = split_length(text)
    except BadLength as bad:
        raise BadTransform(str(bad)) from None
    if unit:
        raise BadTransform(f"“{text}” is not a plain number")
    return value


def _share(text: str) -> float:
    """A factor, or a percentage of one."""
    return _number(text[:-1]) / 100.0 if text.endswith("%") else _number(text)


def parse_origin(text: str, viewport: Viewport, font_px: float) -> tuple[float, float]:
    """`transform-origin` from the corner of the box it refers to. Raises BadTransform.

    Of a page that corner is the origin of its user units, wherever its viewBox begins (CSS
    Transforms 1, 8 "view-box"; browsers and renderers do so).
    """
    words = text.split()[:2]
    if len(words) == 2 and (words[0] in {"top", "bottom"} or words[1] in {"left", "right"}):
        words.reverse()
    if len(words) == 1 and words[0] in {"top", "bottom"}:
        words = ["center", words[0]]
    elif len(words) == 1:
        words.append("center")
    sides = {"left": "0%", "top": "0%", "center": "50%", "right": "100%", "bottom": "100%"}
    try:
        return (
            length(sides.get(words[0], words[0]), viewport.width, font_px, viewport),
            length(sides.get(words[1], words[1]), viewport.height, font_px, viewport),
        )
    except (BadLength, IndexError):
        raise BadTransform(f"transform-origin “{text}” is not understood") from None


def about(origin: tuple[float, float], inner: Transform) -> Transform:
    """A transform carried out about a point."""
    x, y = origin
    return shift(-x, -y).then(inner).then(shift(x, y))
