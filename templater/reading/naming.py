"""What layers are called: role words, editors' escapes, and which of several names counts."""

from __future__ import annotations

import re

from templater.model.roles import LINE_ROLES, role_and_name

__all__ = ["LINE_ROLES", "automatic", "chosen", "role_of", "unescaped"]

_ESCAPE = re.compile(r"_x([0-9A-Fa-f]{2,6})_")
_DOUBLED = re.compile(r"_\d+_$")
_AUTOMATIC = re.compile(
    r"(?:g|use|svg|switch|group|gruppe|groupe|grupo|gruppo|layer|xmlid_|svgid_|_)?"
    r"[-_.]?\d+(?:[-_.]\w{0,2}\d+)*[-_]?$",
    re.IGNORECASE,
)


def role_of(name: str) -> str:
    """The role word a layer's name begins with, or "". Case, space, `_` and `-` don't matter."""
    role, _ = role_and_name(name)
    return "" if role is None else role.value


def unescaped(identifier: str) -> str:
    """An id as the maker typed it: `_x20_` is a space, a trailing `_1_` marks a doubled name."""

    def sign(found: re.Match[str]) -> str:
        code = int(found.group(1), 16)
        readable = code <= 0x10FFFF and not 0xD800 <= code <= 0xDFFF and chr(code).isprintable()
        return chr(code) if readable else found.group()

    name = _ESCAPE.sub(sign, identifier)
    return _DOUBLED.sub("", name) or name


def automatic(name: str) -> bool:
    """Whether a name looks numbered by an editor rather than given by a person."""
    return _AUTOMATIC.match(name) is not None


def chosen(own: str, *, own_is_label: bool, above: str, above_given: bool) -> tuple[str, bool]:
    """The layer name inside a group, and whether a person gave it.

    `own` is the group's name ("" if none), `above` the one inherited. A name that is no role word
    does not hide a role above it, and an editor's number does not hide any name above it.
    """
    if not own:
        return above, above_given
    given = own_is_label or not automatic(own)
    if role_of(own):
        return own, True
    if role_of(above) or (above_given and not given):
        return above, above_given
    return own, given
