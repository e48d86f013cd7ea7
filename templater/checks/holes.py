"""holes.csv: each stone held once, each hole where its stone lies and as wide as it needs."""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterator

from templater.checks.findings import capped, error
from templater.checks.made import SNAP_MM, Made
from templater.model.facts import HoleRow
from templater.model.formats import sheet_stem
from templater.model.ground import Side
from templater.model.parts import Hole, HoleKind, Pass
from templater.model.problems import Problem, Problems

FILE = "holes.csv"
_HALF_STEP = SNAP_MM / 2 + 1e-9


def stem(template: str) -> str:
    """A sheet's name without the ending of its file."""
    return sheet_stem(template)


def holes_are_the_plans(made: Made) -> Problems:
    """holes.csv holds each hole of the plan once, as planned, and no other."""
    return capped(_holes(made))


def _holes(made: Made) -> Iterator[Problem]:
    written: dict[tuple[str, int], HoleRow] = {}
    for row in made.facts.holes:
        key = (made.sheet_of[row.template], row.order)
        if key in written:
            yield error("hole-twice", f"{row.template}: hole {row.order} stands twice", file=FILE)
        written[key] = row
    planned = set()
    for each in made.plan.passes:
        name = stem(each.template)
        for hole in each.holes:
            key = (name, hole.order)
            planned.add(key)
            row_or_none = written.get(key)
            unlike = ["missing"] if row_or_none is None else _unlike(each, hole, row_or_none)
            if unlike:
                yield error(
                    "hole-differs",
                    f"{each.template}: hole {hole.order} of the plan is {', '.join(unlike)}",
                    at=(hole.x_mm, hole.y_mm),
                    file=FILE,
                )
    for template, order in sorted(written.keys() - planned):
        yield error("hole-not-planned", f"{template}: hole {order} is not in the plan", file=FILE)


def _unlike(each: Pass, hole: Hole, row: HoleRow) -> list[str]:
    unlike = [
        f"another {name}"
        for name, planned, found in (
            ("pass", each.number, row.pass_number),
            ("kind", str(hole.kind), row.kind),
            ("stone", hole.stone_id, row.stone_id),
            ("punch", hole.punch_mm is None, row.punch_mm is None),
        )
        if planned != found
    ]
    return unlike + [
        f"another {name}"
        for name, planned, found in (
            ("x", hole.x_mm, row.x_mm),
            ("y", hole.y_mm, row.y_mm),
            ("diameter", hole.diameter_mm, row.diameter_mm),
            ("punch", hole.punch_mm or 0.0, row.punch_mm or 0.0),
        )
        if abs(planned - found) > _HALF_STEP
    ]


def each_stone_is_held_once(made: Made) -> Problems:
    """Of each kind of template that the job wants, a zone's passes together hold each stone exactly
    once; of the others there are none.
    """
    return capped(_once(made))


def _once(made: Made) -> Iterator[Problem]:
    held: defaultdict[str, Counter[str]] = defaultdict(Counter)
    for row in made.facts.holes:
        held[row.kind][row.stone_id] += 1
    stones: defaultdict[str, list[str]] = defaultdict(list)
    for stone in made.facts.stones:
        stones[stone.zone].append(stone.id)
    wanted = made.plan.rules.kinds
    for each in made.plan.passes:
        if each.kind not in wanted:
            yield error("template-not-wanted", f"{each.template}: the job leaves out {each.kind}s")
    for kind, zone in sorted((kind, zone) for kind in wanted for zone in stones):
        for name in stones[zone]:
            count = held[kind][name]
            if count != 1:
                row_at = made.written[name]
                yield error(
                    "stone-held-wrongly",
                    f"stone {name} of zone {zone} has {count} {kind} holes instead of one",
                    at=(row_at.x_mm, row_at.y_mm),
                    file=FILE,
                )


def lots_are_kept_apart(made: Made) -> Problems:
    """The stones of one stencil are alike in colour and finish, as far as the job keeps those apart."""
    return capped(_lots(made))


