"""A line of text as glyphs: which face's, in the order in which they are seen, and where.

Everything that measures, outlines or draws text takes it from here, so that all agree. HarfBuzz
joins, stacks and reorders letters as their script wants. Letters are not drawn nearer to each
other (kerning) nor melted for looks (ligatures): a name is as wide as its letters. Imports
uharfbuzz and fontTools when called.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import groupby
from typing import NamedTuple

from templater.lettering.bidi import embedding_levels, visual_runs
from templater.lettering.directions import CONTROLS, directed
from templater.lettering.faces import Face
from templater.lettering.fallback import chain, face_for, is_unseen
from templater.lettering.font import bundled

REPLACEMENT = "\u25a1"
"""Stands for every character that no font has: an empty box."""
_FEATURES = {"kern": False, "liga": False, "clig": False}
_SHARED_SCRIPTS = {"Zyyy", "Zinh", "Zzzz"}


class Glyph(NamedTuple):
    """A glyph at its place: `number` in its face, `x` and `y` in 1/2048 em. `text` is what it
    stands for; of several glyphs that stand for one thing the first one bears it.
    """

    face: Face
    number: int
    x: float
    y: float
    text: str


@dataclass(frozen=True, slots=True)
class Line:
    """A line of text as it is drawn, from left to right. `width` in 1/2048 em."""

    text: str
    glyphs: tuple[Glyph, ...]
    width: float
    leftwards: bool

    @property
    def faces(self) -> tuple[Face, ...]:
        """The faces it is set in, each once: the one that is shipped first, if it is among them."""
        found = dict.fromkeys(glyph.face for glyph in self.glyphs)
        return tuple(sorted(found, key=lambda face: face is not bundled()))


class _Piece(NamedTuple):
    text: str
    level: int
    script: str
    face: Face


def clean_text(text: str) -> str:
    """Accents composed, tabs and line ends as blanks."""
    return "".join(" " if c.isspace() else c for c in unicodedata.normalize("NFC", text))


def writable_text(text: str) -> str:
    """The text for programs that set it in fonts of their own: a box only for what is no letter."""
    return "".join(REPLACEMENT if _is_none(letter) else letter for letter in clean_text(text))


def is_missing(letter: str) -> bool:
    """Whether no font has the letter, or it cannot be drawn."""
    return _is_none(letter) or (not is_unseen(letter) and face_for(letter) is None)


def _is_none(letter: str) -> bool:
    """Controls and halves of surrogate pairs are no letters."""
    return unicodedata.category(letter) in {"Cc", "Cs"}


def shape(text: str) -> Line:
    """The text as one line."""
    return _shape(clean_text(text), chain())


@lru_cache(maxsize=16384)
def _shape(text: str, _asked: tuple[Face, ...]) -> Line:
    simple = face_for(text) is bundled()
    drawn = text
    if not simple:
        drawn = "".join(REPLACEMENT if is_missing(letter) else letter for letter in text)
    glyphs: list[Glyph] = []
    across = 0.0
    for piece in _pieces(directed(drawn), simple=simple):
        across = _set(piece, across, glyphs)
    return Line(text, tuple(glyphs), across, leftwards=embedding_levels(directed(text))[0] == 1)


def _pieces(text: str, *, simple: bool) -> Iterator[_Piece]:
    """Runs of one direction, script and face, from left to right as they are seen. A simple text
    is all in the font that is shipped.
    """
    scripts = _scripts(text)
    for run in visual_runs(text):
        indices = [i for i in range(run.start, run.end) if text[i] not in CONTROLS]
        pieces: list[_Piece] = []
        for (script, _), group in groupby(
            indices, lambda i: (scripts[i], text[i] == " " and not simple)
        ):
            word = "".join(text[i] for i in group)
            for part, face in ((word, bundled()),) if simple else _faced(word):
                if pieces and pieces[-1][2:] == (script, face):
                    pieces[-1] = pieces[-1]._replace(text=pieces[-1].text + part)
                else:
                    pieces.append(_Piece(part, run.level, script, face))
        yield from reversed(pieces) if run.level % 2 else pieces


def _faced(word: str) -> Iterator[tuple[str, Face]]:
    """A word is set in the first face that has all its letters, else each letter with its marks in
    the first that has it.
    """
    whole = face_for(word)
    if whole is not None:
        yield word, whole
        return
    for cluster in clusters(word):
        yield cluster, face_for(cluster) or face_for(cluster[0]) or bundled()


def clusters(text: str) -> Iterator[str]:
    """Letters with the marks and joiners that belong to them; text is never parted within one."""
    start = 0
    for at in range(1, len(text) + 1):
        if at == len(text) or not _belongs(text[at - 1], text[at]):
            yield text[start:at]
            start = at


def _belongs(before: str, letter: str) -> bool:
    return (
        unicodedata.category(letter) in {"Mn", "Mc", "Me"}
        or letter in "\u200c\u200d"
        or before == "\u200d"
        or unicodedata.combining(before) == 9  # a virama joins the consonants beside it
        or "\U0001f3fb" <= letter <= "\U0001f3ff"
    )


def _scripts(text: str) -> list[str]:
    """Each character's script; those that all scripts share go with what stands before them."""
    found = [_script(letter) for letter in text]
    own = (script for script in found if script not in _SHARED_SCRIPTS)
    before = next(own, "Zyyy")
    for at, script in enumerate(found):
        before = before if script in _SHARED_SCRIPTS else script
        found[at] = before
    return found


@lru_cache(maxsize=4096)
def _script(letter: str) -> str:
    from fontTools import unicodedata as tables

    return str(tables.script(letter))


def _set(piece: _Piece, across: float, glyphs: list[Glyph]) -> float:
    """Add the piece's glyphs from `across` on; where the next piece starts."""
    import uharfbuzz as hb

    buffer = hb.Buffer()
    buffer.cluster_level = hb.BufferClusterLevel.CHARACTERS
    buffer.add_str(piece.text)
    buffer.direction = "rtl" if piece.level % 2 else "ltr"
    buffer.script = piece.script
    buffer.flags = hb.BufferFlags.REMOVE_DEFAULT_IGNORABLES
    hb.shape(piece.face.font, buffer, _FEATURES)
    infos, positions = buffer.glyph_infos, buffer.glyph_positions
    if not infos:  # a soft hyphen by itself, say: nothing to be seen
        return across
    starts = sorted({info.cluster for info in infos})
    ends = dict(zip(starts, [*starts[1:], len(piece.text)], strict=True))
    unsaid = set(starts)
    scale = piece.face.to_units
    for info, place in zip(infos, positions, strict=True):
        said = ""
        if info.cluster in unsaid:
            unsaid.remove(info.cluster)
            said = piece.text[info.cluster : ends[info.cluster]]
        glyphs.append(
            Glyph(
                piece.face,
                info.codepoint,
                across + place.x_offset * scale,
                place.y_offset * scale,
                said,
            )
        )
        across += place.x_advance * scale
    return across
