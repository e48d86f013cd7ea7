"""The whole plan of a pack, as plan.json keeps it."""

from __future__ import annotations

from dataclasses import dataclass

from templater.model.ground import Ground
from templater.model.parts import CutPart, Pass, Placed
from templater.model.problems import Problems
from templater.model.sheets import Sheet
from templater.model.stones import PlacedStone, Setting, Size

PLAN_VERSION = 1


@dataclass(frozen=True, slots=True)
class ShoppingLine:
    """Stones to buy of one size, colour and finish.

    `count` are placed, `spare` are bought besides; `gross` (of 144) are what remains to buy after
    `stock`. `packs` and `cost` where the job gives a price, else None.
    """

    size: str
    colour: str
    finish: str
    count: int
    spare: int
    gross: int
    stock: int = 0
    packs: int | None = None
    cost: float | None = None


@dataclass(frozen=True, slots=True)
class ZoneCount:
    """One zone's or row's totals over all sides.

    `patch_stones`: how many can be set while the glue of one patch stays open.
    """

    zone: str
    stones: int
    minutes: float
    mass_g: float
    patch_stones: int = 0


@dataclass(frozen=True, slots=True)
class Counts:
    """The numbers: what to buy, how long it takes, what it weighs, what it costs (None: not priced)."""

    shopping: tuple[ShoppingLine, ...]
    zones: tuple[ZoneCount, ...]
    minutes: float
    mass_g: float
    cost: float | None
    currency: str


@dataclass(frozen=True, slots=True)
class Rules:
    """What the checks must know of the job besides the plan's own values (mm).

    `calibrate`: by what the maker's printer has printed pages made larger, across and up.
    """

    tolerance_mm: float
    bridge_mm: float
    clearance_mm: float
    registration_mm: float
    kerf_mm: float
    formats: tuple[str, ...]
    display: str
    calibrate: tuple[float, float] = (1.0, 1.0)


@dataclass(frozen=True, slots=True)
class Plan:
    """Everything that was decided. Settings lie on the drawn reference, `stones` on the garment."""

    version: int
    job_hash: str
    name: str
    seed: int
    rules: Rules
    sizes: tuple[Size, ...]
    ground: Ground
    settings: tuple[Setting, ...]
    stones: tuple[PlacedStone, ...]
    parts: tuple[CutPart, ...]
    passes: tuple[Pass, ...]
    placed: tuple[Placed, ...]
    sheets: tuple[Sheet, ...]
    counts: Counts
    problems: Problems
