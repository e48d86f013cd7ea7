"""Bringing the tables of older job formats up to the present one, a version at a time."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from templater.model.problems import Problem, Problems, Severity, Source

LATEST = 1

MIGRATIONS: dict[int, Callable[[dict[str, Any]], dict[str, Any]]] = {}
"""From version n to n + 1. Version 1 is the first, so there is none yet."""


def migrated(table: dict[str, Any], file: str) -> tuple[dict[str, Any], Problems]:
    """The table in the present format, or errors if its version is unknown."""
    version = table.get("job", LATEST)
    if not isinstance(version, int) or isinstance(version, bool) or not 1 <= version <= LATEST:
        return table, (
            Problem(
                "job-version",
                Severity.ERROR,
                f"job = {version!r} is a format this version does not know (it knows 1 to {LATEST})",
                f"Write job = {LATEST}, or use a newer templater.",
                Source(file, element="job"),
            ),
        )
    for step in range(version, LATEST):
        table = MIGRATIONS[step](table)
    return table, ()
