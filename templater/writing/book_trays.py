"""Tray letters: one for each kind of stone that is bought, the same on every page of the book."""

from __future__ import annotations

from dataclasses import dataclass

from templater.model.plan import Plan
from templater.model.stones import PlacedStone
from templater.writing.preview_marks import StoneKinds
from templater.writing.preview_stones import Facets

Key = tuple[str, str, str]
"""Size, colour, finish."""


@dataclass(frozen=True, slots=True)
class Tray:
    """One kind of stone: its letter, what it is, and how it looks lying along x."""

    letter: str
    size: str
    colour: str
    finish: str
    length_mm: float
    width_mm: float
    facets: Facets

    @property
    def words(self) -> str:
        return f"{self.size} {self.colour} {self.finish}"


def trays_of(plan: Plan) -> dict[Key, Tray]:
    """By size, colour and finish, in the order of the shopping list; others after it."""
    kinds = StoneKinds(plan)
    samples: dict[Key, PlacedStone] = {}
    for stone in plan.stones:
        samples.setdefault((stone.size, stone.colour, stone.finish), stone)
    bought = [(line.size, line.colour, line.finish) for line in plan.counts.shopping]
    order = [*(key for key in bought if key in samples), *sorted(samples.keys() - set(bought))]
    trays = {}
    for number, key in enumerate(order):
        sample = samples[key]._replace(turn_deg=0.0)
        trays[key] = Tray(
            tray_letter(number), *key, sample.length_mm, sample.width_mm, kinds.facets(sample)
        )
    return trays


def tray_letter(number: int) -> str:
    """0 is A, 25 is Z, 26 is AA."""
    letters = ""
    number += 1
    while number:
        number, last = divmod(number - 1, 26)
        letters = chr(ord("A") + last) + letters
    return letters
