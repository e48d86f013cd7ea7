"""What lies in a pack: its folders of sheets, counted alike by all who speak of them."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from pathlib import PurePosixPath

from templater.model.formats import sheet_stem

_FOLDERS = {
    "appliques": "pieces to cut",
    "stencils": "stencils to cut",
    "punch": "prick and punch sheets",
    "print": "true-size pages for the printer",
    "swatches": "a square of every stoning, to be tried first",
}


@dataclass(frozen=True, slots=True)
class SheetFolder:
    """A folder, how many sheets are in it, what they are, and the kinds of files they come as."""

    name: str
    sheets: int
    what: str
    kinds: tuple[str, ...]


def sheet_folders(files: Collection[str]) -> Iterator[SheetFolder]:
    """The folders that hold any of a pack's files, which are named from the pack, with slashes."""
    for name, what in _FOLDERS.items():
        inside = [file for file in files if file.startswith(f"{name}/")]
        if inside:
            sheets = len({sheet_stem(file) for file in inside})
            kinds = tuple(sorted({PurePosixPath(file).suffix[1:] for file in inside}))
            yield SheetFolder(name, sheets, what, kinds)
