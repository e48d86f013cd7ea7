"""Which sides a part is cut for, and what is on both halves of one that is opened at the fold."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

from templater.applique.even import evened
from templater.applique.matching import Match
from templater.applique.unfold import EdgeRing, ring_path, touches_fold, unfolded
from templater.model.curves import Area, Point
from templater.model.ground import Fold, Ground, Make, Notch, Piece, Side, SidePlacement

_Placed = TypeVar("_Placed", Match, Notch)


@dataclass(frozen=True, slots=True)
class Opened:
    """Rings as they are cut, and the sides they are cut for. `fold`: what they were opened about,
    None if they are as drawn; `drawn` are the rings before that.
    """

    drawn: tuple[EdgeRing, ...]
    rings: tuple[EdgeRing, ...]
    sides: tuple[SidePlacement, ...]
    fold: Fold | None

    def even(self, area: Area) -> Area:
        """A line worked out on the opened rings, made its own mirror image exactly."""
        if self.fold is None:
            return area
        return evened(area, self.fold, ring_path(self.drawn[0]))

    def matches(self, found: Sequence[Match]) -> tuple[Match, ...]:
        """Places of the drawn half, and their mirror images on the other."""
        return (*found, *(replace(each, at=at) for each, at in self._mirrored(found)))

    def notches(self, found: Sequence[Notch]) -> tuple[Notch, ...]:
        return (*found, *(replace(each, at=at) for each, at in self._mirrored(found)))

    def points(self, found: Sequence[Point]) -> tuple[Point, ...]:
        move = None if self.fold is None else self.fold.mirror.apply
        return (*found, *(move(at) for at in found)) if move else tuple(found)

    def _mirrored(self, found: Sequence[_Placed]) -> list[tuple[_Placed, Point]]:
        if self.fold is None:
            return []
        move = self.fold.mirror.apply
        return [(each, move(each.at)) for each in found]


def opened(ground: Ground, piece: Piece, rings: Sequence[EdgeRing]) -> Opened:
    """What touches the fold of a piece cut on the fold is one part over both sides."""
    surface, drawn = ground.surface(piece.name), tuple(rings)
    if piece.make is Make.FOLD and piece.fold is not None and touches_fold(rings):
        side = next((each for each in surface.sides if each.side is piece.drawn), surface.sides[0])
        centre = (SidePlacement(Side.CENTRE, side.transform),)
        return Opened(drawn, unfolded(rings, piece.fold), centre, piece.fold)
    return Opened(drawn, drawn, surface.sides, None)
