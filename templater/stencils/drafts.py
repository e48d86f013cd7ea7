"""What templates a group of stones needs: for each the holes, and the pass of every hole.

Stencils go by size (a tape takes all sizes at once), and where the job asks for it by colour and
finish too; the prick sheet and the punch layout take every stone.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from templater.model.parts import HoleKind
from templater.model.stones import PlacedStone, Size
from templater.stencils.groups import Group
from templater.stencils.names import slug
from templater.stencils.parting import Spot, part
from templater.stencils.sizing import HoleSize, prick_hole, punch_hole, stencil_hole

if TYPE_CHECKING:
    from templater.job.schema import Job

CARD_BRIDGE_MM = 2.0
"""The least bridge in hand-punched card (trade practice, see the project's craft notes)."""

Lot = tuple[str, ...]
"""What stones are kept apart by: their colour, their finish, both or neither."""


@dataclass(frozen=True, slots=True)
class Draft:
    """One kind of template for some of a group's stones: `pass_of` by the members' order.

    `lots` says for each pass which stones it keeps to. `least`: no parting has fewer passes.
    """

    kind: HoleKind
    sizes: tuple[str, ...]
    members: tuple[int, ...]
    holes: tuple[HoleSize, ...]
    pass_of: tuple[int, ...]
    lots: tuple[Lot, ...]
    least: int
    bridge_mm: float
    words: tuple[str, ...]


def drafts_of(group: Group, sizes: Mapping[str, Size], job: Job) -> tuple[Draft, ...]:
    """The drafts of the kinds that the job wants, stencils first, their sizes from the largest."""
    makers = {"stencil": _stencils, "prick": _prick, "punch": _punch}
    names = sorted(
        {stone.size for stone in group.stones},
        key=lambda name: (-sizes[name].width_mm, -sizes[name].length_mm, name),
    )
    ordered = {name: sizes[name] for name in names}
    return tuple(
        draft
        for kind, make in makers.items()
        if kind in job.templates.kinds
        for draft in make(group, ordered, job)
    )


def _stencils(group: Group, sizes: Mapping[str, Size], job: Job) -> Iterator[Draft]:
    stencil = job.templates.stencil
    holes = {
        name: stencil_hole(size, stencil.clearance_of(name), stencil.kerf)
        for name, size in sizes.items()
    }
    sets = [("tape", list(sizes))] if group.method == "tape" else [(_word(n), [n]) for n in sizes]
    for word, names in sets:
        members = [i for i, stone in enumerate(group.stones) if stone.size in names]
        yield _parted(
            group,
            HoleKind.STENCIL,
            names,
            members,
            holes,
            stencil.least_bridge,
            word,
            stencil.apart,
        )


def _prick(group: Group, sizes: Mapping[str, Size], job: Job) -> Iterator[Draft]:
    stencil = job.templates.stencil
    pricked = {name: prick_hole(size, stencil.clearance_of(name)) for name, size in sizes.items()}
    holes = tuple(pricked[stone.size] for stone in group.stones)
    members = tuple(range(len(holes)))
    once = (0,) * len(holes)
    yield Draft(HoleKind.PRICK, tuple(sizes), members, holes, once, ((),), 1, 0.0, ("prick",))


def _punch(group: Group, sizes: Mapping[str, Size], job: Job) -> Iterator[Draft]:
    stencil, punches = job.templates.stencil, job.templates.punches
    holes = {
        name: punch_hole(size, stencil.clearance_of(name), punches) for name, size in sizes.items()
    }
    bridge = max(stencil.least_bridge, CARD_BRIDGE_MM)
    members = range(len(group.stones))
    yield _parted(group, HoleKind.PUNCH, list(sizes), members, holes, bridge, "punch", ())


def _parted(
    group: Group,
    kind: HoleKind,
    names: Sequence[str],
    members: Sequence[int],
    holes: Mapping[str, HoleSize],
    bridge_mm: float,
    word: str,
    apart: Sequence[str],
) -> Draft:
    """Lot after lot parted into the fewest passes, numbered through."""
    stones = [group.stones[i] for i in members]
    pass_of = [0] * len(stones)
    lots: list[Lot] = []
    least = 0
    for lot, places in _lots(stones, apart).items():
        spots: list[Spot] = [
            ((s.x_mm, s.y_mm), s.turn_deg, holes[s.size]) for s in (stones[i] for i in places)
        ]
        numbers, fewest = part(spots, bridge_mm)
        for place, number in zip(places, numbers, strict=True):
            pass_of[place] = len(lots) + number
        lots += [lot] * (max(numbers) + 1)
        least += fewest
    own = tuple(holes[stone.size] for stone in stones)
    return Draft(
        kind, tuple(names), tuple(members), own, tuple(pass_of), tuple(lots), least, bridge_mm,
        (word,),
    )  # fmt: skip


def _lots(stones: Sequence[PlacedStone], apart: Sequence[str]) -> dict[Lot, list[int]]:
    """The stones' places by lot, the largest lot first."""
    lots = [lot_of(stone, apart) for stone in stones]
    counts = Counter(lots)
    found: dict[Lot, list[int]] = {lot: [] for lot in sorted(counts, key=lambda k: (-counts[k], k))}
    for place, lot in enumerate(lots):
        found[lot].append(place)
    return found


def lot_of(stone: PlacedStone, apart: Sequence[str]) -> Lot:
    """What a stone is kept apart from others by."""
    values = {"colour": stone.colour, "finish": stone.finish}
    return tuple(values[name] for name in ("colour", "finish") if name in apart)


def _word(size: str) -> str:
    return slug(size, "size")
