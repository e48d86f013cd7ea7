"""The colours a PDF paints in, as "#rrggbb", and whether it paints white.

Source: ISO 32000-1, 8.6 "Colour spaces" and 7.10.3 "Exponential interpolation functions" (the
usual tint of a spot colour). Patterns, Lab and other tints have no colour here. Imported late:
what it handles are pikepdf's objects.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import pikepdf

from templater.reading.colours import BLACK, cmyk_colour, rgb_colour

_PLAIN = {"g": 1, "rg": 3, "k": 4, "G": 1, "RG": 3, "K": 4}
SETS_FILL = frozenset(("g", "rg", "k", "cs", "sc", "scn"))
SETS_STROKE = frozenset(operator.upper() for operator in SETS_FILL)
_BY_NAME = {
    "/DeviceGray": 1, "/CalGray": 1, "/G": 1,
    "/DeviceRGB": 3, "/CalRGB": 3, "/RGB": 3,
    "/DeviceCMYK": 4, "/CMYK": 4,
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Space:
    """A colour space: of so many parts by light or ink, or the tint of a spot colour, or neither."""

    parts: int = 0
    tint: tuple[tuple[float, ...], tuple[float, ...], float] | None = None
    """A spot colour without and with all its ink, in `parts` parts, and the exponent between."""

    def colour(self, numbers: Sequence[float]) -> str:
        """The colour of as many numbers as the space takes, "" for what is not known."""
        if self.tint is not None and len(numbers) == 1:
            none, full, exponent = self.tint
            share = min(max(numbers[0], 0.0), 1.0) ** exponent
            numbers = [a + share * (b - a) for a, b in zip(none, full, strict=True)]
        if len(numbers) != self.parts:
            return ""
        match self.parts:
            case 1:
                return rgb_colour(numbers[0], numbers[0], numbers[0])
            case 3:
                return rgb_colour(numbers[0], numbers[1], numbers[2])
            case 4:
                return cmyk_colour(*numbers)
            case _:
                return ""


@dataclass(frozen=True, slots=True)
class Paint:
    """What is painted with: its space, its colour, and whether it is pure white."""

    space: Space = Space(1)
    colour: str = BLACK
    white: bool = False


BLACK_PAINT = Paint()
"""What a page begins with."""


def painted(paint: Paint, operator: str, operands: Any, spaces: Any) -> Paint:
    """The paint after an operator that sets it; `spaces` are the resources' colour spaces."""
    if parts := _PLAIN.get(operator):
        return _mixed(Space(parts), [float(value) for value in operands])
    if operator in ("cs", "CS"):
        space = _space(str(operands[0]), spaces)
        black = [0.0, 0.0, 0.0, 1.0] if space.parts == 4 else [0.0] * space.parts
        return Paint(space, space.colour([1.0] if space.tint else black))
    return _mixed(paint.space, [float(v) for v in operands if not str(v).startswith("/")])


def _mixed(space: Space, numbers: Sequence[float]) -> Paint:
    plain = space.tint is None
    match len(numbers):
        case 1:
            white = plain and space.parts == 1 and numbers[0] == 1.0
        case 3:
            white = all(value == 1.0 for value in numbers)
        case 4:
            white = all(value == 0.0 for value in numbers)
        case _:
            white = False
    return Paint(space, space.colour(numbers), white)


def _space(name: str, spaces: Any) -> Space:
    found = None if spaces is None else spaces.get(name)
    return _read(name if found is None else found, deep=0)


def _read(space: Any, *, deep: int) -> Space:
    if not isinstance(space, pikepdf.Array) or not len(space):
        return Space(_BY_NAME.get(str(space), 0))
    kind = str(space[0])
    if kind == "/ICCBased":
        return Space(int(space[1].get("/N", 0)))
    if kind == "/Separation" and len(space) > 3 and deep == 0:
        return _spot(_read(space[2], deep=1), space[3])
    return Space(_BY_NAME.get(kind, 0))


def _spot(alternate: Space, function: Any) -> Space:
    if isinstance(function, pikepdf.Dictionary | pikepdf.Stream) and (
        int(function.get("/FunctionType", 0)) == 2
    ):
        none = tuple(float(v) for v in function.get("/C0", [0.0]))
        full = tuple(float(v) for v in function.get("/C1", [1.0]))
        if len(none) == len(full) == alternate.parts:
            return Space(alternate.parts, (none, full, float(function.get("/N", 1))))
    return Space()
