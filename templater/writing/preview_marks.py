"""The plan's stones as kinds that look alike, so that each is drawn once and placed many times."""

from __future__ import annotations

from templater.model.plan import Plan
from templater.model.stones import PlacedStone, StoneShape
from templater.writing.preview_stones import Facets, stone_facets

Kind = tuple[str, float, str, str, float]
"""Size, length as drawn, colour, finish, turn in whole degrees (0 for rounds)."""


class StoneKinds:
    """How each stone of a plan looks. Finishes are numbered in alphabetical order, "plain" first."""

    def __init__(self, plan: Plan) -> None:
        self._shapes = {size.name: size.shape for size in plan.sizes}
        finishes = sorted({s.finish for s in plan.stones}, key=lambda f: (f != "plain", f))
        self._marks = {finish: number for number, finish in enumerate(finishes)}
        if finishes and finishes[0] != "plain":  # no plain ones: the first mark is left to them
            self._marks = {finish: number + 1 for finish, number in self._marks.items()}

    def mark(self, finish: str) -> int:
        return self._marks.get(finish, 0)

    def shape(self, size: str) -> StoneShape:
        return self._shapes.get(size, StoneShape.ROUND)

    def kind(self, stone: PlacedStone) -> Kind:
        turn = 0.0 if self.shape(stone.size) is StoneShape.ROUND else float(round(stone.turn_deg))
        return (stone.size, stone.length_mm, stone.colour, stone.finish, turn % 360.0)

    def facets(self, stone: PlacedStone) -> Facets:
        return stone_facets(
            self.shape(stone.size),
            stone.length_mm,
            stone.width_mm,
            self.kind(stone)[4],
            stone.colour,
            self.mark(stone.finish),
        )
