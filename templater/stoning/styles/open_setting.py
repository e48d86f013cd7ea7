"""Open settings of a wanted density, even and random: what sprinkled and faded share."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from templater.geometry.rng import Rng
from templater.model.problems import Problem, Severity
from templater.model.stones import Field
from templater.stoning.styles.base import FillResult, Sizes, gathered, prepared

if TYPE_CHECKING:
    import numpy as np

    from templater.geometry.kernels.room import Space, Stones

HEX = math.pi / math.sqrt(12.0)
"""Density of the best packing of equal discs. Source: L. Fejes Tóth 1943."""
_EVEN = 0.8
"""How far claims reach, of the way they would reach in a lattice: the relative radius that comes
out. Source of the measure and of 0.65 to 0.85 as the good range: Lagae and Dutré, A comparison of
methods for generating Poisson disk distributions, Computer Graphics Forum 27, 2008."""
_NARROW = 0.95
"""How far they reach for a while where the gap leaves less than that: near a lattice, not in one."""
_ON_FOLD = 0.5
"""Steps along the fold, in lengths that a claim's breadth of the setting has one stone to."""
_LEAST_STEP = 0.6
"""The shortest of those steps, as a share of their mean: close enough to look as random as the rest."""
_BESIDE_FOLD = 1.4
"""How much more is thrown within two claims of the fold, since pushing drives some of it away."""
_FOLD_STEP_MM = 0.5
_ROUNDS = 60
_TIGHT_ROUNDS = 400
_NEAR_ENOUGH = 0.01

Array = Any


def ceiling(sizes: Sizes, gap_mm: float) -> float:
    """The coverage no setting can reach: 0.9069·(D/(D+g))² for one size, for a mix by its means.

    For a mix it is a guide: no proof is known. Raises ZeroDivisionError without shares.
    """
    total = sum(share for _, share in sizes)
    bare = sum(share * size.length_mm**2 for size, share in sizes) / total
    with_gap = sum(share * (size.length_mm + gap_mm) ** 2 for size, share in sizes) / total
    return HEX * bare / with_gap


def mean_area(sizes: Sizes) -> float:
    """The mean area of a stone of the assortment, mm²."""
    total = sum(share for _, share in sizes)
    return sum(share * math.pi * size.length_mm**2 / 4.0 for size, share in sizes) / total


