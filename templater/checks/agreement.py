"""What is counted is what is placed is what was set: the plan and its tables agree. Imported late."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator

import numpy as np

from templater.checks.bounds import fold_of, from_fold
from templater.checks.findings import capped, error
from templater.checks.made import SNAP_MM, TOL_MM, Made
from templater.checks.nearby import Flags, near_pairs
from templater.model.facts import StoneRow
from templater.model.ground import Side
from templater.model.problems import Problem, Problems
from templater.model.stones import PlacedStone, Setting

GROSS = 144
_HALF_STEP = SNAP_MM / 2 + 1e-9


def stones_are_the_plans(made: Made) -> Problems:
    """stones.csv holds each stone of the plan once, as planned, and no other."""
    return capped(_stones(made))


def _stones(made: Made) -> Iterator[Problem]:
    file = "stones.csv"
    for name, count in sorted(Counter(row.id for row in made.facts.stones).items()):
        if count > 1:
            yield error("stone-id-twice", f"stone id {name} stands {count} times", file=file)
        if name not in made.planned:
            yield error("stone-not-planned", f"stone {name} is not in the plan", file=file)
    twice = [name for name, n in sorted(Counter(s.id for s in made.plan.stones).items()) if n > 1]
    for name in twice:
        yield error("stone-id-twice", f"the plan holds the stone id {name} twice", file="plan.json")
    for stone in made.plan.stones:
        row = made.written.get(stone.id)
        at = (stone.x_mm, stone.y_mm)
        if row is None:
            yield error("stone-not-written", f"stone {stone.id} is missing", at=at, file=file)
            continue
        unlike = _unlike(stone, row)
        if unlike:
            message = f"stone {stone.id} differs from the plan in {', '.join(unlike)}"
            yield error("stone-differs", message, at=at, file=file)
        size = made.sizes.get(row.size)
        if size is None:
            yield error(
                "size-unknown",
                f"stone {row.id} has a size {row.size!r} the plan has not",
                file=file,
            )
        elif abs(size.length_mm - row.length_mm) + abs(size.width_mm - row.width_mm) > 2e-4:
            yield error(
                "stone-differs",
                f"stone {row.id} is {row.length_mm} × {row.width_mm} mm; {row.size} is planned at "
                f"{size.length_mm} × {size.width_mm} mm",
                at=at,
                file=file,
            )


def _unlike(stone: PlacedStone, row: StoneRow) -> list[str]:
    words = [
        name
        for name, planned, written in (
            ("zone", stone.zone, row.zone),
            ("piece", stone.piece, row.piece),
            ("side", str(stone.side), row.side),
            ("size", stone.size, row.size),
            ("colour", stone.colour, row.colour),
            ("finish", stone.finish, row.finish),
            ("kind", str(stone.kind), row.kind),
        )
        if planned != written
    ]
    numbers = [
        name
        for name, planned, written in (
            ("x", stone.x_mm, row.x_mm),
            ("y", stone.y_mm, row.y_mm),
            ("length", stone.length_mm, row.length_mm),
            ("width", stone.width_mm, row.width_mm),
        )
        if abs(planned - written) > _HALF_STEP
    ]
    turned = abs((stone.turn_deg - row.angle_deg + 180.0) % 360.0 - 180.0)
    return [*words, *numbers, *(["angle"] if turned > 2 * _HALF_STEP else [])]


def settings_are_placed(made: Made) -> Problems:
    """Each stone that was set lies on each side of its piece, and nothing else does."""
    return capped(problem for setting in made.plan.settings for problem in _placed(made, setting))


def _placed(made: Made, setting: Setting) -> Iterator[Problem]:
    laid = made.laid
    at = np.array([stone.at for stone in setting.stones]).reshape(len(setting.stones), 2)
    fold = fold_of(made, setting.piece)
    centred = np.zeros(len(at), np.bool_)
    if fold is not None:
        centred = np.abs(from_fold(at, fold)) <= TOL_MM
    own = [
        index
        for index in np.flatnonzero(laid.known)
        if laid.rows[index].zone == setting.zone and laid.rows[index].piece == setting.piece
    ]
    surface = made.plan.ground.surface(setting.piece)
    sides = [placement.side for placement in surface.sides if placement.side is not Side.CENTRE]
    groups: list[tuple[Side, Flags]] = [(side, ~centred) for side in sides]
    if centred.any() or any(laid.rows[index].side == Side.CENTRE for index in own):
        groups.append((Side.CENTRE, centred))
    for side, chosen in groups:
        here = np.array([index for index in own if laid.rows[index].side == side], np.intp)
        wanted = np.flatnonzero(chosen)
        i, j = near_pairs(at[wanted], laid.at[here], TOL_MM)
        met = {
            (place, spot)
            for place, spot in zip(i.tolist(), j.tolist(), strict=True)
            if _same(setting, int(wanted[place]), laid.rows[int(here[spot])])
        }
        for place in sorted(set(range(len(wanted))) - {place for place, _ in met}):
            stone = setting.stones[int(wanted[place])]
            yield error(
                "stone-not-placed",
                f"a stone of {setting.zone} ({stone.size}) that was set is not placed on side {side}",
                at=stone.at,
                file="stones.csv",
            )
        for spot in sorted(set(range(len(here))) - {spot for _, spot in met}):
            row = laid.rows[int(here[spot])]
            yield error(
                "stone-never-set",
                f"{laid.name(int(here[spot]))} was never set",
                at=(row.x_mm, row.y_mm),
                file="stones.csv",
            )


def _same(setting: Setting, index: int, row: StoneRow) -> bool:
    stone = setting.stones[index]
    return (stone.size, stone.colour, stone.finish, str(stone.kind)) == (
        row.size, row.colour, row.finish, row.kind,
    )  # fmt: skip


def shopping_counts_the_stones(made: Made) -> Problems:
    """shopping.csv counts exactly the stones of stones.csv, by size, colour and finish."""
    return capped(_shopping(made))


def _shopping(made: Made) -> Iterator[Problem]:
    file = "shopping.csv"
    placed = Counter((row.size, row.colour, row.finish) for row in made.facts.stones)
    bought: Counter[tuple[str, str, str]] = Counter()
    for line in made.facts.shopping:
        key = (line.size, line.colour, line.finish)
        if key in bought:
            yield error("shopping-line-twice", f"{' '.join(key)} stands twice", file=file)
        bought[key] += line.count
        if line.gross > math.ceil((line.count + line.spare) / GROSS):
            yield error(
                "shopping-gross-wrong",
                f"{' '.join(key)}: {line.gross} gross are more than {line.count} stones and "
                f"{line.spare} spare need",
                file=file,
            )
    for key in sorted(placed.keys() | bought.keys()):
        if placed[key] != bought[key]:
            yield error(
                "shopping-count-wrong",
                f"{' '.join(key)}: {bought[key]} are counted, {placed[key]} are placed",
                file=file,
            )
    planned = sorted(
        (s.size, s.colour, s.finish, s.count, s.spare, s.gross) for s in made.plan.counts.shopping
    )
    written = sorted(
        (s.size, s.colour, s.finish, s.count, s.spare, s.gross) for s in made.facts.shopping
    )
    if planned != written:
        yield error("shopping-differs", "the list is not the plan's", file=file)


def totals_count_the_stones(made: Made) -> Problems:
    """The totals of zones, and the figures of settings, count what is there."""
    return capped(_totals(made))


def _totals(made: Made) -> Iterator[Problem]:
    placed = Counter(row.zone for row in made.facts.stones)
    counted = {each.zone: each.stones for each in made.plan.counts.zones}
    for zone in sorted(placed.keys() | counted.keys()):
        if placed[zone] != counted.get(zone, 0):
            yield error(
                "zone-count-wrong",
                f"zone {zone}: {counted.get(zone, 0)} stones are counted, {placed[zone]} are placed",
                file="plan.json",
            )
    for setting in made.plan.settings:
        sizes = Counter(stone.size for stone in setting.stones)
        if sizes != Counter(dict(setting.figures.counts)):
            yield error(
                "zone-count-wrong",
                f"zone {setting.zone}: its figures count {dict(setting.figures.counts)}, "
                f"{dict(sorted(sizes.items()))} are set",
                file="plan.json",
            )
