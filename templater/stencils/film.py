"""May a later pass be laid over the stones of an earlier one?

A stone sits anywhere in its hole, half the clearance off at most; the later sheet lies off by the
registration error; its hole is half the clearance wider than its stone all round. So between
stones of different sheets: distance − both largest radii − clearance − registration ≥ 0, which on
one size is pitch − largest diameter − clearance − registration ≥ 0; between sizes of unlike
clearances their mean counts. The rule treats both stones alike, so no other order of the passes
helps where it fails.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence

from templater.model.problems import Problem, Severity
from templater.model.stones import PlacedStone, Size
from templater.stencils.groups import Group
from templater.stencils.parting import near_spots
from templater.stencils.sizing import stencil_hole


def film_problem(
    group: Group,
    sheet_of: Sequence[object],
    sizes: Mapping[str, Size],
    clearance_of: Callable[[str], float],
    registration_mm: float,
) -> Problem | None:
    """An error if stones of different sheets of this group lie too near each other.

    `sheet_of` says for each stone of the group on which sheet it is.
    """
    stones = group.stones
    spots = [((s.x_mm, s.y_mm), s.turn_deg, stencil_hole(sizes[s.size], 0.0, 0.0)) for s in stones]
    clearance = {name: clearance_of(name) for name in sorted({s.size for s in stones})}

    def needed(i: int, j: int) -> float:
        return (clearance[stones[i].size] + clearance[stones[j].size]) / 2.0 + registration_mm

    most = max(clearance.values(), default=0.0) + registration_mm
    tight = [
        (apart - needed(i, j), i, j)
        for i, j, apart in near_spots(spots, most)
        if sheet_of[i] != sheet_of[j] and apart < needed(i, j)
    ]
    if not tight:
        return None
    lacking, i, j = min(tight)
    first, second = stones[i], stones[j]
    workable = max(_workable_gap(stones[a], stones[b], sizes, needed(a, b)) for _, a, b in tight)
    clearance_mm = needed(i, j) - registration_mm
    return Problem(
        "pass-too-tight",
        Severity.ERROR,
        f"zone {group.zone}, {group.side}: by method {group.method!r} {len(tight)} pairs of stones come from "
        f"different sheets and lie too near each other; the tightest, {first.size} beside "
        f"{second.size}, lacks {-lacking:.2f} mm for a clearance of {clearance_mm:g} mm and a "
        f"registration error of {registration_mm:g} mm, so a later sheet would lie on stones already set",
        f"make the gap {workable:.2f} mm or more (the smallest workable one) for outline and fill "
        f'of {group.zone}, or choose method = "hand"',
        at_mm=(first.x_mm, first.y_mm),
    )


def unserved_methods(groups: Iterable[Group], kinds: Sequence[str]) -> Iterator[Problem]:
    """An error for each zone or row that is set through stencils where the job leaves them out."""
    if "stencil" in kinds:
        return
    needing = {group.zone: group.method for group in groups if group.method in {"film", "tape"}}
    for zone, method in needing.items():
        yield Problem(
            "method-needs-stencils",
            Severity.ERROR,
            f"{zone} is set by method {method!r}, through stencils, which kinds in [templates] "
            "leaves out",
            f'add "stencil" to kinds, or choose method = "hand" for {zone}',
        )


def too_thick_film(
    groups: Iterable[Group], sizes: Mapping[str, Size], thickness_mm: float
) -> Iterator[Problem]:
    """An error for each zone or row set by tape whose film is no thinner than its lowest stone: the
    tape, pressed on, would not reach that stone.
    """
    told: set[str] = set()
    for group in groups:
        if group.method != "tape" or group.zone in told:
            continue
        names = sorted({stone.size for stone in group.stones})
        low = min(names, key=lambda name: (sizes[name].lowest_mm, name))
        if thickness_mm >= sizes[low].lowest_mm:
            told.add(group.zone)
            yield Problem(
                "film-too-thick",
                Severity.ERROR,
                f"{group.zone} is set by method 'tape' with film {thickness_mm:g} mm thick, and {low} "
                f"may be only {sizes[low].lowest_mm:.2f} mm high: the tape would not touch it",
                f"use film thinner than {sizes[low].lowest_mm:.2f} mm (thickness in [templates] "
                "stencil), or larger stones",
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
