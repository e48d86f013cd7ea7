"""The fonts of the operating system, in the order in which they are asked for a letter."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import suppress
from functools import cache
from pathlib import Path

from templater.lettering.faces import Face, faces_of

_ENDINGS = {".ttf", ".otf", ".ttc", ".otc"}
_SANS = ("sans", "gothic", "gothik", "grotesk", "hei", "kaku", "dotum", "gulim")
_SERIF = ("serif", "mincho", "ming", "song", "batang", "mono", "code", "hand", "display", "ui")
_NO_LETTERS = ("lastresort", "last resort", "adobe blank", "adobeblank")
"""Fonts that have a sign for everything and none that can be read."""


@cache
def system_faces() -> tuple[Face, ...]:
    """The faces found, those liked best first: sans serif, upright, of regular weight and width.

    Faces that may not be embedded in documents are left out. The same on every run on one machine.
    """
    found: list[tuple[tuple[object, ...], Face]] = []
    for path in font_files(font_folders()):
        with suppress(OSError):
            found += [(liking(face, path), face) for face in faces_of(path) if face.may_be_embedded]
    found = [entry for entry in found if not _shows_nothing(entry[1])]
    return tuple(face for _, face in sorted(found, key=lambda entry: entry[0]))


def liking(face: Face, path: Path) -> tuple[object, ...]:
    """What is least is liked best."""
    family = face.family.lower()
    style = 2 if any(word in family for word in _SERIF) else 1
    if any(word in family for word in _SANS) and "mono" not in family:
        style = 0
    away = (abs(face.weight - 400), abs(face.width - 5))
    return (face.slanted, style, *away, family, str(path), face.index)


def _shows_nothing(face: Face) -> bool:
    return any(name in face.family.lower() for name in _NO_LETTERS)


def font_files(folders: tuple[Path, ...]) -> Iterator[Path]:
    """Every font file in the folders and below, each once, in order."""
    seen: set[Path] = set()
    for folder in folders:
        for where, inner, names in os.walk(folder, followlinks=False):
            inner.sort()
            for name in sorted(names):
                path = Path(where, name)
                if path.suffix.lower() in _ENDINGS and path not in seen:
                    seen.add(path)
                    yield path


def font_folders() -> tuple[Path, ...]:
    """Where this system keeps its fonts and its user's."""
    home = Path.home()
    if sys.platform == "win32":
        roots = [
            Path(os.environ.get("WINDIR", r"C:\Windows"), "Fonts"),
            home / "AppData/Local/Microsoft/Windows/Fonts",
        ]
    elif sys.platform == "darwin":
        roots = [home / "Library/Fonts", Path("/Library/Fonts"), Path("/System/Library/Fonts")]
    else:
        data = os.environ.get("XDG_DATA_HOME") or home / ".local/share"
        shared = os.environ.get("XDG_DATA_DIRS") or "/usr/local/share:/usr/share"
        roots = [Path(data, "fonts"), home / ".fonts"]
        roots += [Path(root, "fonts") for root in shared.split(":") if root]
        roots += _configured(Path("/etc/fonts/fonts.conf"), home)
    return tuple(dict.fromkeys(roots))


def _configured(file: Path, home: Path) -> list[Path]:
    """The folders that fontconfig's own file names."""
    from lxml import etree

    try:
        tree = etree.parse(file, etree.XMLParser(resolve_entities=False, no_network=True))
    except (OSError, etree.XMLSyntaxError):
        return []
    named = [(node.text or "").strip() for node in tree.iter("dir") if not node.get("prefix")]
    return [
        home / name[2:] if name.startswith("~/") else Path(name)
        for name in named
        if name.startswith(("/", "~/"))
    ]
