"""Which face sets a letter: the one that is shipped, else one that the maker names, else the system's."""

from __future__ import annotations

import os
import unicodedata
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from functools import cache, lru_cache
from pathlib import Path

from templater.lettering.faces import Face, faces_of
from templater.lettering.font import bundled
from templater.lettering.system_fonts import system_faces
from templater.model.problems import Problem, Problems, Severity, Source

FONT_VARIABLE = "TEMPLATER_FONT"
"""Names font files for all jobs, parted as PATH is."""
_MARKS_NOT_SEEN = ("\u034f", "\u180b", "\u180c", "\u180d")

_named: ContextVar[tuple[Face, ...]] = ContextVar("named faces", default=())


@contextmanager
def using_font(path: Path | None) -> Iterator[Problems]:
    """Within it, letters the shipped font lacks are looked for in this file before all others.

    Gives what is wrong with the file, which is then left out.
    """
    faces, problems = _checked(path)
    token = _named.set(faces)
    try:
        yield problems
    finally:
        _named.reset(token)


def _checked(path: Path | None) -> tuple[tuple[Face, ...], Problems]:
    if path is None:
        return (), ()
    try:
        faces = faces_of(path)
    except OSError as error:
        return (), _refused(path, f"cannot be read ({error.strerror})")
    if not faces:
        return (), _refused(path, "is no TrueType or OpenType font with outlines")
    if not all(face.may_be_embedded for face in faces):
        return (), _refused(path, "says of itself that no document may carry its letters")
    return faces, ()


def _refused(path: Path, why: str) -> Problems:
    mend = "Name another font file (.ttf, .otf or .ttc), or none: then the system's are asked."
    source = Source(path.name)
    return (Problem("font-unusable", Severity.ERROR, f"the font {path} {why}", mend, source),)


@cache
def _everywhere() -> tuple[Face, ...]:
    """The faces of the files that the environment names."""
    named = os.environ.get(FONT_VARIABLE, "").split(os.pathsep)
    return tuple(face for name in named if name for face in _checked(Path(name))[0])


def chain() -> tuple[Face, ...]:
    """The faces that are always asked, in order; the system's fonts are asked after them."""
    return (bundled(), *_named.get(), *_everywhere())


def face_for(letters: str) -> Face | None:
    """The first face that has all the letters, else None. Signs that are not seen do not count."""
    return _face_for("".join(c for c in letters if not is_unseen(c)), chain())


@lru_cache(maxsize=8192)
def _face_for(letters: str, asked: tuple[Face, ...]) -> Face | None:
    for face in asked:
        if all(face.has(letter) for letter in letters):
            return face
    return next(
        (face for face in system_faces() if all(face.has(letter) for letter in letters)), None
    )


def is_unseen(letter: str) -> bool:
    """Joiners, directions and variation selectors: they change others and have no sign."""
    category = unicodedata.category(letter)
    if category == "Mn":
        return (
            "\ufe00" <= letter <= "\ufe0f"
            or "\U000e0100" <= letter <= "\U000e01ef"
            or letter in _MARKS_NOT_SEEN
        )
    return category == "Cf" and not "\u0600" <= letter <= "\u06dd"
