"""The maker's own files in a pack: found, and carried over into the new one."""

from __future__ import annotations

import contextlib
import os
import shutil
from collections.abc import Collection
from pathlib import Path, PurePosixPath


def files_in(folder: Path) -> tuple[str, ...]:
    """Every file below the folder (links too, not followed), as names with /, sorted."""
    found: list[str] = []
    for place, folders, names in os.walk(folder):
        links = [name for name in folders if (Path(place) / name).is_symlink()]
        found.extend((Path(place) / name).relative_to(folder).as_posix() for name in names + links)
    return tuple(sorted(found))


def _empty_folders(folder: Path) -> tuple[str, ...]:
    return tuple(
        sorted(
            Path(place).relative_to(folder).as_posix()
            for place, folders, names in os.walk(folder)
            if not folders and not names and Path(place) != folder
        )
    )


def carry_over(
    source: Path, target: Path, *, not_these: Collection[str]
) -> tuple[tuple[str, str], ...]:
    """Have every file of `source` but `not_these` in `target` too; empty folders as well.

    Files are linked where the disk can, else copied; nothing in `target` is overwritten: a file
    whose name is taken gets " (yours)" into it. Returns the (old, new) names that differ.
    """
    renamed = []
    for name in files_in(source):
        if name in not_these:
            continue
        free = _free_name(target, name)
        if free != name:
            renamed.append((name, free))
        _link_or_copy(source / name, target / free)
    for name in _empty_folders(source):
        with contextlib.suppress(FileExistsError, NotADirectoryError):
            (target / name).mkdir(parents=True, exist_ok=True)
    return tuple(renamed)


def rescue(source: Path, target: Path, *, not_these: Collection[str]) -> None:
    """Move into `target` whatever of `source` is not there yet, before `source` is removed.

    For files that came into an old pack at the very moment it was replaced.
    """
    for name in files_in(source):
        if name not in not_these and not os.path.lexists(target / name):
            free = _free_name(target, name)
            (target / free).parent.mkdir(parents=True, exist_ok=True)
            (source / name).rename(target / free)


def _free_name(folder: Path, name: str) -> str:
    """The name, or one like it that neither a file nor a folder of another kind stands in for."""
    wanted, number = name, 1
    while _taken(folder, wanted):
        path = PurePosixPath(name)
        mark = " (yours)" if number == 1 else f" (yours {number})"
        wanted = str(PurePosixPath(path.parent, f"{path.stem}{mark}{path.suffix}"))
        if _file_above(folder, wanted):
            wanted = f"{path.parts[0]}{mark}/" + "/".join(path.parts[1:])
        number += 1
    return wanted


def _taken(folder: Path, name: str) -> bool:
    return os.path.lexists(folder / name) or _file_above(folder, name)


def _file_above(folder: Path, name: str) -> bool:
    """Whether a folder on the way to this name is a file in `folder`."""
    above = PurePosixPath(name).parents
    return any(
        os.path.lexists(folder / part) and not (folder / part).is_dir()
        for part in above
        if str(part) != "."
    )


def _link_or_copy(source: Path, target: Path) -> None:
    target.parent.mkdir(parents=True, exist_ok=True)
    try:
        os.link(source, target, follow_symlinks=False)
    except (OSError, NotImplementedError):
        if source.is_symlink() or source.is_file():
            shutil.copy2(source, target, follow_symlinks=False)
