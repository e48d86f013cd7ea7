"""What is cut: appliqué parts, holes in passes, and where each lies on a sheet."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import NamedTuple

from templater.model.curves import Area, Path, Point, Transform
from templater.model.ground import Side


class PartKind(StrEnum):
    APPLIQUE = "applique"
    WEB = "web"
    PIECE = "piece"


class MarkKind(StrEnum):
    NOTCH = "notch"
    MATCH = "match"
    REGISTER = "register"
    DRILL = "drill"
    CLIP = "clip"


class HoleKind(StrEnum):
    STENCIL = "stencil"
    PRICK = "prick"
    PUNCH = "punch"


@dataclass(frozen=True, slots=True)
class Mark:
    """A mark on a part. `number` is shared by the marks that meet (0: none). `path` is its stroke.

    `drawn_at` is where it lies on the drawn reference, if a dart that is closed in the part has
    moved it. `dart` names the dart across which it meets the mark on the other leg.
    """

    kind: MarkKind
    at: Point
    number: int = 0
    path: Path | None = None
    drawn_at: Point | None = None
    dart: str = ""


@dataclass(frozen=True, slots=True)
class Half:
    """What of a part lies on one side of its closed darts: a region of its zone as drawn, and the
    move that lays it into the part.
    """

    region: int
    to_part: Transform


@dataclass(frozen=True, slots=True)
class Label:
    """Lines of text centred at a point; `leader` is where a leader line points if the text lies outside."""

    lines: tuple[str, ...]
    at: Point
    height_mm: float
    turn_deg: float = 0.0
    leader: Point | None = None


@dataclass(frozen=True, slots=True)
class EdgeMeasure:
    """Where a point lies from a named finished edge, as a tape measure finds it.

    `along_mm` runs along the edge from `from_at`, one of its ends, to `foot`; from there it is
    `square_mm` square to the edge. Beyond an end the edge is taken to run straight on, and
    `along_mm` is then below 0 or above the edge's length. What of the edge lies within darts is
    left out of `along_mm`: it is folded away when the garment is measured.
    """

    edge: str
    along_mm: float
    square_mm: float
    foot: Point
    from_at: Point


@dataclass(frozen=True, slots=True)
class PlacementPoint:
    """A point of an appliqué by which it is pinned, on the drawn reference.

    `name` is "tip" for the first, then "B", "C" and so on; `measures` are from the nearest edges,
    the nearest first.
    """

    piece: str
    zone: str
    region: int
    name: str
    at: Point
    measures: tuple[EdgeMeasure, ...]


@dataclass(frozen=True, slots=True)
class CutPart:
    """One part as the shears follow it, in the drawn reference's frame.

    `cut`: the cut line, allowances included. `finished`: the line it is sewn or stoned to.
    `side` and `to_side` say which of the wearer's sides it is for and how the reference lies
    there. `reversed`: traced face down (web). `grain_deg`: direction of the grain in the
    reference, None for no grain. `copies`: how many to cut of this part. `placing`: the points by
    which an appliqué is pinned; of one over both sides those of its drawn half. `halves`: what of
    the drawn reference a part with closed darts was joined of (of one over both sides the drawn
    half's); the first lies as it was drawn. Empty: the part lies as it was drawn.
    """

    id: str
    kind: PartKind
    piece: str
    zone: str
    region: int
    side: Side
    to_side: Transform
    cut: Area
    finished: Area
    marks: tuple[Mark, ...]
    label: Label
    fabric: str
    copies: int
    reversed: bool
    grain_deg: float | None
    placing: tuple[PlacementPoint, ...] = ()
    halves: tuple[Half, ...] = ()


class Hole(NamedTuple):
    """A hole in its sheet's frame. `punch_mm` is None where no owned punch serves.

    A shaped hole has `length_mm` other than `diameter_mm` (its width) and a `shape`.
    """

    order: int
    x_mm: float
    y_mm: float
    diameter_mm: float
    length_mm: float
    turn_deg: float
    shape: str
    punch_mm: float | None
    kind: HoleKind
    stone_id: str


@dataclass(frozen=True, slots=True)
class Pass:
    """One sheet of holes. `template` is the sheet's name (folder/stem, no ending).

    `to_sheet`: from the garment's frame (where stones.csv lies) to the sheet. `number` of `of`
    counts the passes of the same size, zone and side. `reversed`: seen from behind.
    `register` are its register marks, in the sheet's frame. `panel` is the letter of this part of
    a zone too large for one sheet, else empty. `least`: no parting into passes has fewer (0: unknown).
    `lot`: the colour and finish of its stones, as far as the job keeps those apart. `clearance_mm`
    is the largest of its sizes'.
    """

    template: str
    kind: HoleKind
    zone: str
    piece: str
    side: Side
    sizes: tuple[str, ...]
    number: int
    of: int
    method: str
    bridge_mm: float
    clearance_mm: float
    size_mm: tuple[float, float]
    to_sheet: Transform
    reversed: bool
    register: tuple[Point, ...]
    holes: tuple[Hole, ...]
    panel: str = ""
    least: int = 0
    lot: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Placed:
    """A part on a sheet: reference + transform, never a redrawn copy. `sheet` is the sheet's name."""

    part: str
    sheet: str
    transform: Transform


@dataclass(frozen=True, slots=True)
class Walked:
    """Two edges that will meet, length against length. `first` and `second` say which in words.

    Most of a difference arises on the first between `from_mm` and `to_mm` from its start. `kind`:
    "shared edge", "seam", "at the fold" (an edge and its mirror image), "sides" (left and right of a
    piece drawn whole) or "dart legs".
    """

    first: str
    second: str
    first_mm: float
    second_mm: float
    from_mm: float
    to_mm: float
    at: Point
    kind: str = ""
