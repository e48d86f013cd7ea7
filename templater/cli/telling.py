"""Problems and progress, as people read them, on standard error."""

from __future__ import annotations

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
