"""A written drill table back to circles in mm, by Excellon's format as published.

Source: Excellon's format description in its machines' manual: a header from M48 to % (or M95) with
INCH or METRIC and the tools' diameters (TnCd), then a tool by its number and holes as X and Y,
each kept from the hole before where it is not given; comments begin with a semicolon.
"""

from __future__ import annotations

import re

from templater.model.facts import CircleFact, SheetFacts
from templater.readback.faults import Unreadable
from templater.readback.marks import Found

_TOOL = re.compile(r"T0*(\d+)(?:[FSBHZ][-+.\d]+)*C([.\d]+)(?:[FSBHZ][-+.\d]+)*")
_PLACE = re.compile(r"(?:X([-+]?[.\d]+))?(?:Y([-+]?[.\d]+))?")
_HEADER_ONLY = ("FMAT", "VER", "ICI,OFF", "DETECT", "ATC")
_UNITS_MM = {"METRIC": 1.0, "INCH": 25.4}
_MODES = frozenset({"G90", "G05", "G5", "M71", "M95", "%"})
_ENDS = frozenset({"M30", "M00", "M0"})


def read_drill(data: bytes, file: str) -> SheetFacts:
    """One sheet of circles; its size is how far they reach from the origin.

    Raises Unreadable for other than holes at places with a decimal point.
    """
    try:
        lines = [line.strip() for line in data.decode("ascii").splitlines()]
    except UnicodeDecodeError as error:
        raise Unreadable(f"is no drill table ({error})") from error
    lines = [line for line in lines if line and not line.startswith(";")]
    if not lines or lines[0] != "M48":
        raise Unreadable("does not begin with a drill table's header (M48)")
    if lines[-1] not in _ENDS:
        raise Unreadable("does not end as a drill table does (M30)")
    found = Found()
    unit, width, at = 0.0, 0.0, (0.0, 0.0)
    tools: dict[int, float] = {}
    for line in lines[1:-1]:
        word = line.split(",")[0]
        if word in _UNITS_MM:
            unit = _UNITS_MM[word]
        elif tool := _TOOL.fullmatch(line):
            tools[int(tool[1])] = float(tool[2]) * unit
        elif re.fullmatch(r"T\d+", line):
            width = _tool_width(int(line[1:]), tools)
        elif line in _MODES or line.startswith(_HEADER_ONLY):
            continue
        elif (place := _PLACE.fullmatch(line)) is not None:
            at = (_mm(place[1], unit, at[0]), _mm(place[2], unit, at[1]))
            if not width:
                raise Unreadable(f"drills at {line} without a tool")
            found.circles.append(CircleFact(*at, width, "drill"))
        else:
            raise Unreadable(f"holds the line {line!r}, which is not read back")
    return found.bare_facts(file, 0.0)


def _tool_width(number: int, tools: dict[int, float]) -> float:
    if number and number not in tools:
        raise Unreadable(f"takes tool {number}, which its header does not have")
    return tools.get(number, 0.0)


def _mm(word: str | None, unit: float, before: float) -> float:
    if word is None:
        return before
    if "." not in word or not unit:
        raise Unreadable(f"gives the place {word} without a decimal point or a unit")
    try:
        return float(word) * unit
    except ValueError as error:
        raise Unreadable(f"gives the place {word}, which is no number") from error
