"""What a part's label says."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

from templater.model.ground import Edge, EdgeKind, Side
from templater.model.parts import PartKind

_SIDES = {Side.LEFT: "WEARER'S LEFT", Side.RIGHT: "WEARER'S RIGHT", Side.CENTRE: "CENTRE"}
_INCH_MM = 25.4


def side_words(side: Side) -> str:
    """The side as a label says it; empty for a single part."""
    return _SIDES.get(side, "")


def length_words(length_mm: float, display: str) -> str:
    """A length for people: "5 mm", "3/8 in", "1 1/4 in"; inches to the 32nd, else two decimals."""
    if display != "in":
        return f"{_number(length_mm, 1)} mm"
    inches = length_mm / _INCH_MM
    near = Fraction(round(inches * 32), 32)
    if abs(float(near) - inches) > 0.005 or near == 0:
        return f"{_number(inches, 2)} in"
    whole, rest = divmod(near, 1)
    if rest == 0:
        return f"{whole} in"
    return f"{whole} {rest} in" if whole else f"{rest} in"


def _number(value: float, places: int) -> str:
    text = f"{value:.{places}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def allowance_words(rings: Iterable[Iterable[Edge]], display: str) -> tuple[str, ...]:
    """What is included beyond the finished line, allowances and underlap apart."""
    edges = [edge for ring in rings for edge in ring if edge.kind is not EdgeKind.FOLD]
    allowances = sorted(
        {edge.allowance_mm for edge in edges if edge.kind is not EdgeKind.NEIGHBOUR}
    )
    laps = sorted(
        {
            edge.allowance_mm
            for edge in edges
            if edge.kind is EdgeKind.NEIGHBOUR and edge.allowance_mm > 0.0
        }
    )
    lines = []
    if not allowances or allowances[-1] == 0.0:
        lines.append("no allowance: cut on the line" if not laps else "no other allowance")
    else:
        lines.append(f"allowance {_span(allowances, display)} included")
    if laps:
        lines.insert(0, f"underlap {_span(laps, display)} included")
    return tuple(lines)


def _span(lengths_mm: list[float], display: str) -> str:
    if len(lengths_mm) == 1:
        return length_words(lengths_mm[0], display)
    low, high = length_words(lengths_mm[0], display), length_words(lengths_mm[-1], display)
    return f"{low} to {high}"


def face_words(kind: PartKind) -> str:
    """Which way up the part lies when it is cut."""
    return "REVERSED – trace on paper side" if kind is PartKind.WEB else "right side up"
