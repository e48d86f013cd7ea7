"""Left mirrors right, stone for stone. Imported late: numpy."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from templater.checks.bounds import fold_of, from_fold
from templater.checks.findings import EDITED, REMAKE, capped, error
from templater.checks.flat import area_segments
from templater.checks.made import TOL_MM, Made
from templater.checks.nearby import Indices, near_pairs
from templater.model.curves import IDENTITY, mirror_about
from templater.model.ground import Make, Side
from templater.model.problems import Problem, Problems

_TURN_DEG = 0.01
_OFF_MM = 0.0005

_SIDES = {
    Make.PAIR: {Side.LEFT, Side.RIGHT},
    Make.FOLD: {Side.LEFT, Side.RIGHT, Side.CENTRE},
    Make.SINGLE: {Side.SINGLE},
}


def sides_are_mirrored(made: Made) -> Problems:
    """The drawn side lies as drawn; the other is mirrored about the fold, or where there is none
    about the piece's largest x.
    """
    return capped(_surfaces(made))


def _surfaces(made: Made) -> Iterator[Problem]:
    pieces = {piece.name: piece for piece in made.plan.ground.pieces}
    for surface in made.plan.ground.surfaces:
        piece = pieces[surface.piece]
        if piece.fold is not None:
            mirror = piece.fold.mirror
        elif piece.area is not None:
            high = float(area_segments(piece.area)[:, [0, 2]].max())
            mirror = mirror_about((high, 0.0), (high, 1.0))
        else:
            mirror = IDENTITY
        for placement in surface.sides:
            drawn = placement.side in {piece.drawn, Side.SINGLE, Side.CENTRE}
            wanted = IDENTITY if drawn else mirror
            off = max(
                math.dist(placement.transform.apply(corner), wanted.apply(corner))
                for corner in ((0.0, 0.0), (1000.0, 0.0), (0.0, 1000.0))
            )
            if off > _OFF_MM:
                yield error(
                    "side-not-mirrored",
                    f"side {placement.side} of piece {surface.piece} lies {off:.4f} mm from where "
                    f"{'it was drawn' if drawn else 'its mirror image belongs'}",
                )


def sides_are_right(made: Made) -> Problems:
    """Every stone is on a side that its piece has, and only stones on a fold are `centre`."""
    return capped(_sides(made))


def _sides(made: Made) -> Iterator[Problem]:
    laid = made.laid
    makes = {piece.name: piece.make for piece in made.plan.ground.pieces}
    for row in laid.rows:
        make = makes.get(row.piece)
        if make is None or row.side not in _SIDES[make]:
            yield error(
                "stone-side-wrong",
                f"stone {row.id} is on side {row.side!r} of piece {row.piece!r}, which has no such side",
                at=(row.x_mm, row.y_mm),
                file="stones.csv",
            )
    for index in np.flatnonzero(laid.known):
        row = laid.rows[index]
        fold = fold_of(made, row.piece)
        if fold is None:
            continue
        off = abs(float(from_fold(laid.at[index : index + 1], fold)[0]))
        if (row.side == Side.CENTRE) != (off <= TOL_MM):
            yield error(
                "stone-not-centred",
                f"{laid.name(int(index))} is {off:.4f} mm from the fold; stones on the fold, and no "
                "others, are counted once, as centre",
                at=(row.x_mm, row.y_mm),
                file="stones.csv",
            )


def left_mirrors_right(made: Made) -> Problems:
    """On every piece with two sides, each stone of one lies, to 1 µm, where its twin lies."""
    return capped(_unlike(made))


def _unlike(made: Made) -> Iterator[Problem]:
    laid = made.laid
    for surface in made.plan.ground.surfaces:
        sides = [placement.side for placement in surface.sides]
        if Side.LEFT not in sides or Side.RIGHT not in sides:
            continue
        left, right = (
            np.array(
                [
                    index
                    for index in np.flatnonzero(laid.known)
                    if laid.rows[index].piece == surface.piece and laid.rows[index].side == side
                ],
                np.intp,
            )
            for side in (Side.LEFT, Side.RIGHT)
        )
        for here, there in ((left, right), (right, left)):
            yield from _without_twin(made, here, there)


def _without_twin(made: Made, here: Indices, there: Indices) -> Iterator[Problem]:
    laid = made.laid
    twins: dict[int, int] = {}
    taken: dict[int, int] = {}
    i, j = near_pairs(laid.at[here], laid.at[there], TOL_MM)
    for one, other in zip(i.tolist(), j.tolist(), strict=True):
        if one not in twins and other not in taken:
            twins[one], taken[other] = other, one
    for place, index in enumerate(here.tolist()):
        row = laid.rows[index]
        at = (row.x_mm, row.y_mm)
        twin = twins.get(place)
        if twin is None:
            yield error(
                "stone-without-twin",
                f"{laid.name(index)} has no mirror image on the other side",
                EDITED,
                at=at,
            )
            continue
        mate = int(there[twin])
        other_row = laid.rows[mate]
        unlike = [
            f"{name} {mine} and {theirs}"
            for name, mine, theirs in zip(
                ("zone", "size", "colour", "finish", "kind"),
                (row.zone, row.size, row.colour, row.finish, row.kind),
                (
                    other_row.zone,
                    other_row.size,
                    other_row.colour,
                    other_row.finish,
                    other_row.kind,
                ),
                strict=True,
            )
            if mine != theirs
        ]
        turned = abs((laid.turn_deg[index] - laid.turn_deg[mate] + 180.0) % 360.0 - 180.0)
        if not laid.is_round[index] and turned > _TURN_DEG:
            unlike.append(f"turned by {turned:.3f} degrees")
        if unlike:
            yield error(
                "twins-unlike",
                f"{laid.name(index)} and its mirror image {other_row.id} differ: {', '.join(unlike)}",
                REMAKE,
                at=at,
            )
