"""What a layer's name says: a role, then a name. Case, and space, `_` or `-`, don't matter."""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from dataclasses import dataclass

from templater.model.names import plain_name
from templater.model.roles import Role, role_and_name

_ALIKE = 0.65
"""How alike a misspelt role word must be: "rwo" is a row, but a "layer" is not clear."""


@dataclass(frozen=True, slots=True)
class LayerName:
    """A layer's name as understood; without a role it is kept and reported as unused."""

    role: Role | None
    name: str


def read_layer_name(name: str, overrides: Mapping[str, str]) -> LayerName:
    """The role and name of a layer, by the job's `[layers]` first. A role alone is its own name."""
    spelt = {plain_name(key): value for key, value in overrides.items()}
    role, rest = role_and_name(spelt.get(plain_name(name), name))
    return LayerName(None, name) if role is None else LayerName(role, rest or role.value)


def nearest_role(name: str) -> Role | None:
    """The role word that the first word of a name most resembles, for a suggestion."""
    word = plain_name(name).partition("-")[0]
    close = difflib.get_close_matches(word, [role.value for role in Role], n=1, cutoff=_ALIKE)
    return Role(close[0]) if close else None
