"""May a later pass be laid over the stones of an earlier one?

A stone sits anywhere in its hole, half the clearance off at most; the later sheet lies off by the
registration error; its hole is half the clearance wider than its stone all round. So between
stones of different sheets: distance − both largest radii − clearance − registration ≥ 0, which on
one size is pitch − largest diameter − clearance − registration ≥ 0. The rule treats both stones
alike, so no other order of the passes helps where it fails.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from templater.model.problems import Problem, Severity
from templater.model.stones import PlacedStone, Size
from templater.stencils.groups import Group
from templater.stencils.parting import near_spots
from templater.stencils.sizing import stencil_hole


def film_problem(
    group: Group,
    sheet_of: Sequence[object],
    sizes: Mapping[str, Size],
    clearance_mm: float,
    registration_mm: float,
) -> Problem | None:
    """An error if stones of different sheets of this group lie too near each other.

    `sheet_of` says for each stone of the group on which sheet it is.
    """
    spots = [
        ((s.x_mm, s.y_mm), s.turn_deg, stencil_hole(sizes[s.size], 0.0, 0.0)) for s in group.stones
    ]
    need = clearance_mm + registration_mm
    tight = [(apart, i, j) for i, j, apart in near_spots(spots, need) if sheet_of[i] != sheet_of[j]]
    if not tight:
        return None
    apart, i, j = min(tight)
    first, second = group.stones[i], group.stones[j]
    workable = max(
        _workable_gap(group.stones[a], group.stones[b], sizes, need) for _, a, b in tight
    )
    return Problem(
        "pass-too-tight",
        Severity.ERROR,
        f"zone {group.zone}, {group.side}: by method {group.method!r} {len(tight)} pairs of stones come from "
        f"different sheets and lie too near each other; the tightest, {first.size} beside "
        f"{second.size}, lacks {need - apart:.2f} mm for a clearance of {clearance_mm:g} mm and a "
        f"registration error of {registration_mm:g} mm, so a later sheet would lie on stones already set",
        f"make the gap {workable:.2f} mm or more (the smallest workable one) for outline and fill "
        f'of {group.zone}, or choose method = "hand"',
        at_mm=(first.x_mm, first.y_mm),
    )


def _workable_gap(
    first: PlacedStone, second: PlacedStone, sizes: Mapping[str, Size], need_mm: float
) -> float:
    """The gap between planned stones at which the rule just holds."""
    spread = sum(
        (sizes[stone.size].largest_width_mm - sizes[stone.size].width_mm) / 2.0
        for stone in (first, second)
    )
    return round(spread + need_mm, 4)
