"""The figures of a setting: area, coverage, counts, smallest gap, largest bare circle, bound."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence

from templater.model.stones import Field, Figures, Size, Stone
from templater.stoning.bodies import Body


def figures(
    field: Field,
    stones: Sequence[Stone],
    sizes: Mapping[str, Size],
    *,
    on_fold: frozenset[int] = frozenset(),
    largest_bare_mm: float | None = None,
    bound: int | None = None,
) -> Figures:
    """The figures of a zone. Stones centred on the fold cover the drawn half with half of each."""
    covered = math.fsum(
        stone_area_mm2(sizes[stone.size]) * (0.5 if k in on_fold else 1.0)
        for k, stone in enumerate(stones)
    )
    return Figures(
        area_mm2=field.area_mm2,
        coverage=covered / field.area_mm2 if field.area_mm2 > 0.0 else 0.0,
        counts=counted(stones),
        smallest_gap_mm=smallest_gap(stones, sizes),
        largest_bare_mm=largest_bare_mm,
        bound=bound,
    )


def counted(stones: Sequence[Stone]) -> tuple[tuple[str, int], ...]:
    """Stones by size, largest number first."""
    counts = Counter(stone.size for stone in stones)
    return tuple(sorted(counts.items(), key=lambda item: (-item[1], item[0])))


def stone_area_mm2(size: Size) -> float:
    """The area a stone covers, by its true outline."""
    if size.is_round:
        return math.pi * size.width_mm * size.width_mm / 4.0
    from templater.geometry.measure import signed_path_area
    from templater.geometry.stone_shapes import stone_path

    return abs(signed_path_area(stone_path(size.shape, size.length_mm, size.width_mm)))


def smallest_gap(stones: Sequence[Stone], sizes: Mapping[str, Size]) -> float | None:
    """The smallest distance between two stones of one setting; None below two stones."""
    if len(stones) < 2:
        return None
    from shapely import STRtree
    from shapely import points as as_points

    bodies = [Body(stone.at, stone.turn_deg, sizes[stone.size]) for stone in stones]
    widest = max(body.size.length_mm for body in bodies)
    places = as_points([body.at for body in bodies])
    tree = STRtree(places)
    # Pairs farther apart than this guess beyond the widest stone cannot have a smaller gap.
    guess = 2.0 * min(stone.gap_mm for stone in stones) + 0.1
    while True:
        pairs = tree.query(places, predicate="dwithin", distance=widest + guess)
        gaps = [
            bodies[i].gap_to(bodies[j])
            for i, j in zip(pairs[0].tolist(), pairs[1].tolist(), strict=True)
            if i < j
        ]
        if gaps and min(gaps) <= guess:
            return float(min(gaps))
        guess *= 2.0
