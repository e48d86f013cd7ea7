"""A written HP-GL file back to circles and paths in mm, by the language as published.

Source: "PCL 5 Printer Language Technical Reference Manual" (Hewlett-Packard, 1992), HP-GL/2: a
command is two letters and numbers parted by commas or spaces, ended by a semicolon or the next
letter; a plotter unit is 0.025 mm; after IN the pen is up at the origin and places are absolute;
CI draws round the pen's place and leaves the pen there.
"""

from __future__ import annotations

import math
import re

from templater.model.curves import Point
from templater.model.facts import CircleFact, SheetFacts
from templater.readback.faults import Unreadable
from templater.readback.marks import Found

_UNIT_MM = 0.025
_COMMAND = re.compile(r"\s*([A-Za-z]{2})([^A-Za-z;]*);?")
_NUMBER = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)")
_HARMLESS = frozenset({"DF", "VS", "FS", "LT", "PW", "WU", "AS", "PT", "TR", "QL"})


def read_hpgl(data: bytes, file: str) -> SheetFacts:
    """One sheet, layers by pen ("pen 1"); its size is how far its content reaches from the origin.

    Raises Unreadable for what is no HP-GL or scales, turns or letters.
    """
    try:
        text = data.decode("ascii")
    except UnicodeDecodeError as error:
        raise Unreadable(f"is no HP-GL ({error})") from error
    plotter = _Plotter()
    end = 0
    while text[end:].strip(" \t\r\n;"):
        match = _COMMAND.match(text, end)
        if match is None:
            raise Unreadable(f"holds {text[end : end + 20]!r}, which is no HP-GL command")
        plotter.obey(match[1].upper(), match[2])
        end = match.end()
    plotter.lift()
    return plotter.facts(file)


class _Plotter:
    def __init__(self) -> None:
        self.found = Found()
        self._pen = "pen 0"
        self._is_down = False
        self._is_relative = False
        self._at = (0.0, 0.0)
        self._run: list[Point] = []

    def obey(self, command: str, given: str) -> None:
        numbers = [float(each) for each in _NUMBER.findall(given)]
        if _NUMBER.sub("", given).strip(" ,\t\r\n"):
            raise Unreadable(f"gives {command} something that is no number: {given.strip()!r}")
        match command:
            case "IN":
                self.lift()
                self._at, self._is_relative = (0.0, 0.0), False
            case "SP":
                self.lift()
                self._pen = f"pen {int(numbers[0]) if numbers else 0}"
            case "PU" | "PD":
                self._is_down = command == "PD"
                if not self._is_down:
                    self.lift()
                self._go(command, numbers)
            case "PA" | "PR":
                self._is_relative = command == "PR"
                self._go(command, numbers)
            case "CI":
                self._circle(numbers)
            case other if other not in _HARMLESS:
                raise Unreadable(f"holds the command {other}, which is not read back")

    def lift(self) -> None:
        """Ends the line that is being drawn."""
        if len(self._run) > 1:
            self.found.add_path(self._run, self._pen, closed=False, curved=False)
        self._run, self._is_down = [], False

    def _go(self, command: str, numbers: list[float]) -> None:
        if len(numbers) % 2:
            raise Unreadable(f"gives {command} an odd number of coordinates")
        for x, y in zip(numbers[::2], numbers[1::2], strict=True):
            dx, dy = self._at if self._is_relative else (0.0, 0.0)
            here = self._at
            self._at = (x + dx, y + dy)
            if self._is_down:
                if not self._run:
                    self._run.append(_mm(here))
                self._run.append(_mm(self._at))

    def _circle(self, numbers: list[float]) -> None:
        if not numbers or numbers[0] == 0.0:
            raise Unreadable("holds a CI without a radius")
        if len(self._run) > 1:
            self.found.add_path(self._run, self._pen, closed=False, curved=False)
            self._run = []
        diameter = 2.0 * abs(numbers[0]) * _UNIT_MM
        self.found.circles.append(CircleFact(*_mm(self._at), diameter, self._pen))

    def facts(self, file: str) -> SheetFacts:
        return self.found.bare_facts(file, _UNIT_MM)


def _mm(point: Point) -> Point:
    x, y = point[0] * _UNIT_MM, point[1] * _UNIT_MM
    if not (math.isfinite(x) and math.isfinite(y)):
        raise Unreadable("holds a coordinate that is not finite")
    return (x, y)
