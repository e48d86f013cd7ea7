"""Parts laid on cloth for the length to buy: each there, on the cloth, apart, along the grain.

Imported late: numpy.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from itertools import combinations

import numpy as np

from templater.checks.findings import capped, error
from templater.checks.flat import area_segments, is_rigid, moved_segments
from templater.checks.made import Made
from templater.checks.parts import shared_point
from templater.model.ground import Side
from templater.model.parts import CutPart, PartKind
from templater.model.plan import ClothLine
from templater.model.problems import Problem, Problems

_FLAT_MM = 0.15
"""Lays are sought on curves flattened to 0.1 mm, lengths said to 0.1 mm."""
_TURN_DEG = 0.01


def cloth_lays_hold(made: Made) -> Problems:
    """Where parts are laid on cloth, all of them lie on what is bought of it, none over another,
    grain along it, and none of them is face down.
    """
    return capped(problem for line in made.plan.counts.cloths for problem in _lay(made, line))


def _lay(made: Made, line: ClothLine) -> Iterator[Problem]:
    if not line.laid:
        return
    name = line.fabric or "the cloth without a name"
    parts = {
        part.id: part
        for part in made.plan.parts
        if part.fabric == line.fabric and part.kind is not PartKind.WEB
    }
    yield from _all_there(parts, line, name)
    cuts = []
    for spot in line.spots:
        part = parts.get(spot.part)
        if part is None or not is_rigid(spot.move):
            yield error("cloth-part-unknown", f"{name}: part {spot.part} is none of this cloth")
            continue
        if spot.move.mirrors is not part.to_side.mirrors:
            yield error("cloth-part-face-down", f"{name}: part {part.id} lies face down")
        if part.grain_deg is not None:
            off = (spot.move.turned(part.grain_deg) - 90.0 + 90.0) % 180.0 - 90.0
            if abs(off) > _TURN_DEG:
                yield error(
                    "cloth-grain-off", f"{name}: part {part.id} lies {off:.2f}° off the grain"
                )
        cut = moved_segments(area_segments(part.cut), spot.move)
        points = cut.reshape(-1, 2)
        bottom, top = (0.0, line.doubled_mm) if spot.doubled else (line.doubled_mm, line.length_mm)
        low = np.array([0.0, bottom])
        high = np.array([line.width_mm / 2 if spot.doubled else line.width_mm, top])
        over = float(np.maximum(low - points, points - high).max())
        if over > _FLAT_MM:
            yield error("part-off-its-cloth", f"{name}: part {part.id} leaves it by {over:.2f} mm")
        cuts.append((part.id, spot.doubled, cut))
    for (one, twice, first), (other, also, second) in combinations(cuts, 2):
        at = shared_point(first, second) if twice is also else None
        if at is not None:
            yield error("parts-overlap", f"{name}: parts {one} and {other} overlap", at=at)


def _all_there(parts: dict[str, CutPart], line: ClothLine, name: str) -> Iterator[Problem]:
    """Each part as often as it is cut; a part that is cut double has its twin with it."""
    cut: Counter[str] = Counter()
    for spot in line.spots:
        cut[spot.part] += 1
        if spot.doubled and spot.part in parts:
            twin = _twin(parts[spot.part], parts)
            cut[twin] += 1
    for part in parts.values():
        if cut[part.id] != part.copies:
            yield error(
                "part-not-placed",
                f"{name}: part {part.id} is cut {cut[part.id]} times of it instead of {part.copies}",
            )


def _twin(part: CutPart, parts: dict[str, CutPart]) -> str:
    other = {Side.LEFT: Side.RIGHT, Side.RIGHT: Side.LEFT}.get(part.side)
    for each in parts.values():
        alike = (each.piece, each.zone, each.region, each.kind) == (
            part.piece, part.zone, part.region, part.kind,
        )  # fmt: skip
        if alike and each.side is other:
            return each.id
    return "nobody"
