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
    """What is included beyond the finished line: underlap, and allowances by the edges' names."""
    edges = [edge for ring in rings for edge in ring if edge.kind is not EdgeKind.FOLD]
    laps = {edge.allowance_mm for edge in edges if edge.kind is EdgeKind.NEIGHBOUR} - {0.0}
    lines = [f"underlap {length_words(mm, display)} included" for mm in sorted(laps)]
    own = [edge for edge in edges if edge.kind is not EdgeKind.NEIGHBOUR]
    if not any(edge.allowance_mm for edge in own):
        lines.append("no other allowance" if laps else "no allowance: cut on the line")
        return tuple(lines)
    plain = [edge.allowance_mm for edge in own if not edge.name]
    usual = max(plain or [edge.allowance_mm for edge in own])
    others = sorted({(edge.name, edge.allowance_mm) for edge in own} - {("", usual)})
    said = [f"allowance {length_words(usual, display)}"] if usual and plain else []
    said += [
        f"{name or 'elsewhere'} {length_words(mm, display)}"
        for name, mm in others
        if mm != usual or not plain
    ]
    lead = "" if said[0].startswith("allowance") else "allowance "
    lines.append(f"{lead}{', '.join(said)} included")
    return tuple(lines)


def face_words(kind: PartKind) -> str:
    """Which way up the part lies when it is cut."""
    return "REVERSED – trace on paper side" if kind is PartKind.WEB else "right side up"


def label_groups(
    job_name: str,
    names: tuple[str, str],
    side: Side,
    kind: PartKind,
    fabric: str,
    copies: str,
    more: tuple[str, ...],
) -> tuple[tuple[str, ...], ...]:
    """A label's words in groups; those of a group may share a line. Empty words are left out."""
    groups = (
        (job_name,),
        names,
        (side_words(side), face_words(kind)),
        (fabric, copies),
        *((words,) for words in more),
    )
    kept = (tuple(word for word in group if word) for group in groups)
    return tuple(group for group in kept if group)


def label_layouts(groups: tuple[tuple[str, ...], ...]) -> tuple[tuple[str, ...], ...]:
    """A line a group; every word its own line; two groups a line."""
    grouped = [" · ".join(group) for group in groups]
    return (
        tuple(grouped),
        tuple(word for group in groups for word in group),
        tuple(" · ".join(grouped[i : i + 2]) for i in range(0, len(grouped), 2)),
    )


def copies_words(side: Side, kind: PartKind, *, web: bool, doubled: bool) -> str:
    """How many to cut. On doubled cloth one laying gives both sides; web-backed parts are single."""
    paired = side in {Side.LEFT, Side.RIGHT} and kind is not PartKind.WEB and not web
    return "cut 1 on doubled cloth for both sides" if doubled and paired else "cut 1"
