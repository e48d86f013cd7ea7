"""Settings laid on the wearer's sides: left and right from one reference, the fold's own once."""

from __future__ import annotations

from collections.abc import Sequence

from templater.catalogue.sizes import find_size
from templater.geometry.flatten import flatten
from templater.model.curves import Area
from templater.model.ground import Fold, Ground, Side, SidePlacement
from templater.model.stones import PlacedStone, Setting, Stone
from templater.stoning.flat_bits import FLAT_MM

ON_FOLD_MM = 0.001
"""A stone this near a fold is centred on it: no other may be within its radius of it, and snapping
moves one by less.
"""


def place(settings: Sequence[Setting], ground: Ground) -> tuple[PlacedStone, ...]:
    """Every stone where it sits on the finished piece, side by side as `Surface.sides` has them.

    On one cloth joined at the fold a stone centred on it appears once, on side `centre`. Ids are
    name, number and side: "frond-0001-left".
    """
    stems = _stems(settings)
    placed: list[PlacedStone] = []
    for setting, stem in zip(settings, stems, strict=True):
        surface = ground.surface(setting.piece)
        fold = ground.piece(setting.piece).fold if surface.joined_at_fold else None
        digits = max(4, len(str(len(setting.stones))))
        later = set_after_sewing(setting, ground)
        for side in surface.sides:
            for number, stone in enumerate(setting.stones, start=1):
                centred = fold is not None and _from_fold(fold, stone) <= ON_FOLD_MM
                if centred and side is not surface.sides[0]:
                    continue
                where = SidePlacement(Side.CENTRE, side.transform) if centred else side
                name = f"{stem}-{number:0{digits}d}-{where.side.value}"
                set_later = number - 1 in later
                placed.append(_placed(stone, setting, where, name)._replace(after_sewing=set_later))
    return tuple(placed)


def set_after_sewing(setting: Setting, ground: Ground) -> frozenset[int]:
    """Which stones of a setting lie beside seams after whose sewing they are set."""
    keeps = [k for k in ground.keep_clear if k.later_mm > 0.0 and k.piece == setting.piece]
    if not keeps or not setting.stones:
        return frozenset()
    import numpy as np
    from shapely import distance, linestrings

    from templater.stoning.bodies import Body

    sizes = {name: find_size(name) for name in sorted({stone.size for stone in setting.stones})}
    bodies = [
        Body(stone.at, stone.turn_deg, size)
        for stone in setting.stones
        if (size := sizes[stone.size]) is not None
    ]
    shapes = np.array([body.shape for body in bodies])
    radii = np.array([body.radius_mm for body in bodies])
    near = np.zeros(len(bodies), dtype=bool)
    for keep in keeps:
        path = keep.shape.outline if isinstance(keep.shape, Area) else keep.shape
        points = flatten(path, FLAT_MM)
        line = linestrings((*points, points[0]) if path.closed else points)
        near |= distance(shapes, line) - radii < keep.later_mm
    return frozenset(np.flatnonzero(near).tolist())


def _is_round(stone: Stone) -> bool:
    size = find_size(stone.size)
    return size is not None and size.is_round


def _placed(stone: Stone, setting: Setting, side: SidePlacement, name: str) -> PlacedStone:
    x, y = side.transform.apply(stone.at)
    turn = 0.0 if _is_round(stone) else round(side.transform.turned(stone.turn_deg), 4) % 360.0
    return PlacedStone(
        id=name,
        zone=setting.zone,
        piece=setting.piece,
        side=side.side,
        x_mm=round(x, 4) + 0.0,
        y_mm=round(y, 4) + 0.0,
        turn_deg=turn + 0.0,
        size=stone.size,
        length_mm=stone.length_mm,
        width_mm=stone.width_mm,
        colour=stone.colour,
        finish=stone.finish,
        kind=stone.kind,
        gap_mm=stone.gap_mm,
    )


def _from_fold(fold: Fold, stone: Stone) -> float:
    (fx, fy), (ex, ey) = fold.start, fold.end
    length = ((ex - fx) ** 2 + (ey - fy) ** 2) ** 0.5
    return float(abs((ex - fx) * (stone.y_mm - fy) - (ey - fy) * (stone.x_mm - fx)) / length)


def _stems(settings: Sequence[Setting]) -> list[str]:
    """For each setting a name of its own, the zone's or row's where that is unique."""
    stems: list[str] = []
    for setting in settings:
        stem = "-".join(setting.zone.split()) or "zone"
        if stem in stems:
            stem = f"{stem}-{'-'.join(setting.piece.split())}"
        number, base = 2, stem
        while stem in stems:
            stem = f"{base}-{number}"
            number += 1
        stems.append(stem)
    return stems
