"""What is being done, told on standard error while it is done."""

from __future__ import annotations

import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager

import click

EVERY_S = 20.0
"""How long nothing is said where no terminal shows the bar: short runs stay quiet."""


class BarWatch:
    """Shows the stage and what is left of it: on a terminal a line that changes, elsewhere a line
    every `every_s` seconds.

    The lines come from a thread of their own, for a single step may be the long one.
    """

    def __init__(self, every_s: float = EVERY_S) -> None:
        self._terminal = sys.stderr.isatty()
        self._every_s = every_s
        self._stage, self._total, self._done = "", 0, 0
        self._began = time.monotonic()
        self._closed = threading.Event()
        if not self._terminal:
            threading.Thread(target=self._tell, daemon=True).start()

    def stage(self, name: str, total: int) -> None:
        self._stage, self._total, self._done = name, total, 0
        self._draw()

    def advance(self) -> None:
        self._done += 1
        self._draw()

    def close(self) -> None:
        """Takes the line away, or ends the telling."""
        self._closed.set()
        if self._terminal:
            click.echo("\r\x1b[K", nl=False, err=True)

    def _draw(self) -> None:
        if self._terminal:
            click.echo(f"\r\x1b[K{self._words()} …", nl=False, err=True)

    def _tell(self) -> None:
        while not self._closed.wait(self._every_s):
            click.echo(
                f"{self._words()}, {time.monotonic() - self._began:.0f} s so far …", err=True
            )

    def _words(self) -> str:
        of = f" {self._done} of {self._total}" if self._total > 1 else ""
        return f"{self._stage}{of}"


@contextmanager
def watched() -> Iterator[BarWatch]:
    """A watch that is closed whatever happens."""
    watch = BarWatch()
    try:
        yield watch
    finally:
        watch.close()
