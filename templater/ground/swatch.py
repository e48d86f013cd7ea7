"""The ground of a swatch: a square of cloth with one zone, on which a stoning is tried."""

from __future__ import annotations

from templater.geometry.polygons import rectangle
from templater.model.curves import IDENTITY, Area, Path
from templater.model.ground import (
    Edge,
    EdgeKind,
    Ground,
    Make,
    Piece,
    Region,
    Side,
    SidePlacement,
    Surface,
    Zone,
)
from templater.model.problems import Source

SWATCH_PIECE = "swatch"


def swatch_ground(name: str, side_mm: float) -> tuple[Zone, Ground]:
    """A square zone of this name, its lower left corner at the origin, all its edges visible."""
    square = rectangle(0.0, 0.0, side_mm, side_mm)
    edges = tuple(Edge(EdgeKind.FREE, Path((one,), closed=False)) for one in square.segments)
    zone = Zone(
        name,
        SWATCH_PIECE,
        (Region(Area(square), (edges,)),),
        0,
        (),
        Source("", layer=f"swatch {name}"),
    )
    piece = Piece(
        name=SWATCH_PIECE,
        area=None,
        make=Make.SINGLE,
        drawn=Side.LEFT,
        outline_is="seam",
        allowance_mm=0.0,
        rings=(),
        fold=None,
        grain=None,
        seams=(),
        creases=(),
        darts=(),
        notches=(),
        drills=(),
        source=None,
    )
    surface = Surface(SWATCH_PIECE, (SidePlacement(Side.SINGLE, IDENTITY),), joined_at_fold=False)
    return zone, Ground((side_mm, side_mm), (piece,), (zone,), (), (surface,), (), (), ())
