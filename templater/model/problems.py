"""What went wrong, where, and how to mend it: values, collected, never printed where they arise."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from templater.model.curves import Point


class Severity(StrEnum):
    NOTE = "note"
    WARNING = "warning"
    ERROR = "error"


@dataclass(frozen=True, slots=True)
class Source:
    """Where a shape came from: file, layer, and what its editor calls it, for messages.

    `colour` is "#rrggbb": of a shape's fill, or of its line where it has none; "" if not known.
    """

    file: str
    layer: str = ""
    element: str = ""
    line: int | None = None
    colour: str = ""


@dataclass(frozen=True, slots=True)
class Problem:
    """One finding. `code` is kebab-case and stable; `message` names the fault, `mend` the cure."""

    code: str
    severity: Severity
    message: str
    mend: str = ""
    source: Source | None = None
    at_mm: Point | None = None


Problems = tuple[Problem, ...]


def has_errors(problems: Iterable[Problem]) -> bool:
    return any(problem.severity is Severity.ERROR for problem in problems)


class Refused(Exception):
    """A run cannot go on; carries every problem found so far (at least one an error)."""

    def __init__(self, problems: Problems) -> None:
        super().__init__("; ".join(p.message for p in problems if p.severity is Severity.ERROR))
        self.problems = problems
