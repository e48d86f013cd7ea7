"""The search for the best angle and offset of regular rows: what staggered and square share."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, NamedTuple

from templater.geometry.rng import Rng
from templater.model.stones import Field

if TYPE_CHECKING:
    from templater.geometry.kernels.room import Space, Stones

_LOOKS = 1_000_000
"""Points looked at in one search; a small zone affords more trials than a large one."""
_UP = 1e-4


class Rows(NamedTuple):
    """A lattice: two steps and a start, mm."""

    ax: float
    ay: float
    bx: float
    by: float
    ox: float
    oy: float


def _up(value: float) -> float:
    """To the next multiple of 0.0001 mm."""
    return math.ceil(value / _UP - 1e-6) * _UP


def steps(pitch_mm: float, turn_deg: float, *, staggered: bool) -> tuple[float, ...]:
    """Both steps of a lattice whose rows run at `turn_deg`, stones `pitch_mm` apart once snapped.

    Along an axis the pitch is kept to the tenth of a micron; askew it grows by two of them.
    """
    quarter, rest = divmod(turn_deg % 180.0, 90.0)
    if rest == 0.0:
        pitch = _up(pitch_mm)
        aside = _up(pitch / 2.0) if staggered else 0.0
        # The shorter of the two halves decides how far up the next row has to be.
        half = min(aside, pitch - aside)
        rise = _up(math.sqrt(pitch * pitch - half * half)) if staggered else pitch
        return (pitch, 0.0, aside, rise) if quarter == 0.0 else (0.0, pitch, rise, aside)
    pitch = pitch_mm + 1.5e-4
    turn = math.radians(turn_deg)
    other = turn + math.radians(60.0 if staggered else 90.0)
    return (
        pitch * math.cos(turn),
        pitch * math.sin(turn),
        pitch * math.cos(other),
        pitch * math.sin(other),
    )


def best_rows(
    space: Space,
    stones: Stones,
    field: Field,
    turns_deg: Sequence[float] | None,
    *,
    staggered: bool,
    size: int,
) -> Rows:
    """The lattice that takes most stones, over offsets and (without `turns_deg`) over angles.

    On a field with a fold only lattices that are their own mirror image count, so that rows run
    on across it: along the fold or square to it, a row of stones centred on it. The search is the
    same for every seed.
    """
    from templater.geometry.kernels.lattice import lay_lattice

    rng = Rng("rows")
    pitch = 2.0 * space.grown[size]
    per_look = _points(space, pitch)
    trials = max(24, min(1500, int(_LOOKS / max(per_look, 1.0))))
    period = 60.0 if staggered else 90.0
    best, most = Rows(pitch, 0.0, 0.0, pitch, 0.0, 0.0), -1

    def look(turn: float, u: float, v: float) -> int:
        nonlocal best, most
        ax, ay, bx, by = steps(pitch, turn, staggered=staggered)
        ox, oy = _start(field, space, (ax, ay, bx, by), u, v, turn)
        rows = Rows(ax, ay, bx, by, ox, oy)
        count = lay_lattice(space, stones, *rows, size, False)
        if count > most:
            best, most = rows, count
        return count

    if field.fold is not None:
        turns_deg = mirrored_turns(field, turns_deg)
    ranked = []
    for trial in range(trials):
        if trial == 1 and turns_deg is None:
            ranked.append((-look(90.0, 0.0, 0.0), 90.0, 0.0, 0.0))
            continue
        if turns_deg is None:
            turn = 0.0 if trial % 8 == 0 else period * rng.uniform()
            turn = period / 2.0 if trial % 8 == 4 else turn
        else:
            turn = turns_deg[trial % len(turns_deg)]
        u, v = (0.0, 0.0) if trial == 0 else (rng.uniform(), rng.uniform())
        ranked.append((-look(turn, u, v), turn, u, v))
    ranked.sort()
    for _, turn, u, v in ranked[: max(1, trials // 40)]:
        at, reach = (turn, u, v), 0.25
        count = look(*at)
        for _ in range(8):
            new_turn = (
                at[0] if turns_deg is not None else at[0] + 8.0 * reach * (rng.uniform() - 0.5)
            )
            trial_at = (
                new_turn if at[0] not in {0.0, 30.0} or rng.uniform() < 0.5 else at[0],
                (at[1] + reach * (rng.uniform() - 0.5)) % 1.0,
                (at[2] + reach * (rng.uniform() - 0.5)) % 1.0,
            )
            found = look(*trial_at)
            if found >= count:
                at, count = trial_at, found
            else:
                reach *= 0.7
    return _centred(space, stones, field, best, most, size)


def _centred(space: Space, stones: Stones, field: Field, rows: Rows, count: int, size: int) -> Rows:
    """The lattice moved to the middle of where it takes as many stones, so that what it leaves bare
    at one side of the zone it leaves at the other. With a fold it moves along that alone.
    """
    from templater.geometry.kernels.lattice import lay_lattice

    pitch = math.hypot(rows.ax, rows.ay)
    ux, uy = rows.ax / pitch, rows.ay / pitch
    ways = [(ux, uy), (-uy, ux)] if field.fold is None else [(space.fold_dx, space.fold_dy)]
    step = pitch / 16.0

    def moved(way: tuple[float, float], by: float) -> Rows:
        return rows._replace(
            ox=round(rows.ox + by * way[0], 4) + 0.0, oy=round(rows.oy + by * way[1], 4) + 0.0
        )

    def holds(way: tuple[float, float], by: float) -> bool:
        return lay_lattice(space, stones, *moved(way, by), size, False) >= count

    for way in ways * 2:
        ends = []
        for sign in (-1.0, 1.0):
            good = 0.0
            while good < pitch / 2.0 and holds(way, sign * (good + step)):
                good += step
            bad = good + step
            for _ in range(5):
                middle = (good + bad) / 2.0
                good, bad = (middle, bad) if holds(way, sign * middle) else (good, middle)
            ends.append(sign * good)
        if holds(way, sum(ends) / 2.0):
            rows = moved(way, sum(ends) / 2.0)
    return rows


def mirrored_turns(field: Field, turns_deg: Sequence[float] | None) -> tuple[float, ...]:
    """Along the fold and square to it; of wanted angles the one of these that is nearest."""
    if field.fold is None:
        return tuple(turns_deg or (0.0,))
    (x0, y0), (x1, y1) = field.fold.start, field.fold.end
    along = math.degrees(math.atan2(y1 - y0, x1 - x0)) % 180.0
    choices = (along, (along + 90.0) % 180.0)
    if turns_deg is None:
        return choices
    return tuple(
        min(choices, key=lambda c: abs((c - turn + 90.0) % 180.0 - 90.0)) for turn in turns_deg
    )


def _points(space: Space, pitch: float) -> float:
    return space.fine_nx * space.fine_ny * space.fine * space.fine / (pitch * pitch)


def _start(
    field: Field, space: Space, step: tuple[float, ...], u: float, v: float, turn: float
) -> tuple[float, float]:
    """Where the lattice starts: anywhere in its cell, or on the fold with a point at offset u.

    Turned to an axis, starts are multiples of 0.0001, so that snapping leaves the pitch alone.
    """
    ax, ay, bx, by = step
    if field.fold is None:
        x = space.fine_x + u * ax + v * bx
        y = space.fine_y + u * ay + v * by
    else:
        fx, fy = field.fold.start
        pitch = math.hypot(ax, ay)
        turn_fold = math.atan2(space.fold_dy, space.fold_dx)
        aside = abs(math.sin(turn_fold - math.radians(turn)))
        move = u * (pitch if aside < 0.5 else 2.0 * math.sqrt(0.75) * pitch)
        x, y = fx + move * space.fold_dx, fy + move * space.fold_dy
    if turn % 90.0 != 0.0:
        return x, y
    if field.fold is None and field.walls and u == v == 0.0:
        # Snug in the lower left corner: what fits exactly is not lost to chance.
        keep = float(space.radius[0]) + max(0.0, min(wall.clearance_mm for wall in field.walls))
        xs, ys = zip(*(point for ring in field.rings for point in ring), strict=True)
        x, y = min(xs) + keep, min(ys) + keep
    return _up(x), _up(y)
