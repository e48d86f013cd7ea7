"""What was made, ready to be checked: the written stones, laid back on the drawn reference.

Imported late: numpy.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from templater.checks.flat import Points, inverse, moved
from templater.checks.nearby import Flags, Indices, Numbers
from templater.checks.outlines import outlines
from templater.checks.printed import Printed
from templater.model.curves import IDENTITY, Point, Transform
from templater.model.facts import HoleRow, PackFacts, SheetFacts, StoneRow
from templater.model.formats import ENDINGS, sheet_stem
from templater.model.ground import Side, Surface
from templater.model.plan import Plan
from templater.model.sheets import Sheet
from templater.model.stones import PlacedStone, Size, StoneShape

UNITS_PER_MM = 40.0
"""Of HP-GL as published: what readers of it take for granted."""
SNAP_MM = 0.0001
"""Places are written to four decimals; a mirrored place is rounded once more."""
TOL_MM = 0.001 + 2 * SNAP_MM
"""By how much a distance may fall short: 1 µm, and the rounding of both places."""
SHAPED_TOL_MM = 0.02
"""The same where a shaped stone is one of the two: makers' outlines differ by as much."""


@dataclass(frozen=True)
class Laid:
    """The written stones, one a row of each array, laid back on the drawn reference."""

    rows: tuple[StoneRow, ...]
    at: Points
    turn_deg: Numbers
    radius: Numbers
    """Of rounds; of shaped stones the circle that holds the outline."""
    gap: Numbers
    height: Numbers
    is_round: Flags
    known: Flags
    """Whether the stone's piece, side and id are known, so that its place says anything."""

    def name(self, index: int) -> str:
        row = self.rows[index]
        return f"stone {row.id} ({row.size}, zone {row.zone}, {row.side})"


@dataclass(frozen=True)
class Made:
    plan: Plan
    facts: PackFacts
    laid: Laid

    @cached_property
    def sizes(self) -> dict[str, Size]:
        return {size.name: size for size in self.plan.sizes}

    @cached_property
    def planned(self) -> dict[str, PlacedStone]:
        return {stone.id: stone for stone in self.plan.stones}

    @cached_property
    def written(self) -> dict[str, StoneRow]:
        return {row.id: row for row in self.facts.stones}

    @cached_property
    def by_stem(self) -> dict[str, tuple[SheetFacts, ...]]:
        """The written sheets by their file's name without its ending."""
        found: defaultdict[str, list[SheetFacts]] = defaultdict(list)
        for sheet in self.facts.sheets:
            found[sheet_stem(sheet.file)].append(self._true_size(sheet))
        return {name: tuple(sheets) for name, sheets in found.items()}

    def _true_size(self, sheet: SheetFacts) -> SheetFacts:
        """A plotter's file as the maker's plotter draws it, whose units are not 40 to the mm."""
        units = self.plan.rules.hpgl_units_per_mm
        if not sheet.file.endswith(ENDINGS["hpgl"]) or units == UNITS_PER_MM:
            return sheet
        s = UNITS_PER_MM / units
        return replace(
            sheet,
            circles=tuple(
                c._replace(x_mm=s * c.x_mm, y_mm=s * c.y_mm, diameter_mm=s * c.diameter_mm)
                for c in sheet.circles
            ),
            paths=tuple(
                p._replace(points=tuple((s * x, s * y) for x, y in p.points)) for p in sheet.paths
            ),
            step_mm=s * sheet.step_mm,
        )

    @cached_property
    def printed(self) -> Printed:
        """The pages of the written PDFs."""
        return Printed(sheet for sheet in self.facts.sheets if sheet.file.endswith(".pdf"))

    @cached_property
    def sheets(self) -> dict[str, Sheet]:
        """The plan's sheets by their names; of two of one name the first."""
        return {sheet.name: sheet for sheet in reversed(self.plan.sheets)}

    @cached_property
    def sheet_of(self) -> dict[str, str]:
        """The sheet's name for each template that the written holes name."""
        names = dict.fromkeys(row.template for row in self.facts.holes)
        return {template: sheet_stem(template) for template in names}

    @cached_property
    def holes(self) -> dict[str, tuple[HoleRow, ...]]:
        """The written holes by their sheet's name, as they stand in the list."""
        found: defaultdict[str, list[HoleRow]] = defaultdict(list)
        for row in self.facts.holes:
            found[self.sheet_of[row.template]].append(row)
        return {name: tuple(rows) for name, rows in found.items()}

    @cached_property
    def anchors(self) -> dict[str, tuple[Point, ...]]:
        """By a sheet's name the points by which a page of it is known: its register marks, those of
        its passes, and its bars' ends.
        """
        found: defaultdict[str, list[Point]] = defaultdict(list)
        for each in self.plan.passes:
            found[sheet_stem(each.template)] += each.register
        for sheet in self.plan.sheets:
            found[sheet.name] += sheet.register
            for bar in sheet.bars:
                found[sheet.name] += [(bar.x0, bar.y0), (bar.x1, bar.y1)]
        return {name: tuple(points) for name, points in found.items()}

    def cloths(self) -> tuple[Indices, ...]:
        """Which stones lie on one cloth: a side of a piece, or all of one joined at its fold."""
        joined = {s.piece for s in self.plan.ground.surfaces if s.joined_at_fold}
        found: defaultdict[tuple[str, str], list[int]] = defaultdict(list)
        for index in np.flatnonzero(self.laid.known):
            row = self.laid.rows[index]
            found[row.piece, "" if row.piece in joined else row.side].append(int(index))
        return tuple(np.array(found[key], dtype=np.intp) for key in sorted(found))

    def halves(self) -> dict[tuple[str, str], Indices]:
        """Which stones lie on the drawn reference: by piece and side, those on the fold in both."""
        found: defaultdict[tuple[str, str], list[int]] = defaultdict(list)
        centred: defaultdict[str, list[int]] = defaultdict(list)
        for index in np.flatnonzero(self.laid.known):
            row = self.laid.rows[index]
            if row.side == Side.CENTRE:
                centred[row.piece].append(int(index))
            else:
                found[row.piece, row.side].append(int(index))
        for piece, stones in centred.items():
            sides = [side for each, side in found if each == piece] or [str(Side.CENTRE)]
            for side in sides:
                found[piece, side] += stones
        return {key: np.array(found[key], dtype=np.intp) for key in sorted(found)}

    def outline(self, index: int, *, on_garment: bool = False) -> Numbers:
        """A shaped stone's outline, on the reference or the garment: shape (1, corners, 2)."""
        row = self.laid.rows[index]
        at, turn = self.laid.at[index : index + 1], self.laid.turn_deg[index : index + 1]
        if on_garment:
            at, turn = np.array([[row.x_mm, row.y_mm]]), np.array([row.angle_deg])
        size = self.sizes.get(row.size)
        shape = size.shape if size else StoneShape.OVAL
        return outlines(shape, row.length_mm, row.width_mm, at, turn)


