"""Numbers and texts at the door: finite, four decimals, nothing a format cannot hold."""

from __future__ import annotations

import math
import re

from templater.model.curves import Point

_FORMATS = tuple(f"%.{decimals}f" for decimals in range(11))
"""By their decimals, made once: a pack writes millions of numbers."""
_NOT_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def snap(value: float) -> float:
    """The number to 0.0001, never −0. Raises ValueError if it is not finite."""
    if not math.isfinite(value):
        raise ValueError(f"a coordinate is {value}, which no file can hold")
    return round(value, 4) + 0.0


def snap_point(point: Point) -> Point:
    return (snap(point[0]), snap(point[1]))


def plain(value: float, decimals: int = 4) -> str:
    """A number as short as its decimals allow, without an exponent: 12.5, 0.0001, 7."""
    if not math.isfinite(value):
        raise ValueError(f"a number is {value}, which no file can hold")
    text = _FORMATS[decimals] % value
    if decimals:
        text = text.rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def xml_text(text: str) -> str:
    """The text with every character XML 1.0 cannot hold replaced by a visible one."""
    return _NOT_XML.sub("\ufffd", text)
