"""The names of layers in a setting that is edited by hand: what a stone is, told by where it lies.

A stone's layer says its zone, kind, size, colour and finish; moving it to another layer makes it
that. The writer and the reader of such files agree here and nowhere else.
"""

from __future__ import annotations

import re
from typing import NamedTuple

from templater.model.stones import StoneKind

SETTING_FILE = "setting.svg"
_BETWEEN = " · "
_ORIGIN = re.compile(r"^origin (-?\d+(?:\.\d+)?) (-?\d+(?:\.\d+)?)$")


class StoneLayer(NamedTuple):
    """What the stones of one layer are."""

    zone: str
    kind: StoneKind
    size: str
    colour: str
    finish: str

    @property
    def name(self) -> str:
        return _BETWEEN.join(("stones", self.zone, self.kind, self.size, self.colour, self.finish))


def read_stone_layer(name: str) -> StoneLayer | None:
    """The layer a name stands for, or None if it is none of stones."""
    parts = [part.strip() for part in name.split(_BETWEEN.strip())]
    if len(parts) != 6 or parts[0].casefold() != "stones" or parts[2] not in _KINDS:
        return None
    return StoneLayer(parts[1], StoneKind(parts[2]), parts[3], parts[4], parts[5])


_KINDS = {kind.value for kind in StoneKind}


def origin_layer(x_mm: float, y_mm: float) -> str:
    """The layer that says where the file's lower left corner lies in the drawing's frame."""
    return f"origin {x_mm:.4f} {y_mm:.4f}"


def read_origin_layer(name: str) -> tuple[float, float] | None:
    match = _ORIGIN.match(name.strip())
    return None if match is None else (float(match[1]), float(match[2]))
