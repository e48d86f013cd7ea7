"""The best lay: a nesting library looks for it for a stated time. No two runs find the same.

The library (spyrrow) packs a strip of fixed width as short as it can. Sheets are wrapped round that: as
many as the quick lay takes, or one fewer if that succeeds; each is packed as a strip and kept if it
is no longer than the sheet. What it finds is looked at again with true outlines; where it fails or
finds nothing better, the quick lay stands. Imports spyrrow and shapely in functions.
"""

from __future__ import annotations

import importlib.util
import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from templater.geometry.polygons import OVERLAY_GRID_MM
from templater.geometry.rng import Rng
from templater.model.curves import Transform
from templater.sheets.lay import quick_lay
from templater.sheets.lay_shapes import TURNS, LayShape, Spot

if TYPE_CHECKING:
    from shapely import Polygon
    from shapely.geometry.base import BaseGeometry

_FLAT_MM = 0.05
_SNAP_MM = 1e-3
_LEAST_S = 2


def can_lay_best() -> bool:
    """Whether the nesting library is there."""
    return importlib.util.find_spec("spyrrow") is not None


def best_lay(
    shapes: Sequence[LayShape],
    width_mm: float,
    height_mm: float,
    spacing_mm: float,
    seconds: int,
) -> list[Spot | None]:
    """As `quick_lay`, and looked for for about that many seconds more. Not repeatable.

    Raises ImportError without spyrrow.
    """
    spots = quick_lay(shapes, width_mm, height_mm, spacing_mm)
    laid = [index for index, spot in enumerate(spots) if spot is not None]
    count = 1 + max((spot.sheet for spot in spots if spot is not None), default=-1)
    if not laid:
        return spots
    quick = [
        [i for i in laid if (s := spots[i]) is not None and s.sheet == n] for n in range(count)
    ]
    plans = [quick]
    area = sum(shapes[i].geometry.area for i in laid)
    if count > 1 and area <= (count - 1) * width_mm * height_mm:
        plans.insert(0, _shared_out(shapes, laid, count - 1))
    each = seconds / sum(len(plan) if len(plan) < count else 1 for plan in plans)
    for plan in plans:
        # Of as many sheets as the quick lay takes only the last gains by being shorter.
        asked = range(len(plan)) if len(plan) < count else [count - 1]
        found = {n: _strip(shapes, plan[n], width_mm, spacing_mm, each) for n in asked}
        tops = {n: _top(shapes, moves) for n, moves in found.items() if moves is not None}
        if len(tops) < len(found) or any(top > height_mm + _SNAP_MM for top in tops.values()):
            continue
        last = count - 1
        if len(plan) == count and tops[last] >= _quick_top(shapes, spots, last):
            continue
        for n, moves in found.items():
            for index, move in (moves or {}).items():
                spots[index] = Spot(n, move)
        return spots
    return spots


def _shared_out(shapes: Sequence[LayShape], members: Sequence[int], sheets: int) -> list[list[int]]:
    """Largest first, each to the sheet that has least so far."""
    shares: list[list[int]] = [[] for _ in range(sheets)]
    taken = [0.0] * sheets
    for index in sorted(members, key=lambda i: (-shapes[i].geometry.area, i)):
        least = taken.index(min(taken))
        shares[least].append(index)
        taken[least] += shapes[index].geometry.area
    return shares


def _outline(shape: LayShape, spacing_mm: float) -> Polygon:
    """One ring round the shape and half the spacing; of several parts the hull."""
    import shapely

    geometry = shape.geometry
    if geometry.geom_type != "Polygon":
        geometry = geometry.convex_hull
    if spacing_mm > 0.0:
        geometry = shapely.buffer(geometry, spacing_mm / 2.0 + _FLAT_MM, quad_segs=6)
        geometry = shapely.simplify(geometry, _FLAT_MM / 2.0)
    return shapely.Polygon(geometry.exterior)


def _strip(
    shapes: Sequence[LayShape],
    members: Sequence[int],
    width_mm: float,
    spacing_mm: float,
    seconds: float,
) -> dict[int, Transform] | None:
    """The members' moves in a strip that runs upwards from the origin, None if they do not hold."""
    import spyrrow
    from shapely.affinity import rotate

    across = width_mm + spacing_mm
    items = [
        spyrrow.Item(
            str(index),
            # The library's strip runs to the right, ours upwards: a quarter turn between them.
            list(
                rotate(
                    _outline(shapes[index], spacing_mm), -90.0, origin=(0.0, 0.0)
                ).exterior.coords
            ),
            1,
            [float(turn) for turn in shapes[index].turns_deg],
        )
        for index in members
    ]
    config = spyrrow.StripPackingConfig(
        early_termination=True,
        total_computation_time=max(_LEAST_S, math.floor(seconds)),
        seed=Rng("lay", len(members)).below(2**31),
    )
    try:
        solution = spyrrow.StripPackingInstance("lay", across, items).solve(config)
    except ValueError:
        return None
    moves = {}
    for item in solution.placed_items:
        turn = TURNS[round(item.rotation) % 360]
        along, up = item.translation
        x = round(across - up - spacing_mm / 2.0, 4)
        y = round(along - spacing_mm / 2.0, 4)
        moves[int(item.id)] = Transform(turn.a, turn.b, turn.c, turn.d, x, y)
    return moves if _holds(shapes, moves, width_mm, spacing_mm) else None


def _moved(shape: LayShape, move: Transform) -> BaseGeometry:
    from shapely.affinity import affine_transform

    return affine_transform(shape.geometry, (move.a, move.c, move.b, move.d, move.e, move.f))


def _holds(
    shapes: Sequence[LayShape], moves: dict[int, Transform], width_mm: float, spacing_mm: float
) -> bool:
    """Whether the true outlines lie in the strip and keep apart."""
    import shapely

    laid = [_moved(shapes[index], move) for index, move in sorted(moves.items())]
    for number, one in enumerate(laid):
        x0, y0, x1, _ = one.bounds
        if min(x0, y0, width_mm - x1) < -_SNAP_MM:
            return False
        others = laid[:number]
        if not others:
            continue
        if spacing_mm > 0.0:
            if shapely.distance(one, others).min() < spacing_mm - _SNAP_MM:
                return False
        elif (
            shapely.area(shapely.intersection(one, others, grid_size=OVERLAY_GRID_MM)).max()
            > _SNAP_MM
        ):
            return False
    return True


def _top(shapes: Sequence[LayShape], moves: dict[int, Transform]) -> float:
    return float(max(_moved(shapes[i], move).bounds[3] for i, move in moves.items()))


def _quick_top(shapes: Sequence[LayShape], spots: Sequence[Spot | None], sheet: int) -> float:
    own = {i: spot.move for i, spot in enumerate(spots) if spot is not None and spot.sheet == sheet}
    return _top(shapes, own)