def _lots(made: Made) -> Iterator[Problem]:
    apart = made.plan.rules.apart
    for each in made.plan.passes:
        if each.kind is not HoleKind.STENCIL or not apart:
            continue
        held = [made.written[h.stone_id] for h in each.holes if h.stone_id in made.written]
        lots = {
            tuple({"colour": row.colour, "finish": row.finish}[name] for name in sorted(apart))
            for row in held
        }
        if lots and lots != {each.lot}:
            told = "; ".join(", ".join(lot) for lot in sorted(lots))
            yield error(
                "pass-mixes-stones",
                f"{each.template} is for {', '.join(each.lot) or 'stones of one lot'} and holds {told}",
            )


def holes_lie_on_stones(made: Made) -> Problems:
    """Each hole lies where the pass puts its stone, and serves the zone, side and size it says."""
    return capped(_on_stones(made))


def _on_stones(made: Made) -> Iterator[Problem]:
    passes = {stem(each.template): each for each in made.plan.passes}
    joined = {s.piece for s in made.plan.ground.surfaces if s.joined_at_fold}
    for each in made.plan.passes:
        if each.to_sheet.mirrors != each.reversed:
            yield error(
                "pass-wrong-way-up",
                f"{each.template} is {'not ' * (not each.reversed)}said to be seen from behind, and "
                "its holes do not lie so",
            )
    for row in made.facts.holes:
        own = passes.get(made.sheet_of[row.template])
        stone = made.written.get(row.stone_id)
        if own is None or stone is None:
            yield error(
                "hole-without-stone",
                f"{row.template}: hole {row.order} belongs to no stone or no pass",
                at=(row.x_mm, row.y_mm),
                file=FILE,
            )
            continue
        off = math.dist(own.to_sheet.apply((stone.x_mm, stone.y_mm)), (row.x_mm, row.y_mm))
        if off > 0.001:
            yield error(
                "hole-off-its-stone",
                f"{row.template}: hole {row.order} lies {off:.4f} mm off stone {stone.id}",
                at=(row.x_mm, row.y_mm),
                file=FILE,
            )
        fits = stone.side in {str(own.side), str(Side.CENTRE)} or own.piece in joined
        if stone.zone != own.zone or stone.size not in own.sizes or not fits:
            yield error(
                "hole-for-wrong-stone",
                f"{row.template} is for {own.zone}, {own.side}, {', '.join(own.sizes)}; its hole "
                f"{row.order} holds stone {stone.id} ({stone.zone}, {stone.side}, {stone.size})",
                file=FILE,
            )


def clearance_of(made: Made, own: Pass, size: str) -> float:
    """What a hole of this pass for that size is wider than the largest stone."""
    return dict(made.plan.rules.clearances).get(size, own.clearance_mm)


def holes_fit_their_stones(made: Made) -> Problems:
    """Stencil holes are the largest stone and the clearance wide, less what the cut takes away."""
    return capped(_fit(made))


def _fit(made: Made) -> Iterator[Problem]:
    passes = {stem(each.template): each for each in made.plan.passes}
    kerf = made.plan.rules.kerf_mm
    for row in made.facts.holes:
        own, stone = passes.get(made.sheet_of[row.template]), made.written.get(row.stone_id)
        size = made.sizes.get(stone.size) if stone else None
        if own is None or size is None:
            continue
        fault = ""
        if row.kind == HoleKind.STENCIL:
            wide = size.largest_width_mm + clearance_of(made, own, size.name) - kerf
            if abs(row.diameter_mm - wide) > 0.001:
                fault = f"is {row.diameter_mm:.4f} mm wide; {size.name} needs {wide:.4f} mm"
        elif row.kind == HoleKind.PRICK:
            if not 0 < row.diameter_mm < size.smallest_mm:
                fault = f"is {row.diameter_mm:.4f} mm wide, which is no prick hole for {size.name}"
        elif row.punch_mm is not None and row.punch_mm < size.largest_width_mm - 1e-9:
            fault = f"is given a punch of {row.punch_mm} mm, through which {size.name} does not go"
        if fault:
            yield error(
                "hole-misfits",
                f"{row.template}: hole {row.order} {fault}",
                at=(row.x_mm, row.y_mm),
                file=FILE,
            )
