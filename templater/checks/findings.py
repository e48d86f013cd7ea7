"""How a broken rule is told."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from templater.model.curves import Point
from templater.model.problems import Problem, Problems, Severity, Source

REMAKE = "make the pack again from its job; if it happens again, please report it as a defect"
EDITED = (
    "move, remove or change the stone if you set it by hand; otherwise make the pack again, and "
    "report a defect if it stays"
)
MOST = 12
"""How many findings of one code are told one by one."""


def error(
    code: str,
    message: str,
    mend: str = REMAKE,
    *,
    at: Iterable[float] | None = None,
    file: str = "",
) -> Problem:
    """A broken rule: where, in mm, and in which file of the pack, if it is a file's."""
    place = _point(at) if at is not None else None
    return Problem(code, Severity.ERROR, message, mend, Source(file) if file else None, place)


def _point(at: Iterable[float]) -> Point:
    x, y = (round(float(each), 4) for each in at)
    return (x, y)


def capped(found: Iterable[Problem]) -> Problems:
    """The first findings of each code; of the rest only how many there are."""
    shown: list[Problem] = []
    counts: Counter[str] = Counter()
    lasts: dict[str, Problem] = {}
    for problem in found:
        counts[problem.code] += 1
        if counts[problem.code] <= MOST:
            shown.append(problem)
            lasts[problem.code] = problem
    for code, last in lasts.items():
        rest = counts[code] - MOST
        if rest > 0:
            message = f"{rest} more findings of this kind ({code})"
            shown.append(Problem(code, last.severity, message, last.mend))
    return tuple(shown)
