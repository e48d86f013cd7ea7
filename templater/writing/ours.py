"""Which files of a pack are ours: those its list names. All others are the maker's own."""

from __future__ import annotations

import json
from collections.abc import Collection, Iterator
from pathlib import Path, PurePosixPath
from typing import Any

from templater.model.formats import ENDINGS
from templater.model.plan_file import PLAN_FILE

MANIFEST = ".templater-files"
_HEAD = "# Files of this folder that templater wrote, and replaces. All others are yours."
_TABLES_AND_PICTURES = (
    "stones.csv",
    "holes.csv",
    "shopping.csv",
    "walked.csv",
    "lay.json",
    "book.html",
    "book.pdf",
    "preview.svg",
    "preview.png",
)
_SHEET_ENDINGS = tuple(ENDINGS.values())


def write_manifest(folder: Path, names: Collection[str]) -> None:
    """Put the list into the folder."""
    text = "\n".join([_HEAD, *sorted(names)]) + "\n"
    (folder / MANIFEST).write_text(text, encoding="utf-8", newline="\n")


def our_files(folder: Path) -> frozenset[str]:
    """The names of the files that are ours. A folder that has lost its list (copied without its
    hidden files) is asked by its plan.
    """
    try:
        text = (folder / MANIFEST).read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError):
        return frozenset({PLAN_FILE, MANIFEST, *_TABLES_AND_PICTURES, *_by_plan(folder)})
    names = (line for line in text.splitlines() if line and not line.startswith("#"))
    return frozenset({*names, MANIFEST})


def bears_our_plan(folder: Path) -> bool:
    """Whether there is a plan.json of ours, of any version; somebody else's does not count, a
    spoilt one does if our list stands beside it.
    """
    plan = _plan(folder)
    if plan is None:
        return (folder / MANIFEST).is_file() and (folder / PLAN_FILE).is_file()
    return {"version", "job_hash", "rules"} <= plan.keys()


def _by_plan(folder: Path) -> Iterator[str]:
    sheets = (_plan(folder) or {}).get("sheets")
    for sheet in sheets if isinstance(sheets, list) else ():
        name = sheet.get("name") if isinstance(sheet, dict) else None
        if isinstance(name, str):
            path = PurePosixPath(name)
            yield from (f"{name}{ending}" for ending in _SHEET_ENDINGS)
            groups = (path.name, path.parent.name)
            yield from (f"print/{group}{end}.pdf" for group in groups for end in ("", "-roll"))


def _plan(folder: Path) -> dict[str, Any] | None:
    try:
        with (folder / PLAN_FILE).open(encoding="utf-8") as file:
            plan = json.load(file)
    except (OSError, ValueError, RecursionError):
        return None
    return plan if isinstance(plan, dict) else {}
