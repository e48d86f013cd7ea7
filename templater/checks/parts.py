"""Cut parts: inside their sheet, not over one another, the right way up, along the grain.

Imported late: numpy.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator
from itertools import combinations

import numpy as np

from templater.checks.findings import capped, error
from templater.checks.flat import (
    Points,
    Segments,
    area_segments,
    moved_segments,
    shortened,
)
from templater.checks.made import Made
from templater.checks.nearby import Lines, inside
from templater.model.parts import CutPart, Placed
from templater.model.problems import Problem, Problems
from templater.model.sheets import Sheet

INSIDE_MM = 0.001
DEEP_MM = 0.01
"""How far one part may reach into another before they are said to overlap: what touches may touch."""
_TURN_DEG = 0.01
_STEP_MM = 1.0
_ACROSS = 24


def _known(made: Made) -> Iterator[tuple[Placed, CutPart, Sheet]]:
    parts = {part.id: part for part in made.plan.parts}
    sheets = {sheet.name: sheet for sheet in made.plan.sheets}
    for placed in made.plan.placed:
        if placed.part in parts and placed.sheet in sheets:
            yield placed, parts[placed.part], sheets[placed.sheet]


def parts_are_placed(made: Made) -> Problems:
    """Each part lies on a sheet, at most as often as it is there to be cut."""
    return capped(_placed(made))


def _placed(made: Made) -> Iterator[Problem]:
    times = Counter(placed.part for placed, _, _ in _known(made))
    for part in made.plan.parts:
        if not 1 <= times[part.id] <= max(1, part.copies):
            yield error(
                "part-not-placed",
                f"part {part.id} lies on {times[part.id]} sheets; {part.copies} are to be cut",
            )
    if len(list(_known(made))) != len(made.plan.placed):
        yield error("part-unknown", "the plan places a part, or names a sheet, that is not there")


def parts_lie_inside(made: Made) -> Problems:
    """No part's cut line leaves its sheet."""
    return capped(_inside(made))


def _inside(made: Made) -> Iterator[Problem]:
    for placed, part, sheet in _known(made):
        points = moved_segments(area_segments(part.cut), placed.transform).reshape(-1, 2)
        over = np.maximum(-points, points - np.array(sheet.size_mm)).max(axis=1)
        worst = int(np.argmax(over))
        if over[worst] > INSIDE_MM:
            yield error(
                "part-off-its-sheet",
                f"part {part.id} leaves sheet {sheet.name} by {over[worst]:.3f} mm",
                at=points[worst],
            )


def parts_do_not_overlap(made: Made) -> Problems:
    """No two parts of a sheet share any of it."""
    return capped(_overlaps(made))


def _overlaps(made: Made) -> Iterator[Problem]:
    sheets: defaultdict[str, list[tuple[str, Segments]]] = defaultdict(list)
    for placed, part, sheet in _known(made):
        cut = moved_segments(area_segments(part.cut), placed.transform)
        sheets[sheet.name].append((part.id, cut))
    for name, cuts in sorted(sheets.items()):
        for (one, first), (other, second) in combinations(cuts, 2):
            at = shared_point(first, second)
            if at is not None:
                yield error(
                    "parts-overlap", f"parts {one} and {other} overlap on sheet {name}", at=at
                )


def shared_point(one: Segments, other: Segments) -> Points | None:
    """A point deep inside both, looked for along both cut lines and on a grid inside each."""
    low = np.maximum(one.reshape(-1, 2).min(axis=0), other.reshape(-1, 2).min(axis=0))
    high = np.minimum(one.reshape(-1, 2).max(axis=0), other.reshape(-1, 2).max(axis=0))
    if np.any(high - low <= DEEP_MM):
        return None
    for a, b in ((one, other), (other, one)):
        tried = np.concatenate([shortened(a, _STEP_MM)[0][:, :2], _grid(a, low, high)])
        tried = tried[np.all((tried >= low) & (tried <= high), axis=1)]
        within = tried[inside(tried, b)]
        deep = within[Lines(b).distance(within, DEEP_MM) > DEEP_MM]
        if len(deep):
            found: Points = deep[0]
            return found
    return None


def _grid(segments: Segments, low: Points, high: Points) -> Points:
    across, up = (np.linspace(low[k], high[k], _ACROSS + 2)[1:-1] for k in (0, 1))
    points = np.stack(np.meshgrid(across, up), axis=-1).reshape(-1, 2)
    return points[inside(points, segments)]


def parts_are_the_right_way_up(made: Made) -> Problems:
    """A part for the undrawn side is mirrored, a web once more; nothing else is."""
    return capped(
        error(
            "part-wrong-way-up",
            f"part {part.id} ({part.side}{', reversed' if part.reversed else ''}) lies the wrong "
            f"way up on sheet {placed.sheet}",
        )
        for placed, part, _ in _known(made)
        if placed.transform.mirrors != (part.to_side.mirrors != part.reversed)
    )


def grain_is_kept(made: Made) -> Problems:
    """The grain runs as it was drawn, as it runs on the part's side, or up the sheet; or back."""
    return capped(_grain(made))


def _grain(made: Made) -> Iterator[Problem]:
    for placed, part, _ in _known(made):
        if part.grain_deg is None:
            continue
        lies = placed.transform.turned(part.grain_deg)
        kept = (part.grain_deg, part.to_side.turned(part.grain_deg), 90.0)
        off = min(abs((lies - each + 90.0) % 180.0 - 90.0) for each in kept)
        if off > _TURN_DEG:
            yield error(
                "grain-turned",
                f"part {part.id} lies {off:.2f} degrees off its grain on sheet {placed.sheet}",
            )
