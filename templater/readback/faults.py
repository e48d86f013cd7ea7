"""How a file of a pack that cannot be read back is reported."""

from __future__ import annotations

from templater.model.problems import Problem, Refused, Severity, Source

REMAKE = "make the pack again from its job; if it happens again, please report it as a defect"


class Unreadable(Exception):
    """A file does not hold what a pack's file must. The message says what, not where."""


def fault(code: str, file: str, message: str, line: int | None = None) -> Problem:
    """A problem of severity ERROR in one file of the pack."""
    where = f"{file}, line {line}" if line is not None else file
    return Problem(code, Severity.ERROR, f"{where}: {message}", REMAKE, Source(file, line=line))


def refuse(code: str, file: str, message: str) -> Refused:
    return Refused((fault(code, file, message),))
