"""A folder that is being written is locked, so that no other run takes it for a leftover.

The lock is the system's (flock) and goes with the process, however it ends; where the system has
none, folders are taken as they are found.
"""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path

try:
    import fcntl
except ImportError:  # not on this system
    fcntl = None  # type: ignore[assignment]  # a module or None


@dataclass(slots=True)
class FolderLock:
    """A lock held on an open folder; `handle` is None where the system has no locks or it is released."""

    handle: int | None

    @classmethod
    def made(cls, folder: Path) -> FolderLock | None:
        """Make the folder and lock it. None if another run was quicker."""
        try:
            folder.mkdir()
        except FileExistsError:
            return None
        return cls.on(folder)

    @classmethod
    def on(cls, folder: Path) -> FolderLock | None:
        """Lock a folder that is there. None if another process holds it, or it has just gone."""
        if fcntl is None:
            return cls(None)
        try:
            handle = os.open(folder, os.O_RDONLY)
        except FileNotFoundError:
            return None
        lock = cls(handle)
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            lock.release()
            return None
        except OSError:  # a disk that cannot lock
            lock.release()
            return lock
        if not lock.holds(folder):  # it was replaced meanwhile
            lock.release()
            return None
        return lock

    def holds(self, folder: Path) -> bool:
        """Whether the folder of this name is the one that was locked."""
        if self.handle is None:
            return True
        try:
            return folder.stat().st_ino == os.fstat(self.handle).st_ino
        except FileNotFoundError:
            return False

    def release(self) -> None:
        if self.handle is not None:
            os.close(self.handle)
            self.handle = None
