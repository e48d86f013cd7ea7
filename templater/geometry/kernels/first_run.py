"""What compiling cost: told before it begins, timed, and recorded beside the compiled code.

Cheap to import: numba and numpy are not needed to ask.
"""

from __future__ import annotations

import os
import time
from pathlib import Path

RECORD = "first-run.txt"
"""Stands in the folder of the compiled code, a line for each process that had to compile."""
_WORTH_TELLING_S = 0.5


class Clock:
    """Adds up the time between `start` and `stop`; what is started within is counted with it."""

    def __init__(self) -> None:
        self.seconds = 0.0
        self._deep = 0
        self._began = 0.0

    def start(self) -> None:
        if self._deep == 0:
            self._began = time.perf_counter()
        self._deep += 1

    def stop(self) -> None:
        self._deep -= 1
        if self._deep == 0:
            self.seconds += time.perf_counter() - self._began


COMPILING = Clock()
"""The time this process has spent compiling."""


def kept_in() -> Path:
    """The folder that compiled code is kept in."""
    kept = os.environ.get("NUMBA_CACHE_DIR")
    return Path(kept) if kept else Path(__file__).resolve().parent / "__pycache__"


def remark(*, packed: bool) -> str:
    """For the progress line, where kernels are still to be compiled: those of packed fills take
    longest.
    """
    kernel, long = ("front.grow", "up to a minute") if packed else ("room.stands_free", "seconds")
    if next(kept_in().rglob(f"{kernel}-*.nbi"), None) is not None:
        return ""
    return f"(compiling once on this machine, {long})"


def told() -> str:
    """What is to be said of compiling in this process, which is recorded too; empty if it was none."""
    if COMPILING.seconds < _WORTH_TELLING_S:
        return ""
    line = f"the tight loops were compiled for this machine in {COMPILING.seconds:.1f} s"
    try:
        with (kept_in() / RECORD).open("a", encoding="utf-8") as record:
            record.write(f"{line}\n")
    except OSError:
        return f"{line}; they cannot be kept, so the next run compiles again"
    return f"{line}; the next run has them ready"
