"""Motion in ISO 6983-1 words back to circles and paths in mm, by the standard.

Source: ISO 6983-1: words of a letter and a number; G0 rapid, G1 straight, G2 and G3 arcs clockwise
and anticlockwise whose centre is I, J from the start; G20/G21 inch and mm, G90 absolute; G words
and coordinates hold until others are given; comments stand in brackets. (G20 and G21 are the usual
words for G70 and G71.)
"""

from __future__ import annotations

import math
import re
from typing import NamedTuple

from templater.model.curves import Point
from templater.model.facts import CircleFact, SheetFacts
from templater.readback.faults import Unreadable
from templater.readback.marks import FLAT_MM, Found, arc_points

_WORD = re.compile(r"([A-Z])\s*([-+]?(?:\d+\.?\d*|\.\d+))")
_COMMENT = re.compile(r"\([^()]*\)")
_UNEVEN_MM = 0.01
_SAME_MM = 0.0005
_LAYER = "cut"
_UNITS_MM = {20: 25.4, 70: 25.4, 21: 1.0, 71: 1.0}
_MODES = frozenset({4, 17, 40, 49, 54, 64, 80, 90, 94})


def read_gcode(data: bytes, file: str) -> SheetFacts:
    """One sheet: each run of cutting moves between two rapid ones is a path, or the circle it goes
    round; its size is how far they reach from the origin. Feeds, tools and M words are passed over.

    Raises Unreadable for relative coordinates, other planes, and whatever else would move a tool.
    """
    try:
        text = _COMMENT.sub(" ", data.decode("ascii").upper())
    except UnicodeDecodeError as error:
        raise Unreadable(f"is no ISO 6983 program ({error})") from error
    machine = _Machine()
    for line in text.splitlines():
        block = line.strip().lstrip("/%").split(";")[0]
        words = _WORD.findall(block)
        if _WORD.sub("", block).strip():
            raise Unreadable(f"holds the line {line.strip()!r}, which is not read back")
        machine.obey([(letter, float(number)) for letter, number in words])
    machine.lift()
    return machine.found.bare_facts(file, 0.0)


class _Turn(NamedTuple):
    """An arc as it is run: angles in radians, anticlockwise above 0."""

    centre: complex
    radius: float
    start_rad: float
    turn_rad: float
    end: Point

    def points(self) -> list[Point]:
        """Points after its start; its end is the one that was given."""
        along = arc_points(self.centre, self.radius, self.start_rad, self.turn_rad, FLAT_MM)
        return [*((point.real, point.imag) for point in along[1:-1]), self.end]


def _is_circle(turns: list[_Turn]) -> bool:
    """Whether arcs run once round one centre, to within what four decimals leave open."""
    return bool(turns) and (
        abs(abs(sum(turn.turn_rad for turn in turns)) - 2.0 * math.pi) < 1e-3
        and all(
            abs(turn.centre - turns[0].centre) < _SAME_MM
            and abs(turn.radius - turns[0].radius) < _SAME_MM
            for turn in turns
        )
    )


class _Machine:
    def __init__(self) -> None:
        self.found = Found()
        self._unit = 0.0
        self._motion = 0
        self._at = (0.0, 0.0)
        self._run: list[Point | _Turn] = []

    def lift(self) -> None:
        """Ends the run of cutting moves: a path, or a circle if all its arcs have one centre."""
        turns = [move for move in self._run if isinstance(move, _Turn)]
        if len(self._run) == len(turns) + 1 and _is_circle(turns):
            centre = sum(turn.centre for turn in turns) / len(turns)
            diameter = 2.0 * sum(turn.radius for turn in turns) / len(turns)
            self.found.circles.append(CircleFact(centre.real, centre.imag, diameter, _LAYER))
        elif len(self._run) > 1:
            points: list[Point] = []
            for move in self._run:
                points += move.points() if isinstance(move, _Turn) else [move]
            self.found.add_path(points, _LAYER, closed=False, curved=bool(turns))
        self._run = []

    def obey(self, words: list[tuple[str, float]]) -> None:
        values = {letter: number for letter, number in words if letter not in "GM"}
        for code in (number for letter, number in words if letter == "G"):
            if code in {0, 1, 2, 3}:
                self._motion = int(code)
            elif code in _UNITS_MM:
                self._unit = _UNITS_MM[int(code)]
            elif code not in _MODES:
                raise Unreadable(f"holds G{code:g}, which is not read back")
        if not {"X", "Y", "I", "J", "R"} & values.keys():
            return
        if not self._unit:
            raise Unreadable("moves before it says in which unit (G21)")
        end = (
            values["X"] * self._unit if "X" in values else self._at[0],
            values["Y"] * self._unit if "Y" in values else self._at[1],
        )
        if self._motion == 0:
            self.lift()
        else:
            self._run = self._run or [self._at]
            if self._motion == 1:
                self._run.append(end)
            else:
                self._arc(end, values)
        self._at = end

    def _arc(self, end: Point, values: dict[str, float]) -> None:
        if "R" in values or not {"I", "J"} & values.keys():
            raise Unreadable("holds an arc without I and J")
        x, y = self._at
        centre = complex(
            x + values.get("I", 0.0) * self._unit, y + values.get("J", 0.0) * self._unit
        )
        out, back = complex(x, y) - centre, complex(*end) - centre
        if abs(abs(out) - abs(back)) > _UNEVEN_MM:
            raise Unreadable(f"holds an arc to {end} whose ends lie unlike far from its centre")
        turn = math.atan2((back / out).imag, (back / out).real)
        way = 1.0 if self._motion == 3 else -1.0
        if turn * way <= 1e-12:
            turn += way * 2.0 * math.pi
        self._run.append(_Turn(centre, abs(out), math.atan2(out.imag, out.real), turn, end))