def lay_back(plan: Plan, facts: PackFacts) -> Made:
    """Each stone of stones.csv, taken back from its wearer's side to the drawn reference."""
    surfaces = {surface.piece: surface for surface in plan.ground.surfaces}
    planned = {stone.id: stone for stone in plan.stones}
    sizes = {size.name: size for size in plan.sizes}
    back = {
        (piece, str(side)): inverse(transform)
        for piece, surface in surfaces.items()
        for side, transform in _sides(surface).items()
    }
    count = len(facts.stones)
    at = np.array([(row.x_mm, row.y_mm) for row in facts.stones]).reshape(count, 2)
    turn = np.array([row.angle_deg for row in facts.stones], dtype=np.float64)
    known = np.zeros(count, dtype=np.bool_)
    groups: defaultdict[tuple[str, str], list[int]] = defaultdict(list)
    for index, row in enumerate(facts.stones):
        groups[row.piece, row.side].append(index)
    for key, members in groups.items():
        transform = back.get(key)
        if transform is None:
            continue
        at[members] = moved(at[members], transform)
        turn[members] = [transform.turned(float(each)) for each in turn[members]]
        known[members] = [facts.stones[each].id in planned for each in members]
    is_round = np.array([_is_round(sizes.get(row.size)) for row in facts.stones], dtype=np.bool_)
    length = np.array([row.length_mm for row in facts.stones], dtype=np.float64)
    width = np.array([row.width_mm for row in facts.stones], dtype=np.float64)
    gaps = [planned[row.id].gap_mm if row.id in planned else 0.0 for row in facts.stones]
    heights = [sizes[row.size].height_mm if row.size in sizes else 0.0 for row in facts.stones]
    laid = Laid(
        facts.stones,
        at,
        turn,
        np.where(is_round, np.maximum(length, width), np.hypot(length, width)) / 2,
        np.array(gaps, dtype=np.float64),
        np.array(heights, dtype=np.float64),
        is_round,
        known,
    )
    return Made(plan, facts, laid)


def _is_round(size: Size | None) -> bool:
    return size is None or size.is_round


def _sides(surface: Surface) -> dict[Side, Transform]:
    found = {placement.side: placement.transform for placement in surface.sides}
    if surface.joined_at_fold:
        found.setdefault(Side.CENTRE, IDENTITY)
    return found
