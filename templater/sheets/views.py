"""Which sides of a piece lie on one sheet, with what lies on them."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from templater.model.curves import Point, Transform
from templater.model.ground import Ground, Piece, Side, Surface
from templater.model.parts import Pass
from templater.model.sheets import Drawable
from templater.model.stones import PlacedStone
from templater.sheets.cloth_marks import ClothMarks, Panel

_MARK_CLEAR_MM = 6.0


@dataclass(frozen=True, slots=True)
class View:
    """One or both sides of a piece as they lie on a sheet: the garment's frame, not yet moved."""

    surface: Surface
    piece: Piece
    sides: tuple[tuple[Side, Transform], ...]
    stones: tuple[PlacedStone, ...]
    part_marks: Mapping[Point, str]
    panel_marks: Mapping[Point, str]
    cloth: tuple[ClothMarks, ...] = ()
    measures: tuple[Drawable, ...] = ()

    @property
    def marks(self) -> dict[Point, str]:
        """Every register mark with what it belongs to."""
        return {**self.panel_marks, **self.part_marks}

    @property
    def side(self) -> Side:
        return self.sides[0][0] if len(self.sides) == 1 else Side.CENTRE


def views_of(
    ground: Ground,
    surface: Surface,
    stones: Sequence[PlacedStone],
    passes: Sequence[Pass],
    part_marks: Mapping[tuple[str, Side], Mapping[Point, str]],
    cloth: Mapping[Panel, tuple[ClothMarks, ...]],
) -> Iterator[View]:
    """The surface's views: one of both sides where they are joined at the fold, else one a side."""
    piece = ground.piece(surface.piece)
    sides = [(placement.side, placement.transform) for placement in surface.sides]
    for group in [sides] if surface.joined_at_fold else [[side] for side in sides]:
        names = {side for side, _ in group}
        whole = len(group) > 1
        own = tuple(s for s in stones if s.piece == piece.name and (whole or s.side in names))
        panels = {
            (round(x - one.to_sheet.e, 4), round(y - one.to_sheet.f, 4)): _mark_name(one)
            for one in passes
            if one.piece == piece.name and not one.reversed and (whole or one.side in names)
            for x, y in one.register
        }
        parts = {
            mark: name
            for side in Side
            if whole or side in names
            for mark, name in part_marks.get((piece.name, side), {}).items()
        }
        cut = tuple(
            marks
            for (on_piece, _, side, _), found in cloth.items()
            if on_piece == piece.name and (whole or side in names)
            for marks in found
        )
        yield View(surface, piece, tuple(group), own, parts, panels, cut)


def clear_of_stones(view: View) -> dict[Point, str]:
    """The parts' marks that lie on bare cloth."""
    rings = [(s.x_mm, s.y_mm, max(s.length_mm, s.width_mm) / 2.0) for s in view.stones]
    return {
        mark: name
        for mark, name in view.part_marks.items()
        if all(math.dist(mark, (x, y)) >= r + _MARK_CLEAR_MM for x, y, r in rings)
    }


def _mark_name(one: Pass) -> str:
    """What a register mark belongs to: "frond A"."""
    return f"{one.zone} {one.panel.upper()}".strip()
