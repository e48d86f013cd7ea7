"""A pack is written whole or not at all.

    with PackFolder(target) as folder:
        names = write_pack(plan, folder, …)     # and read it back, and check it

The folder is `.NAME.new` beside the target, on the same disk. At the end the target is renamed to
`.NAME.old`, the new folder takes its name, and the old one is renamed to `.NAME.gone` and removed.
An exception before that leaves the target as it was; a run cut off at any point is finished or
reverted by `recover`, which the next command calls first:

| target | .new | .old | what happened           | recover                                  |
| ------ | ---- | ---- | ----------------------- | ---------------------------------------- |
| any    | yes  | no   | cut off while writing   | remove .new                              |
| no     | yes  | yes  | between the two renames | .new was complete: it becomes the target |
| no     | no   | yes  | the same, .new lost     | .old becomes the target again            |
| yes    | any  | yes  | after the renames       | keep what is not ours of .old, remove it |

`.gone` is removed whenever it is met.

What is ours is listed in `.templater-files`; everything else in a pack is the maker's own and is
carried over.
"""

from __future__ import annotations

import contextlib
import os
import shutil
from pathlib import Path
from types import TracebackType

from templater.model.plan_file import PLAN_FILE
from templater.model.problems import Problem, Refused, Severity, Source
from templater.writing.carry import carry_over, files_in, rescue
from templater.writing.folder_lock import FolderLock
from templater.writing.ours import MANIFEST, bears_our_plan, our_files, write_manifest


class PackFolder:
    """Holds a pack's folder while it is made anew.

    Entering recovers what an earlier run left, refuses a target that is not ours (raises Refused,
    code `not-our-folder`, or `pack-in-use` while another run makes it) and gives an empty folder
    to write into. Leaving without an exception swaps it in; with one, removes it. `kept` then
    lists the maker's files that had to take another name, because the new pack has one of theirs.
    """

    def __init__(self, target: Path) -> None:
        self.target = target.resolve()
        self.kept: tuple[tuple[str, str], ...] = ()
        self._new, self._old = _beside(self.target, "new"), _beside(self.target, "old")
        self._lock: FolderLock | None = None
        self._made_parents: tuple[Path, ...] = ()

    def __enter__(self) -> Path:
        recover(self.target)
        refuse_foreign(self.target)
        above = self.target.parents
        self._made_parents = tuple(folder for folder in above if not folder.exists())
        self.target.parent.mkdir(parents=True, exist_ok=True)
        self._lock = FolderLock.made(self._new)
        if self._lock is None:
            raise Refused((_in_use(self.target),))
        return self._new

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        try:
            if kind is None:
                self._commit()
        finally:
            # On any way out. A folder that has our lock is ours to remove, another's is not.
            _settle(self.target, remove_new=self._lock is not None and self._lock.holds(self._new))
            if self._lock is not None:
                self._lock.release()
            if not self.target.exists():
                for folder in self._made_parents:
                    with contextlib.suppress(OSError):  # somebody has put something there
                        folder.rmdir()

    def _commit(self) -> None:
        """Name our files, carry the maker's over, and change places."""
        write_manifest(self._new, files_in(self._new))
        if self.target.exists():
            self.kept = carry_over(self.target, self._new, not_these=our_files(self.target))
        _flush(self._new)
        had = self.target.exists()
        if had:
            self.target.rename(self._old)
        try:
            self._new.rename(self.target)
        except BaseException:
            if had:
                self._old.rename(self.target)
            raise


def recover(target: Path) -> None:
    """Finish or revert a swap of this pack that was cut off. Does nothing where there is none.

    Raises Refused (code `pack-in-use`) while another run is making this very pack.
    """
    target = target.resolve()
    new = _beside(target, "new")
    lock = FolderLock.on(new) if new.is_dir() else None
    if lock is None and new.is_dir():
        raise Refused((_in_use(target),))
    try:
        _settle(target, remove_new=True)
    finally:
        if lock is not None:
            lock.release()


def _settle(target: Path, *, remove_new: bool) -> None:
    """Bring target, .new, .old and .gone to a state in which only the target is left."""
    new, old, gone = (_beside(target, ending) for ending in ("new", "old", "gone"))
    _remove(gone)
    if old.exists():
        if not target.exists():
            (new if (new / MANIFEST).is_file() else old).rename(target)
        if old.exists():
            rescue(old, target, not_these=our_files(old))
            old.rename(gone)
            _remove(gone)
    if remove_new and new.exists():
        _remove(new)


def refuse_foreign(target: Path) -> None:
    """Raise Refused unless the target is free, an empty folder, or bears our plan.json."""
    if not target.exists() and not target.is_symlink():
        return
    if target.is_dir() and (not any(target.iterdir()) or bears_our_plan(target)):
        return
    what = "is a file" if not target.is_dir() else f"holds other things and no {PLAN_FILE} of ours"
    raise Refused(
        (
            Problem(
                "not-our-folder",
                Severity.ERROR,
                f"{target.name} {what}, so it is left untouched",
                "name another folder with -o, or move this one away",
                Source(str(target)),
            ),
        )
    )


def _beside(target: Path, ending: str) -> Path:
    return target.with_name(f".{target.name}.{ending}")


def _in_use(target: Path) -> Problem:
    return Problem(
        "pack-in-use",
        Severity.ERROR,
        f"another run is making {target.name} at this moment",
        "wait until it is done, or name another folder with -o",
        Source(str(target)),
    )


def _remove(folder: Path) -> None:
    """Remove a folder of ours; what cannot be removed now is left for the next command."""
    shutil.rmtree(folder, ignore_errors=True)


def _flush(folder: Path) -> None:
    """Have the disk keep the files before their folder takes its name, where the system can."""
    for name in files_in(folder):
        with contextlib.suppress(OSError), (folder / name).open("rb") as file:
            os.fsync(file.fileno())
