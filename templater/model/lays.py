"""Lays that took long to find and come out otherwise each time: kept, so that they can be used again."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import NamedTuple

from templater.model.curves import Transform

LAYS_FILE = "lay.json"
_VERSION = 1


class Lain(NamedTuple):
    """Where a shape lies: the sheet's number from 0, and the move from the shape's own frame."""

    sheet: int
    move: Transform


@dataclass(frozen=True, slots=True)
class KeptLay:
    """A lay under the fingerprint of everything it was made from. A shape without a spot is too
    large for the sheet.
    """

    key: str
    spots: tuple[Lain | None, ...]


def dump_lays(lays: tuple[KeptLay, ...]) -> bytes:
    """The lays as UTF-8 JSON, a shape on a line."""
    table = {
        lay.key: [
            None if spot is None else [spot.sheet, *_numbers(spot.move)] for spot in lay.spots
        ]
        for lay in lays
    }
    lines = ",\n".join(
        f"{json.dumps(key)}: [\n" + ",\n".join(json.dumps(spot) for spot in spots) + "\n]"
        for key, spots in table.items()
    )
    return f'{{"version": {_VERSION}, "lays": {{\n{lines}\n}}}}\n'.encode()


def load_lays(data: bytes) -> tuple[KeptLay, ...]:
    """The lays that `dump_lays` wrote; none from anything else: they are made anew then."""
    try:
        table = json.loads(data)
        if table["version"] != _VERSION:
            return ()
        return tuple(
            KeptLay(
                str(key),
                tuple(
                    None if spot is None else Lain(int(spot[0]), _move(*spot[1:])) for spot in spots
                ),
            )
            for key, spots in table["lays"].items()
        )
    except (ValueError, KeyError, TypeError, AttributeError, IndexError):
        return ()


def _move(a: float, b: float, c: float, d: float, e: float, f: float) -> Transform:
    return Transform(float(a), float(b), float(c), float(d), float(e), float(f))


def _numbers(move: Transform) -> tuple[float, ...]:
    return (move.a, move.b, move.c, move.d, move.e, move.f)
