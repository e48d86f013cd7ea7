"""Findings that come many times over: a few told one by one, the rest counted."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from templater.model.curves import Point
from templater.model.problems import Problem, Severity, Source

MOST_EACH = 10
"""How many problems of one code are told one by one."""


@dataclass(slots=True)
class Tally:
    """Collects problems and counts while a file is read."""

    file: str
    _told: dict[str, list[Problem]] = field(default_factory=dict)
    _counts: dict[str, list[tuple[Source, Point | None, int]]] = field(default_factory=dict)

    def tell(
        self,
        code: str,
        severity: Severity,
        message: str,
        mend: str,
        source: Source,
        at_mm: Point | None = None,
    ) -> None:
        """One finding that deserves its own message."""
        self._told.setdefault(code, []).append(
            Problem(code, severity, message, mend, source, at_mm)
        )

    def adopt(self, problems: Iterable[Problem]) -> None:
        """Problems found elsewhere."""
        for problem in problems:
            self._told.setdefault(problem.code, []).append(problem)

    def count(self, code: str, source: Source, at_mm: Point | None = None, times: int = 1) -> None:
        """One more of a kind that is told as a number."""
        self._counts.setdefault(code, []).append((source, at_mm, times))

    def problems(self) -> list[Problem]:
        """All findings, errors first come first told; counted ones last."""
        found: list[Problem] = []
        for code, told in self._told.items():
            found.extend(told[:MOST_EACH])
            more = told[MOST_EACH:]
            if more:
                found.append(
                    Problem(
                        code,
                        max((p.severity for p in more), key=_RANK.index),
                        f"{len(more)} more like the last: {_lines(p.source for p in more)}.",
                        more[0].mend,
                        more[0].source,
                        more[0].at_mm,
                    )
                )
        for code, counted in self._counts.items():
            severity, one, many, mend = COUNTED[code]
            number = sum(times for _, _, times in counted)
            text = (one if number == 1 else many).format(n=number)
            source, at_mm, _ = counted[0]
            where = _lines(source for source, _, _ in counted)
            message = f"{text} ({where})." if where else f"{text}."
            found.append(Problem(code, severity, message, mend, source, at_mm))
        return found


_RANK = (Severity.NOTE, Severity.WARNING, Severity.ERROR)


def _lines(sources: object) -> str:
    """Where a few things stand, in words."""
    assert hasattr(sources, "__iter__")
    lines: list[int] = []
    for source in sources:
        if source is not None and source.line is not None and source.line not in lines:
            lines.append(source.line)
        if len(lines) > 5:
            break
    if not lines:
        return ""
    more = " and more" if len(lines) > 5 else ""
    shown: Sequence[int] = lines[:5]
    return ("line " if len(shown) == 1 else "lines ") + ", ".join(map(str, shown)) + more


_OPEN = "Nothing to do, unless the gap was meant."
COUNTED: dict[str, tuple[Severity, str, str, str]] = {
    "closed-by-a-hair": (
        Severity.NOTE,
        "1 outline was open by less than 0.05 mm and is taken as closed",
        "{n} outlines were open by less than 0.05 mm and are taken as closed",
        _OPEN,
    ),
    "joined": (
        Severity.NOTE,
        "1 outline was joined from loose lines whose ends meet within 0.05 mm",
        "{n} outlines were joined from loose lines whose ends meet within 0.05 mm",
        "Nothing to do, unless those lines do not belong together.",
    ),
    "closed-as-filled": (
        Severity.WARNING,
        "1 open outline is filled, so it is taken as closed by a straight line",
        "{n} open outlines are filled, so they are taken as closed by straight lines",
        "Close them in the editor, or take the fill away if lines were meant.",
    ),
    "doubled": (
        Severity.NOTE,
        "1 shape lies exactly on another one of its layer and was dropped",
        "{n} shapes lie exactly on others of their layers and were dropped",
        "Nothing to do: one of each is kept.",
    ),
    "tiny": (
        Severity.NOTE,
        "1 speck smaller than 0.05 mm was dropped",
        "{n} specks smaller than 0.05 mm were dropped",
        "Nothing to do, unless something that small was meant.",
    ),
    "zero-length": (
        Severity.NOTE,
        "1 part of a line without length was dropped",
        "{n} parts of lines without length were dropped",
        "Nothing to do.",
    ),
    "zero-size": (
        Severity.NOTE,
        "1 shape without size draws nothing and was dropped",
        "{n} shapes without size draw nothing and were dropped",
        "Delete them in the editor, or give them a size.",
    ),
    "no-width": (
        Severity.NOTE,
        "1 closed path encloses nothing and is taken as a line",
        "{n} closed paths enclose nothing and are taken as lines",
        "Nothing to do, unless it should have had an inside.",
    ),
    "covered": (
        Severity.WARNING,
        "1 inner outline makes no hole by the fill rule and was dropped",
        "{n} inner outlines make no holes by the fill rule and were dropped",
        (
            "If a hole was meant, set the fill rule to even-odd in the editor, or draw the inner"
            " outline the other way round."
        ),
    ),
    "crossing": (
        Severity.NOTE,
        (
            "1 shape's outlines cross or run along each other; their inside was worked out by the"
            " fill rule, its curves kept within 0.001 mm"
        ),
        (
            "The outlines of {n} shapes cross or run along each other; their inside was worked out by"
            " the fill rule, their curves kept within 0.001 mm"
        ),
        ("Nothing to do, unless the crossing was not meant; unite the shapes in the editor then."),
    ),
    "hidden": (
        Severity.NOTE,
        "1 hidden element was left out",
        "{n} hidden elements were left out",
        "Show it in the editor before saving if it should count.",
    ),
    "unpainted": (
        Severity.NOTE,
        "1 shape has neither fill nor stroke and is not on a layer with a role: left out",
        "{n} shapes have neither fill nor stroke and are not on a layer with a role: left out",
        "Give them a stroke if they should count.",
    ),
    "unpainted-kept": (
        Severity.WARNING,
        "1 shape on a layer with a role has neither fill nor stroke; it was read all the same",
        (
            "{n} shapes on layers with a role have neither fill nor stroke; they were read all the"
            " same"
        ),
        "Give them a stroke so that you see them, or delete them.",
    ),
    "off-page": (
        Severity.NOTE,
        "1 shape reaches beyond the page; it was read whole",
        "{n} shapes reach beyond the page; they were read whole",
        "Nothing to do, unless it was put aside on purpose: delete it then.",
    ),
    "markers": (
        Severity.NOTE,
        "1 line carries arrowheads or other markers; they were left out",
        "{n} lines carry arrowheads or other markers; they were left out",
        "Nothing to do: the line itself was read.",
    ),
    "language": (
        Severity.NOTE,
        "1 choice by language was made as for English",
        "{n} choices by language were made as for English",
        "Nothing to do, unless the drawing differs from one language to another.",
    ),
}
"""Each counted kind: severity, the words for one, the words for many, and the mend."""
