"""Places in the job file, for messages: keys, and the lines they stand on. tomllib does not tell."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from templater.model.names import plain_name
from templater.model.problems import Problems, Source

_HEADER = re.compile(r"^\s*\[\[?\s*(?P<path>.+?)\s*\]\]?\s*(?:#.*)?$")
_KEY = re.compile(
    r"""^\s*(?P<path>(?:"[^"]*"|'[^']*'|[\w-]+)(?:\s*\.\s*(?:"[^"]*"|'[^']*'|[\w-]+))*)\s*="""
)
_PART = re.compile(r""""([^"]*)"|'([^']*)'|([\w-]+)""")


def line_of(text: str, path: Sequence[str]) -> int | None:
    """The 1-based line of the key, however it is spelt, or of the nearest table that holds it."""
    wanted = tuple(map(plain_name, path))
    best, best_depth = None, 0
    table: tuple[str, ...] = ()
    for number, line in enumerate(text.splitlines(), start=1):
        if header := _HEADER.match(line):
            table = _parts(header["path"])
            here = table
        elif key := _KEY.match(line):
            here = table + _parts(key["path"])
        else:
            continue
        depth = len(here)
        if depth > best_depth and wanted[:depth] == tuple(map(plain_name, here)):
            best, best_depth = number, depth
    return best


def dotted(path: Sequence[str]) -> str:
    """A key as it is written in TOML."""
    return ".".join(part if re.fullmatch(r"[\w-]+", part) else f'"{part}"' for part in path)


def in_job(*path: str) -> Source:
    """A place in the job's file, by those who have not read it: `located` adds its name and the line."""
    return Source("", element=dotted(path))


def located(problems: Problems, text: str, file: str) -> Problems:
    """The problems, those `in_job` with the job's file and the line of the key."""
    return tuple(
        replace(
            problem,
            source=replace(source, file=file, line=line_of(text, _parts(source.element))),
        )
        if (source := problem.source) is not None and not source.file
        else problem
        for problem in problems
    )


def _parts(dotted: str) -> tuple[str, ...]:
    return tuple(a or b or c for a, b, c in _PART.findall(dotted))
