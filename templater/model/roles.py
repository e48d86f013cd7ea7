"""The role words with which the names of a drawing's layers begin: the one list."""

from __future__ import annotations

from enum import StrEnum

from templater.model.names import plain_name


class Role(StrEnum):
    """What a layer holds."""

    PIECE = "piece"
    ZONE = "zone"
    ROW = "row"
    CLEAR = "clear"
    LOW = "low"
    FOLD = "fold"
    CREASE = "crease"
    SEAM = "seam"
    DART = "dart"
    GRAIN = "grain"
    NOTCH = "notch"
    DRILL = "drill"
    EDGE = "edge"
    NOTE = "note"


AREA_ROLES = frozenset({Role.PIECE, Role.ZONE, Role.LOW})
"""Roles whose shapes must be closed: loose lines that meet are joined to outlines."""
LINE_ROLES = frozenset(
    {
        Role.ROW,
        Role.FOLD,
        Role.CREASE,
        Role.SEAM,
        Role.DART,
        Role.GRAIN,
        Role.NOTCH,
        Role.DRILL,
        Role.EDGE,
    }
)
"""Roles whose shapes are lines and points: each closed one stands for itself, none is a hole."""
SINGLE_STROKES = frozenset({Role.NOTCH, Role.DRILL, Role.GRAIN})
"""Roles whose strokes are marks of their own: they are not to be joined."""

_BY_WORD = {role.value: role for role in Role}


def role_and_name(name: str) -> tuple[Role | None, str]:
    """The role a layer's name begins with, and what follows it in plain spelling ("" if nothing).

    Case, space, `_` and `-` don't matter. Without a role: None and the whole name.
    """
    word, _, rest = plain_name(name).partition("-")
    role = _BY_WORD.get(word)
    return (None, name) if role is None else (role, rest)
