"""Glue patches: what of a zone is set while one laying of glue stays open, in the order of work."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Mapping, Sequence

from templater.counting.neighbours import neighbour_graph, parts_of
from templater.counting.splitting import split
from templater.model.curves import Point
from templater.model.ground import Side
from templater.model.plan import Patch, TrayLine
from templater.model.stones import PlacedStone, Size

Stones = Sequence[PlacedStone]
Groups = list[list[PlacedStone]]


def make_patches(
    stones: Stones,
    sizes: Mapping[str, Size],
    limits: Mapping[str, int],
    minutes: Callable[[PlacedStone], float],
) -> tuple[Patch, ...]:
    """The patches of every zone, side by side. `limits` holds the most stones of a patch by zone.

    The right side's patches are the left's mirrored. Stones on the fold belong to the left's,
    or have patches of their own where that makes too many; a zone on the fold small enough is one.
    Stones that are set when the seams are sewn have patches of their own, after all others.
    """
    zones: dict[tuple[bool, str, str], list[PlacedStone]] = {}
    for stone in sorted(stones, key=lambda stone: stone.after_sewing):
        zones.setdefault((stone.after_sewing, stone.zone, stone.piece), []).append(stone)
    pieces: dict[str, list[PlacedStone]] = {}
    for stone in stones:
        pieces.setdefault(stone.piece, []).append(stone)
    middles = {name: _mean([(s.x_mm, s.y_mm) for s in here])[0] for name, here in pieces.items()}
    shared = Counter(zone for zone, _ in {(zone, piece) for _, zone, piece in zones})
    before: Counter[tuple[str, str, Side]] = Counter()
    patches: list[Patch] = []
    for (later, zone, piece), here in zones.items():
        stem = zone if shared[zone] == 1 else f"{zone}-{piece}"
        for side, groups in _sides(here, limits[zone]).items():
            ordered = _in_order(groups, middles[piece])
            first = before[zone, piece, side] + 1
            before[zone, piece, side] += len(ordered)
            for number, group in enumerate(ordered, start=first):
                patches.append(
                    Patch(
                        name=f"{'-'.join(stem.split())}-{side.value}-{number}",
                        zone=zone,
                        piece=piece,
                        side=side,
                        number=number,
                        stones=tuple(stone.id for stone in group),
                        tray=tray_of(group, sizes),
                        minutes=round(sum(minutes(stone) for stone in group), 1),
                        middle=_mean([(s.x_mm, s.y_mm) for s in group]),
                        after_sewing=later,
                    )
                )
    return tuple(patches)


def tray_of(stones: Stones, sizes: Mapping[str, Size]) -> tuple[TrayLine, ...]:
    """What to lay out, largest size first, then by name."""
    counts = Counter((stone.size, stone.colour, stone.finish) for stone in stones)
    keys = sorted(counts, key=lambda key: (-sizes[key[0]].length_mm, key))
    return tuple(TrayLine(*key, counts[key]) for key in keys)


def _sides(stones: Stones, limit: int) -> dict[Side, Groups]:
    by_side: dict[Side, list[PlacedStone]] = {}
    for stone in stones:
        by_side.setdefault(stone.side, []).append(stone)
    centre = by_side.pop(Side.CENTRE, [])
    if centre and len(stones) <= limit:
        return {Side.CENTRE: [list(stones)]}
    apart = _mirrored(by_side, limit) or {}
    if not centre:
        return apart
    apart = {**apart, Side.CENTRE: _split(centre, limit)}
    if not by_side:
        return apart
    first = next(iter(by_side))
    together = _mirrored({**by_side, first: [*by_side[first], *centre]}, limit)
    most = max(1.15 * math.ceil(len(stones) / limit), _patch_count(apart))
    return apart if together is None or _patch_count(together) > most else together


def _patch_count(sides: Mapping[Side, Groups]) -> int:
    return sum(len(groups) for groups in sides.values())


def _mirrored(by_side: Mapping[Side, list[PlacedStone]], limit: int) -> dict[Side, Groups] | None:
    """The first side split, the others likewise, stone for stone; None if a patch of theirs that
    lacks the fold's stones would fall apart.
    """
    if not by_side:
        return {}
    (first, stones), *others = by_side.items()
    found = {first: _split(stones, limit)}
    links = neighbour_graph([(stone.x_mm, stone.y_mm) for stone in stones])
    number = {_stem(stone): at for at, stone in enumerate(stones)}
    for side, twins in others:
        twin = {_stem(stone): stone for stone in twins}
        if not twin.keys() <= number.keys():
            found[side] = _split(twins, limit)
            continue
        groups = [[s for s in group if _stem(s) in twin] for group in found[first]]
        groups = [group for group in groups if group]
        if any(len(parts_of([number[_stem(s)] for s in group], links)) > 1 for group in groups):
            return None
        found[side] = [[twin[_stem(s)] for s in group] for group in groups]
    return found


def _stem(stone: PlacedStone) -> str:
    return stone.id.removesuffix(f"-{stone.side.value}")


def _split(stones: Stones, limit: int) -> Groups:
    points = [(stone.x_mm, stone.y_mm) for stone in stones]
    return [[stones[i] for i in group] for group in split(points, limit)]


def _in_order(groups: Groups, middle_x: float) -> Groups:
    """From the top down in bands as high as a patch, in each from the garment's middle outwards:
    the hand rests below and outside of what is still wet.
    """
    if not groups:
        return []
    heights = sorted(max(s.y_mm for s in g) - min(s.y_mm for s in g) for g in groups)
    band = max(heights[len(heights) // 2], 1.0)
    means = [_mean([(s.x_mm, s.y_mm) for s in group]) for group in groups]
    top = max(y for _, y in means)

    def place(at: int) -> tuple[int, float, float, float]:
        x, y = means[at]
        return (int((top - y) / band), round(abs(x - middle_x), 3), -y, x)

    return [groups[at] for at in sorted(range(len(groups)), key=place)]


def _mean(points: Sequence[Point]) -> Point:
    n = len(points)
    return (
        round(math.fsum(x for x, _ in points) / n, 4) + 0.0,
        round(math.fsum(y for _, y in points) / n, 4) + 0.0,
    )
