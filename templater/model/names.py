"""The one spelling of a name, in drawings and jobs alike."""

from __future__ import annotations

import re

_SEPARATORS = re.compile(r"[\s_-]+")


def plain_name(name: str) -> str:
    """Lower case, words joined by hyphens: case, and space, `_` or `-`, don't matter."""
    return _SEPARATORS.sub("-", name.strip()).strip("-").casefold()
