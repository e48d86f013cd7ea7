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
    """Stones to buy of one size, colour and finish. `gross` is whole gross, spare included."""

    size: str
    colour: str
    finish: str
    count: int
    spare: int
    gross: int


@dataclass(frozen=True, slots=True)
class ZoneCount:
    """One zone's or row's totals over all sides: stones, minutes of setting, mass in grams."""

    zone: str
    stones: int
    minutes: float
    mass_g: float


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
    """What the checks must know of the job besides the plan's own values (mm)."""

    tolerance_mm: float
    bridge_mm: float
    clearance_mm: float
    registration_mm: float
    kerf_mm: float
    formats: tuple[str, ...]
    display: str


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
