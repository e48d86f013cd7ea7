"""What a PDF's content operators change: where, in which layer, inside which clip, in which font."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field

from templater.model.curves import IDENTITY, Box, Transform
from templater.model.facts import CircleFact, PathFact, TextFact
from templater.readback.marks import Found

EVERYWHERE: Box = (-math.inf, -math.inf, math.inf, math.inf)


@dataclass(frozen=True, slots=True)
class State:
    """The part of a PDF's graphics state that tells where things lie (ISO 32000-1, 8.4)."""

    to_mm: Transform
    clip: Box = EVERYWHERE
    font: Letters | None = None
    font_size: float = 0.0


@dataclass(frozen=True, slots=True)
class Letters:
    """A font's codes as text: `width` bytes a code; without a map they are Windows-1252."""

    width: int = 1
    by_code: dict[int, str] = field(default_factory=dict)

    def text(self, raw: bytes) -> str:
        if not self.by_code:
            return raw.decode("cp1252", errors="replace")
        step = self.width
        codes = (int.from_bytes(raw[i : i + step], "big") for i in range(0, len(raw), step))
        return "".join(self.by_code.get(code, "\N{REPLACEMENT CHARACTER}") for code in codes)


def letters_of(to_unicode: bytes) -> Letters:
    """The codes of a ToUnicode map (ISO 32000-1, 9.10.3)."""
    table: dict[int, str] = {}
    width = 1
    for block in re.findall(rb"begincodespacerange(.*?)endcodespacerange", to_unicode, re.DOTALL):
        sizes = [len(each) // 2 for each in re.findall(rb"<([0-9A-Fa-f\s]+)>", block)]
        width = max([width, *sizes])
    for block in re.findall(rb"beginbfchar(.*?)endbfchar", to_unicode, re.DOTALL):
        for code, text in re.findall(rb"<([0-9A-Fa-f]+)>\s*<([0-9A-Fa-f]+)>", block):
            table[int(code, 16)] = _utf16(text)
    for block in re.findall(rb"beginbfrange(.*?)endbfrange", to_unicode, re.DOTALL):
        ranges = rb"<([0-9A-Fa-f]+)>\s*<([0-9A-Fa-f]+)>\s*(<[0-9A-Fa-f]+>|\[[^\]]*\])"
        for low, high, to in re.findall(ranges, block):
            texts = [_utf16(each) for each in re.findall(rb"<([0-9A-Fa-f]+)>", to)]
            for index, code in enumerate(range(int(low, 16), int(high, 16) + 1)):
                if to.startswith(b"[") and index < len(texts):
                    table[code] = texts[index]
                elif not to.startswith(b"[") and texts and texts[0]:
                    table[code] = texts[0][:-1] + chr(ord(texts[0][-1]) + index)
    return Letters(width, table)


def _utf16(digits: bytes) -> str:
    return bytes.fromhex(digits.decode("ascii")).decode("utf-16-be", errors="replace")


def overlap(one: Box, other: Box) -> Box:
    return (
        max(one[0], other[0]), max(one[1], other[1]),
        min(one[2], other[2]), min(one[3], other[3]),
    )  # fmt: skip


def place_form(form: Found, to: Found, dx: float, dy: float, clip: Box, layer: str) -> None:
    """A form's facts, made about the origin, moved to where they are shown and clipped there.

    What lies outside the clip altogether is not on the page; what is cut by it is kept whole.
    """
    x0, y0, x1, y1 = clip
    for circle in form.circles:
        x, y, r = circle.x_mm + dx, circle.y_mm + dy, circle.diameter_mm / 2
        if x + r >= x0 and x - r <= x1 and y + r >= y0 and y - r <= y1:
            to.circles.append(CircleFact(x, y, circle.diameter_mm, circle.layer or layer))
    for path in form.paths:
        points = tuple((x + dx, y + dy) for x, y in path.points)
        if touches(points, clip):
            to.paths.append(PathFact(points, path.closed, path.layer or layer))
    for text in form.texts:
        at = (text.at[0] + dx, text.at[1] + dy)
        if touches((at,), clip):
            to.texts.append(text._replace(at=at, layer=text.layer or layer))


def touches(points: tuple[tuple[float, float], ...], box: Box) -> bool:
    """Whether the points' box meets a box."""
    return (
        min(x for x, _ in points) <= box[2]
        and max(x for x, _ in points) >= box[0]
        and min(y for _, y in points) <= box[3]
        and max(y for _, y in points) >= box[1]
    )


@dataclass
class TextState:
    """Where the next text is shown (ISO 32000-1, 9.4)."""

    matrix: Transform = IDENTITY
    line: Transform = IDENTITY
    leading: float = 0.0

    def start(self, matrix: Transform) -> None:
        self.matrix = self.line = matrix

    def next_line(self, x: float, y: float) -> None:
        self.start(Transform(e=x, f=y).then(self.line))

    def fact(self, text: str, state: State, layer: str) -> TextFact:
        whole = self.matrix.then(state.to_mm)
        height = state.font_size * math.hypot(whole.c, whole.d)
        return TextFact(text, whole.apply((0.0, 0.0)), height, layer, whole.mirrors)
