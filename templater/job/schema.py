"""The job file's format, version 1: every key, its kind and its default.

Imported late (pydantic is heavy); attributes bear the names of the keys. Lengths are mm.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any, Literal, TypeVar

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, model_validator

from templater.catalogue.sizes import find_size, nearest_names
from templater.job.lengths import parse_length_mm
from templater.model.names import plain_name

AnyTable = TypeVar("AnyTable")


def _not_negative(value: float) -> float:
    if value < 0.0:
        raise ValueError("must not be below 0 mm")
    return value


def _positive(value: float) -> float:
    if value <= 0.0:
        raise ValueError("must be above 0 mm")
    return value


Length = Annotated[float, BeforeValidator(parse_length_mm)]
AtLeast0 = Annotated[float, BeforeValidator(parse_length_mm), AfterValidator(_not_negative)]
Above0 = Annotated[float, BeforeValidator(parse_length_mm), AfterValidator(_positive)]
Share = Annotated[float, Field(gt=0.0, allow_inf_nan=False)]
Factor = Annotated[float, Field(gt=0.5, lt=2.0)]
Rate = Annotated[float, Field(gt=0.0, allow_inf_nan=False)]
UnitsPerMm = Annotated[float, Field(ge=10.0, le=400.0, allow_inf_nan=False)]


class Table(BaseModel):
    """A table of the job file: frozen, and every key known."""

    model_config = ConfigDict(frozen=True, extra="forbid", protected_namespaces=())


class Measured(Table):
    """One length the maker measured on the garment, to which the drawing is scaled."""

    layer: str
    length: Above0


class Stretch(Table):
    """How far the cloth is stretched when worn, as a share of its length."""

    across: Annotated[float, Field(ge=0.0, le=2.0)] = 0.0
    along: Annotated[float, Field(ge=0.0, le=2.0)] = 0.0


class PieceTable(Table):
    make: Literal["pair", "fold", "single"] | None = None
    drawn: Literal["left", "right"] = "left"
    outline: Literal["seam", "cut"] = "seam"
    allowance: AtLeast0 = 10.0
    edges: dict[str, AtLeast0] = {}
    stretch: Stretch = Stretch()


class ZoneTable(Table):
    fabric: str = ""
    allowance: AtLeast0 = 0.0
    edges: dict[str, AtLeast0] = {}
    corner: Literal["mitre", "square", "bevel", "folded"] = "mitre"
    underlap: AtLeast0 = 5.0
    web: bool = True
    stoning: str | None = None


class OutlineTable(Table):
    size: str = "ss16"
    gap: AtLeast0 = 0.3
    rows: Annotated[int, Field(ge=1, le=20)] = 1
    along: Literal["visible", "all"] = "visible"
    border: Literal["own", "shared"] = "own"


_MIXED = {"ss20": 25.0, "ss16": 50.0, "ss12": 25.0}


class FillTable(BaseModel):
    """A fill: its style, the sizes with their shares, the gap; other keys are the style's own."""

    model_config = ConfigDict(frozen=True, extra="allow", protected_namespaces=())

    style: str = "packed"
    sizes: Annotated[dict[str, Share], Field(min_length=1)]
    gap: AtLeast0 = 0.3

    @model_validator(mode="before")
    @classmethod
    def _with_sizes(cls, value: object) -> object:
        """The sizes' default depends on the style: most styles set one size."""
        if not isinstance(value, dict) or "sizes" in value:
            return value
        packed = value.get("style", "packed") == "packed"
        return {**value, "sizes": dict(_MIXED) if packed else {"ss16": 1.0}}

    @property
    def parameters(self) -> dict[str, Any]:
        """The keys that belong to the style, checked against its own model when the job is read."""
        return dict(self.__pydantic_extra__ or {})


Shares = dict[str, Share]


def _as_shares(value: object) -> object:
    return {value: 1.0} if isinstance(value, str) else value


