"""A plan that hangs together: what it names is there, what it moves stays rigid, what it draws is
not empty. The other checks rely on it, so they are not asked where it fails.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from templater.checks.findings import capped, error
from templater.checks.flat import is_rigid
from templater.model.curves import Area, Path, Transform
from templater.model.plan import Plan
from templater.model.problems import Problem, Problems


def plan_hangs_together(plan: Plan) -> Problems:
    """Empty where every other check may be asked."""
    return capped((*_names(plan), *_moves(plan), *_paths(plan)))


def _names(plan: Plan) -> Iterator[Problem]:
    ground = plan.ground
    pieces = [piece.name for piece in ground.pieces]
    surfaces = [surface.piece for surface in ground.surfaces]
    for what, names in (
        ("piece", pieces),
        ("surface of piece", surfaces),
        (
            "zone or row",
            [*(zone.name for zone in ground.zones), *(row.name for row in ground.rows)],
        ),
        ("size", [size.name for size in plan.sizes]),
        ("setting of zone", [setting.zone for setting in plan.settings]),
        ("part", [part.id for part in plan.parts]),
        ("pass", [each.template for each in plan.passes]),
        ("sheet", [sheet.name for sheet in plan.sheets]),
    ):
        for name, count in sorted(Counter(names).items()):
            if count > 1:
                yield error("plan-name-twice", f"the plan holds the {what} {name!r} {count} times")
    users = (
        *((f"zone {zone.name}", zone.piece) for zone in ground.zones),
        *((f"row {row.name}", row.piece) for row in ground.rows),
        *((f"the setting of {setting.zone}", setting.piece) for setting in plan.settings),
        *((f"pass {each.template}", each.piece) for each in plan.passes),
        *((f"part {part.id}", part.piece) for part in plan.parts),
    )
    known = set(pieces) & set(surfaces)
    for user, piece in users:
        if piece not in known:
            yield error(
                "plan-piece-unknown", f"{user} belongs to a piece {piece!r} that is not there"
            )
    for piece in sorted(set(pieces) ^ set(surfaces)):
        yield error("plan-piece-unknown", f"piece {piece!r} has no surface, or no outline of marks")


def _moves(plan: Plan) -> Iterator[Problem]:
    moves: tuple[tuple[str, Transform], ...] = (
        *(
            (f"side {placement.side} of {surface.piece}", placement.transform)
            for surface in plan.ground.surfaces
            for placement in surface.sides
        ),
        *((f"part {part.id}", part.to_side) for part in plan.parts),
        *((f"a half of part {p.id}", half.to_part) for p in plan.parts for half in p.halves),
        *((f"pass {each.template}", each.to_sheet) for each in plan.passes),
        *((f"part {p.part} on sheet {p.sheet}", p.transform) for p in plan.placed),
    )
    for what, transform in moves:
        if not is_rigid(transform):
            yield error("plan-stretched", f"{what} is stretched, not only moved")


def _paths(plan: Plan) -> Iterator[Problem]:
    ground = plan.ground
    shapes: tuple[tuple[str, Area | Path], ...] = (
        *((f"piece {p.name}", p.area) for p in ground.pieces if p.area is not None),
        *((f"zone {z.name}", region.area) for z in ground.zones for region in z.regions),
        *((f"{keep.role} of {keep.piece}", keep.shape) for keep in ground.keep_clear),
        *((f"a low area of {low.piece}", low.area) for low in ground.lows),
        *((f"part {part.id}", part.cut) for part in plan.parts),
    )
    for what, shape in shapes:
        rings = (shape.outline, *shape.holes) if isinstance(shape, Area) else (shape,)
        if not all(ring.segments for ring in rings):
            yield error("plan-shape-empty", f"an outline or line of {what} is empty")
