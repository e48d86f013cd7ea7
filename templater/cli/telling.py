"""Problems and progress, as people read them, on standard error."""

from __future__ import annotations

import sys
from collections.abc import Iterable

import click

from templater.model.problems import Problem, Severity, Source
from templater.model.words import counted

_COLOURS = {Severity.ERROR: "red", Severity.WARNING: "yellow", Severity.NOTE: "cyan"}
_ORDER = {Severity.NOTE: 0, Severity.WARNING: 1, Severity.ERROR: 2}
_MOST_ALIKE = 5


def tell_problems(problems: Iterable[Problem], *, notes: bool = True) -> None:
    """Notes first, errors last, where the eye is; of many alike the first few."""
    shown: dict[tuple[Severity, str], int] = {}
    for problem in sorted(dict.fromkeys(problems), key=lambda p: _ORDER[p.severity]):
        if problem.severity is Severity.NOTE and not notes:
            continue
        kind = (problem.severity, problem.code)
        shown[kind] = shown.get(kind, 0) + 1
        if shown[kind] <= _MOST_ALIKE:
            _tell(problem)
    for (severity, code), count in shown.items():
        if count > _MOST_ALIKE:
            more = counted(count - _MOST_ALIKE, f"more {severity}")
            click.echo(f"{severity}: and {more} of the kind {code}", err=True)


def _tell(problem: Problem) -> None:
    word = click.style(f"{problem.severity}:", fg=_COLOURS[problem.severity], bold=True)
    where = place_of(problem)
    click.echo(f"{word} {where}{': ' if where else ''}{_said(problem)}", err=True)
    if problem.mend:
        click.echo(f"  mend: {problem.mend}", err=True)


def _said(problem: Problem) -> str:
    """The message without the file or key it begins with: the place before it has them."""
    source = problem.source or Source("")
    for known in (source.file, source.element):
        if known and problem.message.startswith(f"{known}: "):
            return problem.message.removeprefix(f"{known}: ")
    return problem.message


def tell_compiling() -> None:
    """How long the tight loops took to compile, if this run had to: only the first on a machine has."""
    from templater.geometry.kernels.first_run import told

    said = told()
    if said:
        click.echo(said, err=True)


def place_of(problem: Problem) -> str:
    """File, line, layer, shape and millimetres, as far as they are known."""
    parts = []
    source = problem.source
    if source is not None:
        parts.append(source.file + (f" line {source.line}" if source.line else ""))
        if source.layer:
            parts.append(f'layer "{source.layer}"')
        if source.element:
            parts.append(source.element)
    if problem.at_mm is not None:
        parts.append(f"at x {problem.at_mm[0]:.1f} mm, y {problem.at_mm[1]:.1f} mm")
    return ", ".join(parts)


class BarWatch:
    """Shows the stage and what is left of it; silent unless standard error is a terminal."""

    def __init__(self) -> None:
        self._shown = sys.stderr.isatty()
        self._stage, self._total, self._done = "", 0, 0

    def stage(self, name: str, total: int) -> None:
        self._stage, self._total, self._done = name, total, 0
        self._draw()

    def advance(self) -> None:
        self._done += 1
        self._draw()

    def close(self) -> None:
        """Takes the line away."""
        if self._shown:
            click.echo("\r\x1b[K", nl=False, err=True)

    def _draw(self) -> None:
        if not self._shown:
            return
        of = f" {self._done} of {self._total}" if self._total > 1 else ""
        click.echo(f"\r\x1b[K{self._stage}{of} …", nl=False, err=True)