class StoningTable(Table):
    colour: Annotated[Shares, BeforeValidator(_as_shares), Field(min_length=1)] = {"crystal": 1.0}
    method: Literal["hand", "film", "tape"] = "hand"
    edge: AtLeast0 | None = None
    outline: OutlineTable | Literal[False] = OutlineTable()
    fill: FillTable = FillTable(sizes=_MIXED)
    finish: Annotated[Shares, BeforeValidator(_as_shares), Field(min_length=1)] = {"plain": 1.0}
    run: Annotated[int, Field(ge=1)] | None = None


Degrees = Annotated[float, Field(allow_inf_nan=False)]


class RowTable(Table):
    stone: str | Annotated[tuple[str, ...], Field(min_length=1)] = "navette 10x5"
    turn: Literal["along", "across"] | Degrees | tuple[Degrees, Degrees] = "along"
    gap: AtLeast0 | tuple[AtLeast0, AtLeast0] = 0.5
    colour: Annotated[Shares, BeforeValidator(_as_shares), Field(min_length=1)] = {"crystal": 1.0}
    finish: Annotated[Shares, BeforeValidator(_as_shares), Field(min_length=1)] = {"plain": 1.0}
    method: Literal["hand", "film", "tape"] = "hand"


class ClearTable(Table):
    margin: AtLeast0 = 3.0
    width: AtLeast0 = 6.0
    seam: AtLeast0 = 8.0
    after_sewing: bool = False


class LowTable(Table):
    height: AtLeast0 = 1.6


CLEARANCE_MM = 0.3
_OTHER = "other"


def _by_size(value: dict[str, float]) -> dict[str, float]:
    """The clearances under the catalogue's names of the sizes."""
    named: dict[str, float] = {}
    for key, clearance in value.items():
        size = find_size(key)
        if size is None and key != _OTHER:
            like = ", ".join(nearest_names(key)) or 'such as "ss16"'
            raise ValueError(f'there is no stone size "{key}" ({like}; "{_OTHER}" for all others)')
        named[_OTHER if size is None else size.name] = clearance
    return named


class StencilTable(Table):
    clearance: (
        AtLeast0 | Annotated[dict[str, AtLeast0], Field(min_length=1), AfterValidator(_by_size)]
    ) = CLEARANCE_MM
    bridge: AtLeast0 = 1.0
    thickness: AtLeast0 = 0.2
    registration: AtLeast0 = 0.2
    kerf: Length = 0.0
    apart: tuple[Literal["colour", "finish"], ...] = ()

    @property
    def least_bridge(self) -> float:
        """What is left between two holes at least: no less than the film is thick."""
        return max(self.bridge, self.thickness)

    def clearance_of(self, size: str) -> float:
        """What a hole for this size (or "other") is wider than its largest stone, mm."""
        if isinstance(self.clearance, dict):
            return self.clearance.get(size, self.clearance.get(_OTHER, CLEARANCE_MM))
        return self.clearance


class PaperRoll(Table):
    """A plotter's roll for printing: it has a margin and errors of its own."""

    width: Above0
    margin: AtLeast0 = 8.0
    calibrate: tuple[Factor, Factor] = (1.0, 1.0)


class PaperTable(Table):
    size: str | tuple[Above0, Above0] = "a4"
    margin: AtLeast0 = 8.0
    overlap: AtLeast0 = 10.0
    calibrate: tuple[Factor, Factor] = (1.0, 1.0)
    roll: PaperRoll | None = None


class ClothTable(Table):
    width: Above0 = 1400.0
    folded: bool = False


class Roll(Table):
    width: Above0


TemplateKind = Literal["stencil", "prick", "punch"]
Format = Literal["svg", "dxf", "pdf", "dxf-r12", "hpgl", "drill", "gcode", "xy"]


