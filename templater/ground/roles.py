"""What a layer's name says: a role, then a name. Case, and space, `_` or `-`, don't matter."""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from templater.model.names import plain_name


class Role(StrEnum):
    """The role words of a drawing's layers."""

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


_ROLES = {role.value: role for role in Role}


@dataclass(frozen=True, slots=True)
class LayerName:
    """A layer's name as understood; without a role it is kept and reported as unused."""

    role: Role | None
    name: str


def read_layer_name(name: str, overrides: Mapping[str, str]) -> LayerName:
    """The role and name of a layer, by the job's `[layers]` first. A role alone is its own name."""
    spelt = {plain_name(key): value for key, value in overrides.items()}
    word, _, rest = plain_name(spelt.get(plain_name(name), name)).partition("-")
    role = _ROLES.get(word)
    return LayerName(None, name) if role is None else LayerName(role, rest or word)


def nearest_role(name: str) -> Role | None:
    """The role word that the first word of a name most resembles, for a suggestion."""
    word = plain_name(name).partition("-")[0]
    close = difflib.get_close_matches(word, list(_ROLES), n=1, cutoff=0.6)
    return Role(close[0]) if close else None
