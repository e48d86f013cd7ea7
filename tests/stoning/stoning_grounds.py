"""Small grounds for stoning tests, and checks that share no code with what they check."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import combinations

from templater.geometry.moves import reversed_path
from templater.geometry.polygons import circle, polyline
from templater.model.curves import IDENTITY, Area, Path, Point, Ring
from templater.model.ground import (
    Edge,
    EdgeKind,
    Fold,
    Ground,
    KeepClear,
    Low,
    Make,
    Piece,
    Region,
    Row,
    Side,
    SidePlacement,
    Surface,
    Zone,
)
from templater.model.problems import Source

HERE = Source("test")
Kind = tuple[EdgeKind, bool]


def zone(
    outline: Path,
    holes: Sequence[Path] = (),
    *,
    name: str = "leaf",
    kinds: Sequence[Kind] | None = None,
) -> Zone:
    """A zone of one region; `kinds` gives each segment of its outline a kind and whether it shows."""
    if kinds is None:
        first = (Edge(EdgeKind.FREE, outline),)
    else:
        first = tuple(
            Edge(kind, Path((segment,), closed=False), visible=visible)
            for (kind, visible), segment in zip(kinds, outline.segments, strict=True)
        )
    around = tuple((Edge(EdgeKind.FREE, hole),) for hole in holes)
    return Zone(
        name, "front", (Region(Area(outline, tuple(holes)), (first, *around)),), 0, (), HERE
    )


def ground(
    *zones: Zone,
    make: Make = Make.SINGLE,
    fold: Fold | None = None,
    area: Area | None = None,
    keep_clear: Sequence[KeepClear] = (),
    lows: Sequence[Low] = (),
    rows: Sequence[Row] = (),
) -> Ground:
    sides: tuple[SidePlacement, ...] = (SidePlacement(Side.SINGLE, IDENTITY),)
    if make is not Make.SINGLE:
        assert fold is not None
        sides = (SidePlacement(Side.LEFT, IDENTITY), SidePlacement(Side.RIGHT, fold.mirror))
    piece = Piece(
        "front", area, make, Side.LEFT, "seam", 0.0, (), fold, None, (), (), (), (), (), None
    )
    return Ground(
        (500.0, 500.0),
        (piece,),
        tuple(zones),
        tuple(rows),
        (Surface("front", sides, make is Make.FOLD),),
        tuple(keep_clear),
        tuple(lows),
        (),
    )


def polygon(points: Sequence[Point]) -> Path:
    return polyline(list(points), closed=True)


def ring_hole(at: Point, diameter_mm: float) -> Path:
    return reversed_path(circle(at, diameter_mm))


def star(points: int, outer_mm: float, inner_mm: float) -> Path:
    return polygon(
        [
            (
                (outer_mm if k % 2 == 0 else inner_mm) * math.cos(math.pi * (0.5 + k / points)),
                (outer_mm if k % 2 == 0 else inner_mm) * math.sin(math.pi * (0.5 + k / points)),
            )
            for k in range(2 * points)
        ]
    )


def wedge(angle_deg: float, length_mm: float) -> Path:
    """A triangle with its tip at the origin, opening to the right."""
    half = math.radians(angle_deg / 2.0)
    reach = length_mm * math.tan(half)
    return polygon([(0.0, 0.0), (length_mm, -reach), (length_mm, reach)])


def from_line(at: Point, a: Point, b: Point) -> float:
    """Distance from a point to a straight bit, by projecting and trying both ends."""
    candidates = [math.dist(at, a), math.dist(at, b)]
    length = math.dist(a, b)
    if length > 0.0:
        ux, uy = (b[0] - a[0]) / length, (b[1] - a[1]) / length
        along = (at[0] - a[0]) * ux + (at[1] - a[1]) * uy
        if 0.0 < along < length:
            candidates.append(abs((at[0] - a[0]) * uy - (at[1] - a[1]) * ux))
    return min(candidates)


def from_ring(at: Point, ring: Ring) -> float:
    return min(from_line(at, a, b) for a, b in zip(ring, [*ring[1:], ring[0]], strict=True))


def winds(at: Point, ring: Ring) -> bool:
    """Whether a ring runs round a point: the sum of the angles under which its sides are seen."""
    total = 0.0
    for a, b in zip(ring, [*ring[1:], ring[0]], strict=True):
        one = math.atan2(a[1] - at[1], a[0] - at[0])
        other = math.atan2(b[1] - at[1], b[0] - at[0])
        total += math.remainder(other - one, 2.0 * math.pi)
    return abs(total) > math.pi


def closest_pair(discs: Sequence[tuple[float, float, float]]) -> float:
    """The smallest distance between the rims of any two discs (x, y, radius), all pairs tried."""
    return min(
        (math.dist(a[:2], b[:2]) - a[2] - b[2] for a, b in combinations(discs, 2)),
        default=math.inf,
    )
