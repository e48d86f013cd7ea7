"""The whole plan of a pack, as plan.json keeps it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from templater.model.curves import Point, Transform
from templater.model.ground import Ground, Side
from templater.model.lays import KeptLay
from templater.model.parts import CutPart, Pass, Placed, Walked
from templater.model.problems import Problems
from templater.model.sheets import Sheet
from templater.model.stones import PlacedStone, Setting, Size

PLAN_VERSION = 1
SWATCH_MM = 50.0
"""The side of a swatch: large enough to judge a stoning by, small enough to set in an evening."""


@dataclass(frozen=True, slots=True)
class ShoppingLine:
    """Stones to buy of one size, colour and finish.

    `count` are placed, `spare` are bought besides, and of these `kit` go into the repair kit;
    `gross` (of 144) are what remains to buy after `stock`. `packs` of `pack_of` stones and `cost`
    where the job gives a price, else None. `left` remain when `count` and `spare` are taken.
    `instead_of` names what these were substituted for. `care`: what this stone needs besides glue.
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
    kit: int = 0
    pack_of: int | None = None
    left: int = 0
    instead_of: tuple[str, ...] = ()
    care: str = ""


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


class TrayLine(NamedTuple):
    """How many stones of one size, colour and finish to lay out."""

    size: str
    colour: str
    finish: str
    stones: int


@dataclass(frozen=True, slots=True)
class Patch:
    """The stones set while one laying of glue stays open: `stones` are their ids, each in one patch.

    `number` counts the patches of a zone on a side from 1 in the order of work; `name` is unique.
    `side` is `centre` for a patch that lies on both sides of the fold or on it. `middle` is the
    mean place of its stones on the garment, `tray` what to lay out, largest size first.
    `after_sewing`: all its stones lie beside a seam and wait until that is sewn.
    """

    name: str
    zone: str
    piece: str
    side: Side
    number: int
    stones: tuple[str, ...]
    tray: tuple[TrayLine, ...]
    minutes: float
    middle: Point
    after_sewing: bool = False


class ClothSpot(NamedTuple):
    """Where a part lies on its cloth: the move from its reference, x across from the left edge (of
    doubled cloth the fold), y along. `doubled`: cut once through both layers, its twin with it.
    """

    part: str
    move: Transform
    doubled: bool = False


@dataclass(frozen=True, slots=True)
class ClothLine:
    """Cloth or web to buy. `area_mm2` is that of the parts; `length_mm` is what they take of cloth
    `width_mm` wide: as they were laid on it if `laid`, else an estimate; `longest_mm` the longest
    part along the grain. `folded`: pairs were laid once, on the cloth doubled. `spots`: where the
    parts lie if `laid`, the right side of the cloth up; what is cut double comes first, and
    `doubled_mm` of the length is for that.
    """

    fabric: str
    is_web: bool
    parts: int
    area_mm2: float
    width_mm: float
    length_mm: float
    longest_mm: float
    laid: bool = False
    folded: bool = False
    spots: tuple[ClothSpot, ...] = ()
    doubled_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class Counts:
    """The numbers: what to buy, how long it takes, what it weighs, what it costs (None: not priced).

    `glue_ml` for all stones, none wasted in it; `stencil_sheets` and of these `film_sheets`, cut
    from self-adhesive film. `open_minutes`: how long the glue stays open.
    """

    shopping: tuple[ShoppingLine, ...]
    zones: tuple[ZoneCount, ...]
    minutes: float
    mass_g: float
    cost: float | None
    currency: str
    patches: tuple[Patch, ...] = ()
    cloths: tuple[ClothLine, ...] = ()
    glue_ml: float = 0.0
    stencil_sheets: int = 0
    film_sheets: int = 0
    open_minutes: float = 0.0


@dataclass(frozen=True, slots=True)
class Rules:
    """What the checks must know of the job besides the plan's own values (mm).

    `calibrate`: by what the maker's printer has printed pages made larger, across and up.
    `hpgl_units_per_mm`: how many units of the maker's plotter make a millimetre. `clearances`:
    those of sizes, where one does not serve all. `kinds`: the templates made; `apart`: what stones
    of one pass share besides their size ("colour", "finish"). `roll_mm`: how wide a plotter's roll
    is, if sheets are printed on one too, and `roll_calibrate` its correction across and along.
    `gcode_unit`: the maker's control's word for millimetres.
    """

    tolerance_mm: float
    bridge_mm: float
    clearance_mm: float
    registration_mm: float
    kerf_mm: float
    formats: tuple[str, ...]
    display: str
    calibrate: tuple[float, float] = (1.0, 1.0)
    hpgl_units_per_mm: float = 40.0
    clearances: tuple[tuple[str, float], ...] = ()
    kinds: tuple[str, ...] = ("stencil", "prick", "punch")
    apart: tuple[str, ...] = ()
    gcode_unit: str = "G21"
    roll_mm: float | None = None
    roll_calibrate: tuple[float, float] = (1.0, 1.0)


@dataclass(frozen=True, slots=True)
class Plan:
    """Everything that was decided. Settings lie on the drawn reference, `stones` on the garment;
    `lays` stand in lay.json too, from which the next run takes them.

    `swatches`: each stoning set on a square of `SWATCH_MM`, its lower left corner at the origin;
    `zone` is the stoning's name. `walked`: every pair of edges that will be sewn together.
    """

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
    swatches: tuple[Setting, ...] = ()
    lays: tuple[KeptLay, ...] = ()
    walked: tuple[Walked, ...] = ()
