"""The line of a TOML text on which a key stands, for messages. tomllib does not tell."""

from __future__ import annotations

import re
from collections.abc import Sequence

_HEADER = re.compile(r"^\s*\[\[?\s*(?P<path>.+?)\s*\]\]?\s*(?:#.*)?$")
_KEY = re.compile(
    r"""^\s*(?P<path>(?:"[^"]*"|'[^']*'|[\w-]+)(?:\s*\.\s*(?:"[^"]*"|'[^']*'|[\w-]+))*)\s*="""
)
_PART = re.compile(r""""([^"]*)"|'([^']*)'|([\w-]+)""")


def line_of(text: str, path: Sequence[str]) -> int | None:
    """The 1-based line of the key, or of the nearest table or inline table that holds it."""
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
        if depth > best_depth and tuple(path[:depth]) == here:
            best, best_depth = number, depth
    return best


def _parts(dotted: str) -> tuple[str, ...]:
    return tuple(a or b or c for a, b, c in _PART.findall(dotted))