class TemplatesTable(Table):
    sheet: str | tuple[Above0, Above0] | Roll = "a4"
    kinds: tuple[TemplateKind, ...] = ("stencil", "prick", "punch")
    stencil: StencilTable = StencilTable()
    punches: tuple[Above0, ...] = (2.0, 2.5, 3.0, 3.5, 4.0, 4.5, 5.0, 5.5, 6.0)
    paper: PaperTable = PaperTable()
    cloth: ClothTable = ClothTable()
    lay: Literal["quick", "best"] = "quick"
    lay_seconds: Annotated[int, Field(ge=4, le=3600)] = 60
    formats: Annotated[tuple[Format, ...], Field(min_length=1)] = ("svg", "dxf", "pdf")
    hpgl_units_per_mm: UnitsPerMm = 40.0
    gcode_unit: Literal["G21", "G71"] = "G21"
    font: str | None = None


class SettingTable(Table):
    use: str | None = None
    locked: tuple[str, ...] = ()


class StonesPerHour(Table):
    outline: Rate = 300.0
    packed: Rate = 350.0
    open: Rate = 450.0
    film: Rate = 900.0
    tape: Rate = 1500.0


class RatesTable(Table):
    stones_per_hour: StonesPerHour = StonesPerHour()
    open_minutes: Rate = 6.0


class PackPrice(Table):
    """A pack as it is sold: so many stones for so much."""

    per: Annotated[int, Field(ge=1)]
    price: Annotated[float, Field(ge=0.0, allow_inf_nan=False)]


class PricesTable(Table):
    """`currency`, and for each stone ("ss16 sea green ab") the pack it is sold in."""

    currency: str = "EUR"
    packs: dict[str, PackPrice] = {}

    @model_validator(mode="before")
    @classmethod
    def _gather(cls, value: object) -> object:
        if not isinstance(value, dict) or "packs" in value:
            return value
        known = {"currency": value["currency"]} if "currency" in value else {}
        return {**known, "packs": {k: v for k, v in value.items() if k != "currency"}}


class Job(Table):
    """A whole job. `drawing` is the one key without a default."""

    job: Literal[1] = 1
    name: str = ""
    drawing: Annotated[str, Field(min_length=1)]
    unit: Literal["mm", "cm", "m", "in", "ft", "pt", "pc", "px", "px72", "px90"] | None = None
    measured: Measured | None = None
    size: str | None = None
    seed: Annotated[int, Field(ge=0, lt=2**63)] = 1
    tolerance: Above0 = 0.02
    display: Literal["mm", "in"] = "mm"
    order: tuple[str, ...] = ()
    overlap: Literal["refuse", "top"] = "refuse"
    layers: dict[str, str] = {}
    pieces: dict[str, PieceTable] = {}
    zones: dict[str, ZoneTable] = {}
    stoning: dict[str, StoningTable] = {}
    rows: dict[str, RowTable] = {}
    clear: ClearTable = ClearTable()
    low: LowTable = LowTable()
    templates: TemplatesTable = TemplatesTable()
    setting: SettingTable = SettingTable()
    rates: RatesTable = RatesTable()
    prices: PricesTable = PricesTable()
    stock: dict[str, Annotated[int, Field(ge=0)]] = {}
    substitute: dict[str, str] = {}

    def zone_table(self, zone: str) -> ZoneTable:
        """What the job says of a zone, or the defaults; like all these, however it is spelt."""
        return _named(self.zones, zone) or ZoneTable()

    def piece_table(self, piece: str) -> PieceTable:
        return _named(self.pieces, piece) or PieceTable()

    def row_table(self, row: str) -> RowTable:
        return _named(self.rows, row) or RowTable()

    def stoning_of(self, zone: str) -> StoningTable | None:
        """The stoning of a zone: the one it names, else the one of its own name, else None."""
        return _named(self.stoning, self.zone_table(zone).stoning or zone)


def _named(tables: Mapping[str, AnyTable], name: str) -> AnyTable | None:
    wanted = plain_name(name)
    return next((table for key, table in tables.items() if plain_name(key) == wanted), None)
