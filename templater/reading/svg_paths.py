"""SVG path data and point lists, strictly by the grammar, to strokes of a pen.

Sources: SVG 2, 9.3.9 "The grammar for path data", 9.5.1 and appendix B.2 for elliptical arcs.
We read the data ourselves: svgpathtools, the library at hand, takes "M0 0 L foo 20 20" for a line
to (20, 20), "1e400" for infinity, and a stray sign for nothing, all without a word (measured with
version 1.8), and a line lost is a wrong cut. The tests hold our reading of valid data against it.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator

from templater.reading.pen import Pen

_NUMBER = r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?"
NUMBERS = re.compile(_NUMBER)
_COMMAND = re.compile(r"([MmZzLlHhVvCcSsQqTtAa])([^MmZzLlHhVvCcSsQqTtAa]*)")
_ODD = re.compile(r"[^ \t\n\r\f,\0]|,[ \t\n\r\f]*,|^[ \t\n\r\f]*,|,[ \t\n\r\f]*$")
_GAP = re.compile(r"[ \t\n\r\f]*,?[ \t\n\r\f]*")
_BLANKS = re.compile(r"[ \t\n\r\f]*")
_TAKES = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7, "Z": 0}
_FLATTEST = 1e-9  # a radius this much shorter than the other makes a straight line
LARGEST = 1e9
"""User units beyond which a number is taken for a mistake (and a double has no micrometre left)."""


class BadData(ValueError):
    """Path data or a point list that cannot be read; says what stands where."""


def _numbers(text: str, where: int) -> list[float]:
    """The numbers of a list; raises BadData at whatever is not a number or a proper separator."""
    marked = NUMBERS.sub("\0", text)  # XML cannot hold this character
    odd = _ODD.search(marked)
    if odd:
        _complain(text, where)
    values = [float(token) for token in NUMBERS.findall(text)]
    if values and not (max(values) <= LARGEST and min(values) >= -LARGEST):
        worst = max(values, key=abs)
        raise BadData(f"the number {worst:g} at character {where + 1} or after is out of range")
    return values


def _complain(text: str, where: int) -> None:
    """Find the character that is wrong, slowly, for the message."""
    at, first = _blank_end(text, 0), True
    while at < len(text):
        if not first:
            gap = _GAP.match(text, at)
            at = gap.end() if gap else at
        number = NUMBERS.match(text, at)
        if number is None:
            shown = text[at : at + 12].split()
            what = f"“{shown[0]}”" if shown else "a comma without a number after it"
            raise BadData(f"{what} at character {where + at + 1} is not a number")
        at, first = number.end(), False
    raise BadData(f"a comma without a number near character {where + len(text)}")


def _blank_end(text: str, at: int) -> int:
    blanks = _BLANKS.match(text, at)
    return blanks.end() if blanks else at


def _arc_numbers(text: str, where: int) -> list[float]:
    """Arc arguments: the fourth and fifth of seven are single digits that may run together."""
    values: list[float] = []
    at = _blank_end(text, 0)
    while at < len(text):
        place = len(values) % 7
        if place in (3, 4):
            if text[at] not in "01":
                raise BadData(
                    f"an arc's flag at character {where + at + 1} must be 0 or 1, not “{text[at]}”"
                )
            values.append(float(text[at]))
            at += 1
        else:
            number = NUMBERS.match(text, at)
            if number is None:
                shown = (text[at : at + 12].split() or [" "])[0]
                raise BadData(f"“{shown}” at character {where + at + 1} is not a number")
            values.append(float(number.group()))
            at = number.end()
        gap = _GAP.match(text, at)
        after = gap.end() if gap else at
        if after == len(text) and "," in text[at:after]:
            raise BadData(f"a comma without a number near character {where + after}")
        at = after
    if values and not max(map(abs, values)) <= LARGEST:
        raise BadData(f"a number at character {where + 1} or after is out of range")
    return values


def _commands(data: str) -> Iterator[tuple[str, list[float], int]]:
    """Command letters with all their numbers and where they stand."""
    first = _blank_end(data, 0)
    if first < len(data) and data[first] not in "Mm":
        raise BadData(f"path data must begin with M, not “{data[first : first + 8]}”")
    for found in _COMMAND.finditer(data):
        letter, text = found.group(1), found.group(2)
        where = found.start(2)
        kind = letter.upper()
        values = _arc_numbers(text, where) if kind == "A" else _numbers(text, where)
        takes = _TAKES[kind]
        if (takes == 0 and values) or (takes and (not values or len(values) % takes)):
            wants = f"a multiple of {takes} numbers" if takes else "no numbers"
            raise BadData(
                f"{letter} at character {found.start() + 1} has {len(values)} numbers"
                f" and takes {wants}"
            )
        yield letter, values, where


def draw_path(data: str, pen: Pen) -> None:
    """Draw path data. Raises BadData; what was drawn until then stays with the pen."""
    x = y = start_x = start_y = 0.0
    control: tuple[float, float] | None = None  # the last Bézier's, for S and T
    control_of = ""
    for letter, n, _ in _commands(data):
        kind, relative = letter.upper(), letter.islower()
        if kind == "Z":
            pen.close()
            x, y = start_x, start_y
        elif kind == "M":
            x, y = (x + n[0], y + n[1]) if relative else (n[0], n[1])
            start_x, start_y = x, y
            pen.move(x, y)
            x, y = _lines(n[2:], pen.line, x, y, relative=relative)
        elif kind == "L":
            x, y = _lines(n, pen.line, x, y, relative=relative)
        elif kind == "H":
            for value in n:
                x = x + value if relative else value
                pen.line(x, y)
        elif kind == "V":
            for value in n:
                y = y + value if relative else value
                pen.line(x, y)
        elif kind == "A":
            for i in range(0, len(n), 7):
                rx, ry, turn, large, sweep, ex, ey = n[i : i + 7]
                ex, ey = (x + ex, y + ey) if relative else (ex, ey)
                draw_arc(pen, (x, y), rx, ry, turn, large=large != 0, sweep=sweep != 0, to=(ex, ey))
                x, y = ex, ey
        else:
            takes = _TAKES[kind]
            for i in range(0, len(n), takes):
                args = n[i : i + takes]
                if relative:
                    args = [v + (y if k % 2 else x) for k, v in enumerate(args)]
                family = "C" if kind in "CS" else "Q"
                if kind in "ST":
                    mirrored = (
                        (2.0 * x - control[0], 2.0 * y - control[1])
                        if control and control_of == family
                        else (x, y)
                    )
                    args = [*mirrored, *args]
                control, control_of = (args[-4], args[-3]), family
                if family == "C":
                    pen.cubic(args[0], args[1], args[2], args[3], args[4], args[5])
                else:
                    pen.quadratic(args[0], args[1], args[2], args[3])
                x, y = args[-2], args[-1]
            continue
        control = None


def _lines(
    n: list[float], line: Callable[[float, float], None], x: float, y: float, *, relative: bool
) -> tuple[float, float]:
    """Lines through the points, the tight loop of long outlines; gives the last point."""
    if relative:
        for dx, dy in zip(n[::2], n[1::2], strict=True):
            x += dx
            y += dy
            line(x, y)
    else:
        for x, y in zip(n[::2], n[1::2], strict=True):
            line(x, y)
    return x, y


def draw_arc(
    pen: Pen,
    start: tuple[float, float],
    rx: float,
    ry: float,
    turn_deg: float,
    *,
    large: bool,
    sweep: bool,
    to: tuple[float, float],
) -> None:
    """An elliptical arc by its ends (SVG 2, appendix B.2.4 and B.2.5)."""
    (x1, y1), (x2, y2) = start, to
    if start == to:
        return
    rx, ry = abs(rx), abs(ry)
    longer, chord = max(rx, ry), math.dist(start, to)
    if min(rx, ry) <= _FLATTEST * longer:
        pen.line(x2, y2)
        return
    if longer < _FLATTEST * chord:
        # Radii this small only give the shape: they are scaled up to reach both ends (B.2.5).
        rx, ry = rx / longer * _FLATTEST * chord, ry / longer * _FLATTEST * chord
    phi = math.radians(turn_deg % 360.0)
    cos, sin = math.cos(phi), math.sin(phi)
    # Ends in the frame where the ellipse is the unit circle, about their middle.
    hx, hy = (x1 - x2) / 2.0, (y1 - y2) / 2.0
    px, py = (cos * hx + sin * hy) / rx, (cos * hy - sin * hx) / ry
    reach = math.hypot(px, py)
    if reach > 1.0:
        rx, ry, px, py = rx * reach, ry * reach, px / reach, py / reach
        reach = 1.0
    away = math.sqrt(max(0.0, 1.0 - reach * reach)) / reach if reach > 0.0 else 0.0
    if large == sweep:
        away = -away
    qx, qy = away * py, -away * px
    cx = cos * rx * qx - sin * ry * qy + (x1 + x2) / 2.0
    cy = sin * rx * qx + cos * ry * qy + (y1 + y2) / 2.0
    first = math.atan2(py - qy, px - qx)
    last = math.atan2(-py - qy, -px - qx)
    turn = last - first
    if sweep and turn <= 0.0:
        turn += 2.0 * math.pi
    elif not sweep and turn >= 0.0:
        turn -= 2.0 * math.pi
    pen.sweep((cx, cy), (rx * cos, rx * sin), (-ry * sin, ry * cos), first, turn, to)


def points_of(text: str) -> list[tuple[float, float]]:
    """The points of a polyline or polygon. Raises BadData, also for an odd coordinate left over."""
    values = _numbers(text, 0)
    if len(values) % 2:
        raise BadData(f"{len(values)} numbers do not make pairs of x and y")
    return list(zip(values[::2], values[1::2], strict=True))
