"""The ground and the settings of the sound pack: two zones that meet, a row, a pair of sides."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import replace

from templater.model.curves import IDENTITY, Arc, Area, Line, Path, Transform
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
from templater.model.plan import Rules
from templater.model.problems import Source
from templater.model.stones import (
    Figures,
    Setting,
    Size,
    Stone,
    StoneKind,
    StoneShape,
)

SOURCE = Source("drawing.svg", "layer")
SS16 = Size("ss16", StoneShape.ROUND, 3.9, 3.9, 3.8, 4.0, 4.0, 1.7, "made up for tests")
NAVETTE = Size("navette 10x5", StoneShape.NAVETTE, 10.0, 5.0, 4.9, 10.1, 5.1, 3.0, "made up")
KINDS = ("stencil", "prick")
RULES = Rules(0.02, 1.0, 0.3, 0.2, 0.0, ("svg", "dxf", "pdf"), "mm", kinds=KINDS)
PITCH = 4.205  # 5 µm more than the stones and their gap: a missing one leaves room for one
FOLD = Fold((100.0, 0.0), (100.0, 80.0))


def box(x0, y0, x1, y1) -> Path:
    corners = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
    ends = corners[1:] + corners[:1]
    return Path(tuple(Line(a, b) for a, b in zip(corners, ends, strict=True)), closed=True)


def disc(x, y, r) -> Area:
    east, west = (x + r, y), (x - r, y)
    return Area(Path((Arc(east, west, 1.0), Arc(west, east, 1.0)), closed=True))


def zone(name, x0, x1, *, right=EdgeKind.FREE, left=EdgeKind.FREE, register=None) -> Zone:
    outline = box(x0, 10.0, x1, 50.0)
    kinds = [EdgeKind.FREE, right, EdgeKind.FREE, left]
    edges = tuple(
        Edge(kind, Path((segment,), closed=False))
        for kind, segment in zip(kinds, outline.segments, strict=True)
    )
    register = register or ((x0 - 3.0, 7.0), (x1 + 3.0, 7.0), (x0 - 3.0, 47.0))
    return Zone(name, "front", (Region(Area(outline), (edges,)),), 0, register, SOURCE)


def stone(x, y, size=SS16, turn=0.0, kind=StoneKind.FILL, gap=0.3, **more) -> Stone:
    values = {"colour": "navy", "finish": "plain", **more}
    return Stone(
        round(x, 4), round(y, 4), turn, size.name, size.length_mm, size.width_mm,
        values["colour"], values["finish"], kind, gap,
    )  # fmt: skip


def grid(x0, columns) -> tuple[Stone, ...]:
    """Stones 0.305 mm apart in a square grid, 0.2 mm from the left and lower edge of a zone."""
    return tuple(
        stone(x0 + 2.15 + PITCH * i, 12.15 + PITCH * j) for i in range(columns) for j in range(9)
    )


def setting(name, stones, *, maximal: str | None = "ss16") -> Setting:
    counts = tuple(sorted(Counter(s.size for s in stones).items()))
    figures = Figures(1600.0, 0.5, counts, 0.3, None)
    return Setting(name, "front", tuple(stones), figures, maximal, 0.2, 0.3)


def spine() -> Setting:
    row = [stone(x, 62.0, NAVETTE, 0.0, StoneKind.ROW, 0.5) for x in (20.0, 32.0, 44.0)]
    return setting("spine", row, maximal=None)


def settings() -> tuple[Setting, ...]:
    return (setting("leaf", grid(10.0, 9)), setting("tip", grid(50.0, 7)), spine())


def ground(make=Make.PAIR, **more) -> Ground:
    if make is Make.FOLD:
        zones = (zone("leaf", 60.0, 100.0, right=EdgeKind.FOLD),)
    else:
        zones = (
            zone("leaf", 10.0, 50.0, right=EdgeKind.NEIGHBOUR),
            zone("tip", 50.0, 80.0, left=EdgeKind.NEIGHBOUR),
        )
    piece = Piece(
        "front", Area(box(0.0, 0.0, 100.0, 80.0)), make, Side.LEFT, "seam", 10.0, (), FOLD,
        None, (), (), (), (), (), SOURCE,
    )  # fmt: skip
    sides = (SidePlacement(Side.LEFT, IDENTITY), SidePlacement(Side.RIGHT, FOLD.mirror))
    if make is Make.SINGLE:
        sides = (SidePlacement(Side.SINGLE, IDENTITY),)
    seam = Path((Line((95.0, 0.0), (95.0, 80.0)),), closed=False)
    keep_clear = (
        KeepClear("clear", "front", disc(90.0, 70.0, 3.0), 3.0, SOURCE),
        KeepClear("seam", "front", seam, 8.0, SOURCE),
    )
    lows = (Low("front", Area(box(10.0, 70.0, 20.0, 78.0)), 1.6, SOURCE),)
    values = {
        "zones": zones,
        "rows": (
            Row("spine", "front", Path((Line((15.0, 62.0), (60.0, 62.0)),), closed=False), SOURCE),
        ),
        "keep_clear": () if make is Make.FOLD else keep_clear,
        "lows": lows,
        **more,
    }
    return Ground(
        (200.0, 80.0), (piece,), values["zones"], values["rows"],
        (Surface("front", sides, make is Make.FOLD),), values["keep_clear"], values["lows"], (),
    )  # fmt: skip


def swap(values: tuple, index: int, **changes) -> tuple:
    """The values with one of them changed."""
    old = values[index]
    new = old._replace(**changes) if hasattr(old, "_replace") else replace(old, **changes)
    index %= len(values)
    return (*values[:index], new, *values[index + 1 :])


def without(values: tuple, index: int) -> tuple:
    return (*values[:index], *values[index + 1 :])


def rigid(turn_deg: float, x: float, y: float) -> Transform:
    turn = math.radians(turn_deg)
    return Transform(math.cos(turn), math.sin(turn), -math.sin(turn), math.cos(turn), x, y)
