"""The words a PDF shows, as far as its fonts say which letters their codes are.

Source: ISO 32000-1, 9.4 "Text objects" and 9.10 "Extraction of text content". Imported late: what
it handles are pikepdf's objects.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Any

import pikepdf

from templater.model.curves import Transform

_SPACE_BELOW = -200.0  # thousandths of the size: a gap this wide in TJ is a space (our own choice)
_HEX = rb"<\s*([0-9A-Fa-f\s]*)>"
_CHAR_BLOCK = re.compile(rb"beginbfchar(.*?)endbfchar", re.DOTALL)
_RANGE_BLOCK = re.compile(rb"beginbfrange(.*?)endbfrange", re.DOTALL)
_CHAR = re.compile(_HEX + rb"\s*" + _HEX)
_RANGE = re.compile(_HEX + rb"\s*" + _HEX + rb"\s*(?:" + _HEX + rb"|\[(.*?)\])", re.DOTALL)
_MOST_CODES = 70_000


@dataclass(frozen=True, slots=True)
class Font:
    """Codes of `width` bytes to letters; empty `letters` means one byte each, by Windows 1252."""

    width: int
    letters: dict[int, str] = field(default_factory=dict)
    readable: bool = True

    def words(self, codes: bytes) -> str:
        if not self.readable:
            return ""
        if not self.letters:
            return codes.decode("cp1252", "replace")
        step = self.width
        found = (
            self.letters.get(int.from_bytes(codes[i : i + step], "big"), "")
            for i in range(0, len(codes), step)
        )
        return "".join(found)


PLAIN_FONT = Font(1)


def font_of(font: Any) -> Font:
    """A font resource, read for its letters only."""
    composite = str(font.get("/Subtype", "")) == "/Type0"
    table = font.get("/ToUnicode")
    if table is not None and hasattr(table, "read_bytes"):
        width, letters = _letters(table.read_bytes(), 2 if composite else 1)
        if letters:
            return Font(width, letters)
    return Font(2, readable=False) if composite else Font(1)


def _letters(table: bytes, width: int) -> tuple[int, dict[int, str]]:
    letters: dict[int, str] = {}
    for block in _CHAR_BLOCK.findall(table):
        for code, text in _CHAR.findall(block):
            letters[int(code or b"0", 16)] = _text(text)
    for block in _RANGE_BLOCK.findall(table):
        for low, high, text, several in _RANGE.findall(block):
            first, last = int(low or b"0", 16), int(high or b"0", 16)
            if last - first > _MOST_CODES or len(letters) > _MOST_CODES:
                break
            if several:
                for code, one in enumerate(re.findall(_HEX, several), first):
                    letters[code] = _text(one)
            elif begin := _text(text):
                for code in range(first, last + 1):
                    letters[code] = begin[:-1] + chr(min(ord(begin[-1]) + code - first, 0x10FFFF))
    return width, letters


def _text(digits: bytes) -> str:
    plain = b"".join(digits.split())
    return bytes.fromhex((plain + b"0" * (len(plain) % 2)).decode()).decode("utf-16-be", "ignore")


@dataclass(slots=True)
class Line:
    """A run of words at one place: where the text matrix stood, and the size of the letters."""

    matrix: Transform
    size: float
    words: str


class TextPen:
    """Follows the text operators of one content stream; `take` hands over what was shown."""

    def __init__(self) -> None:
        self._matrix = self._line = Transform()
        self._leading = 0.0
        self._now: Line | None = None
        self._lines: list[Line] = []
        self.unreadable = 0
        self.font = PLAIN_FONT
        self.size = 0.0

    def take(self) -> list[Line]:
        lines, self._lines, self._now = self._lines, [], None
        return [line for line in lines if line.words.strip()]

    def begin(self) -> None:
        self._matrix = self._line = Transform()
        self._now = None

    def operate(self, operator: str, operands: list[Any]) -> None:
        """One text operator other than BT and ET."""
        match operator:
            case "Tm":
                a, b, c, d, e, f = (float(value) for value in operands)
                self._place(Transform(a, b, c, d, e, f))
            case "Td":
                self._step(float(operands[0]), float(operands[1]))
            case "TD":
                self._leading = -float(operands[1])
                self._step(float(operands[0]), float(operands[1]))
            case "TL":
                self._leading = float(operands[0])
            case "T*":
                self._step(0.0, -self._leading)
            case "Tj":
                self._show(bytes(operands[0]))
            case "'":
                self._step(0.0, -self._leading)
                self._show(bytes(operands[0]))
            case '"':
                self._step(0.0, -self._leading)
                self._show(bytes(operands[2]))
            case "TJ":
                self._show_spaced(operands[0])
            case _:
                pass

    def _place(self, matrix: Transform) -> None:
        self._matrix = self._line = matrix
        self._now = None

    def _step(self, dx: float, dy: float) -> None:
        self._place(Transform(e=dx, f=dy).then(self._line))

    def _show(self, codes: bytes) -> None:
        self._add(self.font.words(codes))
        if codes and not self.font.readable:
            self.unreadable += 1

    def _show_spaced(self, parts: Any) -> None:
        for part in parts:
            if isinstance(part, pikepdf.String | bytes):
                self._show(bytes(part))
            elif float(part) < _SPACE_BELOW:
                self._add(" ")

    def _add(self, words: str) -> None:
        if self._now is None:
            self._now = Line(self._matrix, self.size, "")
            self._lines.append(self._now)
        self._now.words += words
