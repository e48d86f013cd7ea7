"""Lengths as makers write them: numbers are mm, texts carry their unit ("3/8 in")."""

from __future__ import annotations

import math
import re
from fractions import Fraction

MM_PER_UNIT = {
    "mm": 1.0,
    "cm": 10.0,
    "m": 1000.0,
    "in": 25.4,
    "inch": 25.4,
    "inches": 25.4,
    '"': 25.4,
    "″": 25.4,
    "ft": 304.8,
    "pt": 25.4 / 72.0,
}
"""The international inch is 25.4 mm exactly (1959 agreement); a point is 1/72 in (CSS 2.1)."""

_LENGTH = re.compile(
    r"^\s*(?P<whole>-?\d+(?:\.\d+)?)?(?:(?P<gap>\s+|-)?(?P<fraction>\d+/\d+))?\s*(?P<unit>[a-z\"″]+)\s*$",
    re.IGNORECASE,
)

_DECIMAL_COMMA = re.compile(r"(-?\d+),(\d+)(\s*[a-z\"″]*)", re.IGNORECASE)


def parse_length_mm(value: object) -> float:
    """A length in mm from a number (mm) or a text with a unit. Raises ValueError otherwise."""
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        # pydantic reports a ValueError; a TypeError would pass through it.
        raise ValueError('a length is a number of mm or text such as "3/8 in"')  # noqa: TRY004
    if isinstance(value, str):
        return _from_text(value)
    if not math.isfinite(value):
        raise ValueError("a length must be a finite number")
    return float(value)


def _from_text(text: str) -> float:
    match = _LENGTH.match(text)
    unit = MM_PER_UNIT.get(match["unit"].lower()) if match else None
    if comma := _DECIMAL_COMMA.fullmatch(text.strip()):
        raise ValueError(
            f'"{text}" has a comma: write decimals with a point, {comma[1]}.{comma[2]}{comma[3]}'
        )
    if match is None or unit is None or (match["whole"] is None and match["fraction"] is None):
        raise ValueError(
            f'"{text}" is no length: write a number of mm, or text such as "3/8 in" or "1.5 cm"'
        )
    if match["whole"] is not None and match["fraction"] is not None and match["gap"] is None:
        raise ValueError(f'"{text}" is no length: put a space before the fraction')
    whole = Fraction(match["whole"] or 0)
    part = Fraction(0)
    if match["fraction"] is not None:
        above, below = (int(n) for n in match["fraction"].split("/"))
        if below == 0:
            raise ValueError(f'"{text}" is no length: the fraction is over zero')
        part = Fraction(above, below)
    return float((whole - part if whole < 0 else whole + part) * Fraction(unit))
