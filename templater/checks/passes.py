"""Passes: bridges that hold, and film that does not press on stones already set. Imported late."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

import numpy as np

from templater.checks.findings import capped, error
from templater.checks.flat import Points
from templater.checks.holes import FILE, stem
from templater.checks.made import SHAPED_TOL_MM, TOL_MM, Made
from templater.checks.nearby import Indices, Numbers, near_pairs
from templater.checks.outlines import convex_distance, outlines
from templater.model.facts import HoleRow, StoneRow
from templater.model.parts import Hole, HoleKind, Pass
from templater.model.problems import Problem, Problems
from templater.model.stones import StoneShape

BRIDGE_MEND = (
    "ask for a larger gap or a smaller templates.stencil.bridge, and make the pack again; if it "
    "happens again, please report it as a defect"
)

_OVER_SET_STONES = {"film", "tape"}
"""Ways of setting that lay a later sheet over stones that are set."""


def bridges_hold(made: Made) -> Problems:
    """Between two holes of a sheet, and to its edge, the bridge is left. Prick sheets are exempt."""
    return capped(_bridges(made))


def _bridges(made: Made) -> Iterator[Problem]:
    for each in made.plan.passes:
        own = made.holes.get(stem(each.template), ())
        if each.kind is HoleKind.PRICK or not own:
            continue
        bridge = each.bridge_mm
        if each.kind is HoleKind.STENCIL and bridge < made.plan.rules.bridge_mm - 1e-9:
            yield error(
                "bridge-too-thin",
                f"{each.template} keeps a bridge of {bridge} mm; the job asks for "
                f"{made.plan.rules.bridge_mm} mm",
            )
        yield from _in_pass(made, each, own, bridge)


def _in_pass(made: Made, each: Pass, rows: tuple[HoleRow, ...], bridge: float) -> Iterator[Problem]:
    kerf = made.plan.rules.kerf_mm if each.kind is HoleKind.STENCIL else 0.0
    planned = {hole.order: hole for hole in each.holes}
    holes = [planned.get(row.order) for row in rows]
    at = np.array([(row.x_mm, row.y_mm) for row in rows])
    wide = np.array([max(row.diameter_mm, row.punch_mm or 0.0) for row in rows]) + kerf
    shaped = np.array([hole is not None and _is_shaped(hole) for hole in holes])
    reach = np.array(
        [
            w if hole is None or not _is_shaped(hole) else float(np.hypot(w, hole.length_mm + kerf))
            for w, hole in zip(wide.tolist(), holes, strict=True)
        ]
    )
    i, j = near_pairs(at, at, float(reach.max()) + bridge)
    once = i < j
    i, j = i[once], j[once]
    left = np.hypot(*(at[i] - at[j]).T) - (reach[i] + reach[j]) / 2
    for pair in np.flatnonzero((shaped[i] | shaped[j]) & (left < bridge)):
        one, other = int(i[pair]), int(j[pair])
        left[pair] = _shaped_left(at, wide, holes, (one, other), kerf)
    allowed = np.where(shaped[i] | shaped[j], SHAPED_TOL_MM, TOL_MM)
    for pair in np.flatnonzero(left < bridge - allowed):
        row, mate = rows[int(i[pair])], rows[int(j[pair])]
        yield error(
            "bridge-too-thin",
            f"{each.template}: {left[pair]:.3f} mm are left between holes {row.order} and "
            f"{mate.order}; the bridge is {bridge} mm",
            BRIDGE_MEND,
            at=(row.x_mm, row.y_mm),
            file=FILE,
        )
    inner = np.minimum(at, np.array(each.size_mm) - at).min(axis=1) - reach / 2
    for index in np.flatnonzero(inner < bridge - TOL_MM):
        yield error(
            "hole-off-its-sheet",
            f"{each.template}: hole {rows[int(index)].order} comes within {inner[index]:.3f} mm of "
            "the sheet's edge",
            at=at[index],
            file=FILE,
        )


def _is_shaped(hole: Hole) -> bool:
    return hole.shape not in {"", str(StoneShape.ROUND)}


def _shaped_left(
    at: Points, wide: Numbers, holes: list[Hole | None], pair: tuple[int, int], kerf: float
) -> float:
    one, other = pair
    first, second = holes[one], holes[other]
    if first is None or not _is_shaped(first):
        one, other, first, second = other, one, second, first
    if first is None:
        return 0.0
    if second is None or not _is_shaped(second):
        point = at[other].reshape(1, 1, 2)
        return float(
            convex_distance(_hole_outline(first, at[one], kerf), point)[0] - wide[other] / 2
        )
    return float(
        convex_distance(
            _hole_outline(first, at[one], kerf), _hole_outline(second, at[other], kerf)
        )[0]
    )


def _hole_outline(hole: Hole, at: Numbers, kerf: float) -> Numbers:
    return outlines(
        StoneShape(hole.shape),
        hole.length_mm + kerf,
        hole.diameter_mm + kerf,
        at.reshape(1, 2),
        np.array([hole.turn_deg]),
    )


def film_clears_set_stones(made: Made) -> Problems:
    """Stones set from different sheets of one zone and side, by film or tape: what is left between
    the largest stones of their sizes, less clearance and registration error, is not negative, so
    that no later sheet lies on a stone that is set. On one round size this is pitch − largest
    diameter − clearance − registration error ≥ 0.
    """
    return capped(_films(made))


def _films(made: Made) -> Iterator[Problem]:
    groups: defaultdict[tuple[str, str], list[tuple[int, Pass]]] = defaultdict(list)
    for turn, each in enumerate(made.plan.passes):
        if each.method in _OVER_SET_STONES and each.kind is HoleKind.STENCIL:
            groups[each.zone, str(each.side)].append((turn, each))
    rules = made.plan.rules
    for (zone, side), passes in sorted(groups.items(), key=lambda item: item[0]):
        rows = [
            (turn, made.written[hole.stone_id])
            for turn, each in passes
            for hole in each.holes
            if hole.stone_id in made.written
        ]
        if not rows:
            continue
        turn_of = np.array([turn for turn, _ in rows])
        largest = _Largest(made, [row for _, row in rows])
        general = max(each.clearance_mm for _, each in passes)
        by_size = dict(rules.clearances)
        clear = np.array([by_size.get(row.size, general) for _, row in rows])
        most = float(clear.max()) + rules.registration_mm
        i, j = near_pairs(largest.at, largest.at, 2 * float(largest.reach.max()) + most)
        once = (i < j) & (turn_of[i] != turn_of[j])
        i, j = i[once], j[once]
        spare = (clear[i] + clear[j]) / 2 + rules.registration_mm
        room, allowed = largest.between(i, j, most)
        for pair in np.flatnonzero(room < spare - allowed):
            one, other = rows[int(i[pair])][1], rows[int(j[pair])][1]
            lacks = spare[pair] - room[pair]
            yield error(
                "film-meets-set-stones",
                f"zone {zone}, {side}: stones {one.id} and {other.id} are set from different sheets "
                f"and are {lacks:.3f} mm too near for the second sheet to lie flat",
                f"ask for gaps {lacks:.3f} mm larger in this zone, or set it by hand",
                at=(one.x_mm, one.y_mm),
            )


class _Largest:
    """Stones on the garment, each as large as its size may come."""

    def __init__(self, made: Made, rows: list[StoneRow]) -> None:
        self._rows = rows
        self._sizes = [made.sizes.get(row.size) for row in rows]
        self.at = np.array([(row.x_mm, row.y_mm) for row in rows])
        self.is_round = np.array([size is None or size.is_round for size in self._sizes])
        measures = [self._measures(index) for index in range(len(rows))]
        self.reach = np.array(
            [
                long / 2 if is_round else float(np.hypot(long, wide)) / 2
                for (long, wide), is_round in zip(measures, self.is_round.tolist(), strict=True)
            ]
        )

    def _measures(self, index: int) -> tuple[float, float]:
        size, row = self._sizes[index], self._rows[index]
        if size is None:
            return row.length_mm, row.width_mm
        return size.largest_length_mm, size.largest_width_mm

    def _outline(self, index: int) -> Numbers:
        size = self._sizes[index]
        shape = StoneShape.OVAL if size is None else size.shape
        turn = np.array([self._rows[index].angle_deg])
        return outlines(shape, *self._measures(index), self.at[index : index + 1], turn)

    def between(self, i: Indices, j: Indices, needed: float) -> tuple[Numbers, Numbers]:
        """What is left between the stones of each pair, and by how much it may be short."""
        left = np.hypot(*(self.at[i] - self.at[j]).T) - self.reach[i] - self.reach[j]
        shaped = ~(self.is_round[i] & self.is_round[j])
        for pair in np.flatnonzero(shaped & (left < needed)):
            one, other = int(i[pair]), int(j[pair])
            if self.is_round[one]:
                one, other = other, one
            if self.is_round[other]:
                point = self.at[other].reshape(1, 1, 2)
                far = convex_distance(self._outline(one), point)[0] - self.reach[other]
            else:
                far = convex_distance(self._outline(one), self._outline(other))[0]
            left[pair] = far
        return left, np.where(shaped, SHAPED_TOL_MM, TOL_MM)