def set_open(
    field: Field,
    sizes: Sizes,
    gap_mm: float,
    rng: Rng,
    count: int,
    density: Callable[[Array, Array], Array] | None = None,
    shares_at: Callable[[Array, Array], list[Array]] | None = None,
    *,
    by_area: bool = False,
) -> FillResult:
    """`count` stones, evenly and at random; `density` (numpy: x, y → relative density) bends it.

    `shares_at` gives for cells the relative chance of each size there; `by_area` says that the count
    was reckoned from an area to be covered. A warning tells when fewer stones found room.
    """
    import numpy as np

    from templater.geometry.kernels.compiled import (
        column,
        whole_column,
        wide_counters,
        zeros,
    )
    from templater.geometry.kernels.room import put, stands_free
    from templater.geometry.kernels.scatter import bare_cells, even_out, snap_all, throw
    from templater.geometry.kernels.space import roomier

    if count <= 0:
        return FillResult()
    real, start = prepared(field, sizes, gap_mm)
    cells = real.fine_nx * real.fine_ny
    rooms = zeros(cells)
    bare_cells(real, start, len(sizes) - 1, rooms)
    inside = np.flatnonzero(np.asarray(rooms) >= 0.0)
    if not len(inside):
        return FillResult(problems=(_short(field, count, 0),))
    x = real.fine_x + (inside % real.fine_nx + 0.5) * real.fine
    y = real.fine_y + (inside // real.fine_nx + 0.5) * real.fine
    weight = np.ones(len(inside)) if density is None else np.maximum(density(x, y), 0.0)
    cell_area = real.fine * real.fine
    per_area = weight * (count / (weight.sum() * cell_area))
    half = _half_gaps(sizes, per_area, gap_mm)

    loose = _loose(sizes, per_area, half)
    widest = 2.0 * float(np.quantile(loose, 0.98)) + 1e-6
    space, stones = prepared(field, sizes, max(widest, gap_mm), widest / 2.0 + 1.0)

    def over_cells(values: Array) -> Array:
        of_all = np.full(cells, gap_mm / 2.0)
        of_all[inside] = np.minimum(values, widest / 2.0)
        return column(of_all)

    half_gaps = over_cells(half)
    state = wide_counters(2)
    state[0], state[1] = rng.first, rng.second
    chances = [weight] * len(sizes) if shares_at is None else shares_at(x, y)
    on_fold = _along_fold(real, sizes, x, y, per_area, half, rng.child("fold"))[:count]
    stones = roomier(stones, int(stones.held[0]) + count + len(on_fold) + 1)
    for place_x, place_y, size in on_fold:
        if stands_free(real, start, place_x, place_y, size, True, -1):
            k = put(space, stones, place_x, place_y, size, 1)
            cell = _nearest(x, y, place_x, place_y)
            stones.grown[k] = sizes[size][0].length_mm / 2.0 + float(half[cell])
    landed = int(stones.held[0]) - int(stones.held[1])
    # Half of each stone on the fold lies on the other side of it.
    count += landed - landed // 2 if by_area else 0
    beside = _beside_fold(real, sizes, x, y, half)
    for size, amount in _amounts(sizes, count - landed, chances, weight):
        running = column(np.cumsum(chances[size] * (weight if shares_at else 1.0) * beside))
        throw(space, stones, half_gaps, whole_column(inside), running, size, amount, 12, state)
    dense = bool(np.median(half) < gap_mm / 2.0 + 0.02)
    if (loose > half).any():
        even_out(space, stones, over_cells(loose), _ROUNDS, 0.95)
    even_out(space, stones, half_gaps, _TIGHT_ROUNDS if dense else _ROUNDS, 0.95)
    snap_all(space, stones)
    result = _checked(field, sizes, gap_mm, stones, count, rng.child("elsewhere"))
    # A count is asked for to the stone, a coverage to one part in a hundred.
    enough = count if not by_area else (1.0 - _NEAR_ENOUGH) * count
    found = len(result.x_mm)
    return result if found >= enough else replace(result, problems=(_short(field, count, found),))


def _half_gaps(sizes: Sizes, per_area: np.ndarray[Any, Any], gap_mm: float) -> Array:
    """Half the gap each place asks for, and no less than the one that stones have to keep."""
    import numpy as np

    return np.maximum(_even_half_gaps(sizes, per_area, _EVEN), gap_mm / 2.0 + 1e-3)


def _loose(sizes: Sizes, per_area: np.ndarray[Any, Any], half: Array) -> Array:
    """Half gaps to even out with first: larger where the gap alone claims more than the even share.

    Claims of no more than the gap stop pushing as soon as it is kept: clumps of stones just as far
    apart as they must be, with bare places between.
    """
    import numpy as np

    narrow = half > _even_half_gaps(sizes, per_area, _EVEN)
    return np.where(narrow, np.maximum(_even_half_gaps(sizes, per_area, _NARROW), half), half)


def _even_half_gaps(sizes: Sizes, per_area: np.ndarray[Any, Any], radius: float) -> Array:
    """Half gaps of a relative radius, maybe negative: E[2√3·(r + h)²]·n = ρ², solved for h."""
    import numpy as np

    total = sum(share for _, share in sizes)
    mean = sum(share * size.length_mm / 2.0 for size, share in sizes) / total
    square = sum(share * size.length_mm**2 / 4.0 for size, share in sizes) / total
    wanted = radius**2 / (2.0 * math.sqrt(3.0) * np.maximum(per_area, 1e-12))
    under = np.maximum(mean * mean - square + wanted, 0.0)
    return np.sqrt(under) - mean


def _amounts(
    sizes: Sizes, count: int, chances: list[Array], weight: Array
) -> list[tuple[int, int]]:
    """How many of each size, biggest first, adding up to the count."""
    totals = [
        share * float((chance * weight).sum())
        for (_, share), chance in zip(sizes, chances, strict=True)
    ]
    whole = sum(totals)
    exact = [count * part / whole for part in totals]
    amounts = [int(part) for part in exact]
    for s in sorted(range(len(sizes)), key=lambda s: (amounts[s] - exact[s], s)):
        if sum(amounts) < count:
            amounts[s] += 1
    order = sorted(range(len(sizes)), key=lambda s: (-sizes[s][0].length_mm, s))
    return [(s, amounts[s]) for s in order]


def _along_fold(
    space: Space, sizes: Sizes, x: Array, y: Array, per_area: Array, half: Array, rng: Rng
) -> list[tuple[float, float, int]]:
    """Places centred on the fold, as many as lie on any line through the setting, at random steps.

    Without them the stones on either side would both keep off the fold: a bare stripe.
    """
    from templater.geometry.kernels.room import snapped

    places = []
    total = sum(share for _, share in sizes)
    mean = sum(share * size.length_mm for size, share in sizes) / total / 2.0
    widest = max(size.length_mm for size, _ in sizes)
    for start, end in zip(space.on_from, space.on_to, strict=True):
        # Counted out over the steps on the way, or a thin setting's long step would leap into a dense.
        t, left = start, rng.uniform() + 1e-9
        while t < end:
            at_x, at_y = space.fold_x + t * space.fold_dx, space.fold_y + t * space.fold_dy
            cell = _nearest(x, y, at_x, at_y)
            claim = mean + float(half[cell])
            step = max(_ON_FOLD / max(float(per_area[cell]) * claim, 1e-9), 2.0 * claim)
            left -= _FOLD_STEP_MM / step
            if left <= 0.0:
                least = max(_LEAST_STEP, widest / step)
                left += least + 2.0 * max(1.0 - least, 0.0) * rng.uniform()
                draw, size = rng.uniform() * total, 0
                while size < len(sizes) - 1 and draw > sizes[size][1]:
                    draw -= sizes[size][1]
                    size += 1
                places.append((snapped(at_x), snapped(at_y), size))
            t += _FOLD_STEP_MM
    return places


def _beside_fold(space: Space, sizes: Sizes, x: Array, y: Array, half: Array) -> Array:
    """How much likelier cells beside the fold are to be thrown at."""
    import numpy as np

    if not len(space.on_from):
        return np.ones(len(x))
    aside = np.abs((x - space.fold_x) * space.fold_dy - (y - space.fold_y) * space.fold_dx)
    mean = sum(s * z.length_mm for z, s in sizes) / sum(s for _, s in sizes) / 2.0
    return np.where(aside < 2.0 * (mean + half), _BESIDE_FOLD, 1.0)


def _nearest(x: Array, y: Array, at_x: float, at_y: float) -> int:
    """Which of the cells is nearest."""
    import numpy as np

    return int(np.argmin((x - at_x) ** 2 + (y - at_y) ** 2))


def _checked(
    field: Field, sizes: Sizes, gap_mm: float, loose: Stones, count: int, rng: Rng
) -> FillResult:
    """The stones that stand by the rules; those in each other's way find another place or go."""
    from templater.geometry.kernels.compiled import wide_counters
    from templater.geometry.kernels.room import put, stands_free
    from templater.geometry.kernels.scatter import settle_elsewhere
    from templater.geometry.kernels.space import roomier

    space, stones = prepared(field, sizes, gap_mm)
    stones = roomier(stones, int(stones.held[0]) + count)
    homeless = []
    for k in range(int(loose.held[1]), int(loose.held[0])):
        x, y, size = float(loose.x[k]), float(loose.y[k]), int(loose.size[k])
        fold = bool(loose.on_fold[k])
        if stands_free(space, stones, x, y, size, fold, -1):
            put(space, stones, x, y, size, int(fold))
        else:
            homeless.append(size)
    state = wide_counters(2)
    state[0], state[1] = rng.first, rng.second
    for size in homeless:
        settle_elsewhere(space, stones, size, 300, state)
    return gathered(stones)


def _short(field: Field, count: int, found: int) -> Problem:
    return Problem(
        "too-few-fit",
        Severity.WARNING,
        f"zone {field.zone!r}: {count} stones are asked for, {found} found room",
        'ask for fewer or smaller stones, a smaller gap, or use style = "packed"',
    )
