"""Corners of a row's line: where the tangent turns by 30° or more, and a stone goes exactly.

Imported late (numpy).
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from templater.geometry.chains import Chain, turns_deg
from templater.model.curves import Point, Ring

CORNER_DEG = 30.0
_SAME_MM = 0.02
"""Turns within this length of each other are one corner."""
_ALIKE_DEG = 10.0
_INTERLOCK = math.sqrt(3.0) / 2.0
_ROUNDED_DEG = 60.0
"""A rounded end counts as a corner where the line turns this much within half a pitch."""


class Corner(NamedTuple):
    """A corner at a distance along a chain; the turn in degrees, left (a tip of the zone) above 0."""

    along_mm: float
    turn_deg: float


def kinks(line: Chain, *, closed: bool) -> list[Corner]:
    """Corners where the line itself bends left at once: tips, ends of necks."""
    turns = turns_deg(line, closed)
    found: list[Corner] = []
    lengths = line.lengths
    k, count = 0, len(turns) - (1 if closed else 0)
    while k < count:
        if turns[k] <= 0.0:
            k += 1
            continue
        last, total, best = k, turns[k], k
        while last + 1 < count and lengths[last + 1] - lengths[k] <= _SAME_MM:
            last += 1
            total += turns[last]
            if turns[last] > turns[best]:
                best = last
        if total >= CORNER_DEG - 1e-6:
            found.append(Corner(lengths[best], total))
            k = last + 1
        else:
            k += 1
    return found


def blunt_merged(
    corners: Sequence[Corner], line: Chain, pitch_mm: float, *, closed: bool
) -> list[Corner]:
    """Two like corners too near each other for a stone each, made one between them.

    So a blunt tip and the end of a narrow strip stay as even as they were drawn. Beyond √3/2 of a
    pitch two rows interlock instead.
    """
    total = line.length_mm
    order = sorted(corners)
    pairs: list[tuple[float, int, int]] = []
    for k, corner in enumerate(order):
        after = (k + 1) % len(order)
        if after == k or (after == 0 and not closed):
            continue
        apart = (order[after].along_mm - corner.along_mm) % total
        alike = abs(order[after].turn_deg - corner.turn_deg) <= _ALIKE_DEG
        if alike and apart < _INTERLOCK * pitch_mm:
            pairs.append((apart, k, after))
    gone: set[int] = set()
    made: list[Corner] = []
    for apart, k, after in sorted(pairs):
        if k in gone or after in gone:
            continue
        gone |= {k, after}
        middle = order[k].along_mm + apart / 2.0
        made.append(
            Corner(middle % total if closed else middle, order[k].turn_deg + order[after].turn_deg)
        )
    return sorted([*made, *(c for k, c in enumerate(order) if k not in gone)])


def inner_corners(
    line: Ring, reaches: Sequence[float], *, closed: bool
) -> list[tuple[Point, float]]:
    """Where stones touch corners that stick into the zone: on the bisector, with the turn (below 0)."""
    count = len(line)
    found: list[tuple[Point, float]] = []
    for k in range(count) if closed else range(1, count - 1):
        a, b, c = line[k - 1], line[k], line[(k + 1) % count]
        before = math.atan2(b[1] - a[1], b[0] - a[0])
        turn = math.remainder(math.atan2(c[1] - b[1], c[0] - b[0]) - before, 2.0 * math.pi)
        if turn > -math.radians(CORNER_DEG) + 1e-9:
            continue
        reach = max(reaches[k - 1], reaches[k % len(reaches)])
        normal = before + math.pi / 2.0 + turn / 2.0
        found.append(
            ((b[0] + reach * math.cos(normal), b[1] + reach * math.sin(normal)), math.degrees(turn))
        )
    return found


def places_on(line: Chain, points: Sequence[Point], within_mm: float) -> list[float | None]:
    """For each point the distance along of the nearest place on a chain, if that near."""
    ends = np.array(line.points)
    start, along = ends[:-1], np.diff(ends, axis=0)
    squared = (along * along).sum(axis=1)
    squared[squared == 0.0] = 1.0
    lengths = np.array(line.lengths)
    found: list[float | None] = []
    for at in points:
        away = np.array(at) - start
        t = np.clip((away * along).sum(axis=1) / squared, 0.0, 1.0)
        apart = ((away - t[:, None] * along) ** 2).sum(axis=1)
        k = int(apart.argmin())
        place = float(lengths[k] + t[k] * (lengths[k + 1] - lengths[k]))
        found.append(place if apart[k] <= within_mm * within_mm else None)
    return found


def rounded_ends(line: Chain, pitch_mm: float, *, closed: bool) -> list[Corner]:
    """Where the line turns left sharply but smoothly: the middle of each such bend.

    A line that bends alike everywhere (a disc's) has none.
    """
    turns = turns_deg(line, closed)
    window = pitch_mm / 2.0
    total = line.length_mm
    average = 360.0 * window / total if closed and total > 0.0 else 0.0
    needed = max(_ROUNDED_DEG, 2.0 * average)
    count = len(turns) - (1 if closed else 0)
    lengths = line.lengths
    rounds = 2 if closed else 1
    stretched = [(lengths[k] + r * total, turns[k]) for r in range(rounds) for k in range(count)]
    bends: list[tuple[float, float]] = []
    first, turned = 0, 0.0
    for place, turn in stretched:
        turned += turn
        while place - stretched[first][0] > window:
            turned -= stretched[first][1]
            first += 1
        if turned >= needed:
            low = stretched[first][0]
            if bends and low <= bends[-1][1]:
                bends[-1] = (bends[-1][0], place)
            else:
                bends.append((low, place))
    found: list[Corner] = []
    at = [place for place, _ in stretched]
    for low, high in bends:
        inside = stretched[bisect_left(at, low) : bisect_right(at, high)]
        turned = math.fsum(turn for _, turn in inside)
        middle = math.fsum(place * turn for place, turn in inside) / turned
        along = middle % total if closed else min(max(middle, 0.0), total)
        if all(_apart(along, c.along_mm, total, closed) > pitch_mm for c in found):
            found.append(Corner(along, turned))
    return found


def _apart(one: float, other: float, total: float, closed: bool) -> float:
    straight = abs(one - other)
    return min(straight, total - straight) if closed else straight
