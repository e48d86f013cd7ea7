"""What the drawing means: pieces, zones cut into edges, what to keep clear, and the wearer's sides."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from templater.model.curves import Area, Path, Point, Transform, mirror_about
from templater.model.problems import Source


class Make(StrEnum):
    PAIR = "pair"
    FOLD = "fold"
    SINGLE = "single"


class Side(StrEnum):
    """The wearer's side, seen on the body."""

    LEFT = "left"
    RIGHT = "right"
    CENTRE = "centre"
    SINGLE = "single"


class EdgeKind(StrEnum):
    FREE = "free"
    NEIGHBOUR = "neighbour"
    PIECE = "piece"
    SEAM = "seam"
    EDGE = "edge"
    FOLD = "fold"
    DART = "dart"


@dataclass(frozen=True, slots=True)
class Fold:
    """The mirror line of a piece, through two distinct points."""

    start: Point
    end: Point

    @property
    def mirror(self) -> Transform:
        return mirror_about(self.start, self.end)


@dataclass(frozen=True, slots=True)
class Edge:
    """A stretch of a ring, running with it (inside on the left); closed if it is the whole ring.

    `name` is the neighbour's zone, or the `edge`/`seam` line's or the dart's name, or empty.
    `allowance_mm` is cloth beyond this edge (an underlap where the zone goes beneath its
    neighbour). `visible` is false where the edge runs into a seam, lies on the piece's outline or on
    the fold, or meets the zone's other half across a dart. `border`: the row that runs along it and
    that this zone shares with its neighbour, or empty.
    """

    kind: EdgeKind
    path: Path
    name: str = ""
    allowance_mm: float = 0.0
    visible: bool = True
    border: str = ""


@dataclass(frozen=True, slots=True)
class Region:
    """One closed part of a zone. `rings[0]` are the outline's edges in order, the rest its holes'."""

    area: Area
    rings: tuple[tuple[Edge, ...], ...]


@dataclass(frozen=True, slots=True)
class Zone:
    """An area of one stoning. `level` counts from below (0) to above.

    `register` are the frame's mark centres in the drawing's frame: at least three, so placed that
    a turned or flipped sheet cannot match.
    """

    name: str
    piece: str
    regions: tuple[Region, ...]
    level: int
    register: tuple[Point, ...]
    source: Source


@dataclass(frozen=True, slots=True)
class Row:
    """A line to set stones along. `between`: the zones it lies between, the upper one last, if it is
    their common border and no row of the drawing.
    """

    name: str
    piece: str
    path: Path
    source: Source
    between: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class KeepClear:
    """No stone comes nearer than `reach_mm` to this area or line. `role`: clear, crease or seam.

    Stones nearer than `later_mm` are set after the seam is sewn.
    """

    role: str
    piece: str
    shape: Area | Path
    reach_mm: float
    source: Source
    later_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class Low:
    """Stones that touch this area are no higher than `height_mm`."""

    piece: str
    area: Area
    height_mm: float
    source: Source


@dataclass(frozen=True, slots=True)
class Reference:
    """A finished garment edge (`edge NAME`) that placement is measured from."""

    name: str
    piece: str
    path: Path
    source: Source


@dataclass(frozen=True, slots=True)
class SeamLine:
    """A line where another piece joins (`seam NAME`)."""

    name: str
    path: Path
    source: Source


@dataclass(frozen=True, slots=True)
class Dart:
    """A wedge to be closed: from the tip, a leg to either side. `name` is its own on its piece."""

    tip: Point
    left: Point
    right: Point
    source: Source
    name: str = ""


@dataclass(frozen=True, slots=True)
class Notch:
    at: Point
    source: Source


@dataclass(frozen=True, slots=True)
class Piece:
    """One pattern piece. `area` is None for zones that stand alone on the piece named `main`.

    `drawn_whole` is its outline as drawn, where both sides of its fold were and `area` is the one.
    """

    name: str
    area: Area | None
    make: Make
    drawn: Side
    outline_is: str
    allowance_mm: float
    rings: tuple[tuple[Edge, ...], ...]
    fold: Fold | None
    grain: tuple[Point, Point] | None
    seams: tuple[SeamLine, ...]
    creases: tuple[Path, ...]
    darts: tuple[Dart, ...]
    notches: tuple[Notch, ...]
    drills: tuple[Point, ...]
    source: Source | None
    drawn_whole: Path | None = None


@dataclass(frozen=True, slots=True)
class SidePlacement:
    """How the drawn reference lies on one of the wearer's sides."""

    side: Side
    transform: Transform


@dataclass(frozen=True, slots=True)
class Surface:
    """A piece as it is made up: its sides, and whether they are one cloth joined at the fold."""

    piece: str
    sides: tuple[SidePlacement, ...]
    joined_at_fold: bool


@dataclass(frozen=True, slots=True)
class Ground:
    """Everything later steps may know of the drawing. No later step interprets layers."""

    size_mm: tuple[float, float]
    pieces: tuple[Piece, ...]
    zones: tuple[Zone, ...]
    rows: tuple[Row, ...]
    surfaces: tuple[Surface, ...]
    keep_clear: tuple[KeepClear, ...]
    lows: tuple[Low, ...]
    references: tuple[Reference, ...]

    def piece(self, name: str) -> Piece:
        return next(piece for piece in self.pieces if piece.name == name)

    def zone(self, name: str) -> Zone:
        return next(zone for zone in self.zones if zone.name == name)

    def surface(self, piece: str) -> Surface:
        return next(surface for surface in self.surfaces if surface.piece == piece)
