"""Stones beside seams that are still to be sewn are told to be set after. Imported late: numpy."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from templater.checks.bounds import distances, shape_segments, stones_on_piece
from templater.checks.findings import capped, error
from templater.checks.made import SHAPED_TOL_MM, TOL_MM, Made
from templater.model.problems import Problem, Problems

FILE = "after-sewing.csv"


def stones_beside_seams_are_told(made: Made) -> Problems:
    """Every stone that lies where the job has stones set after sewing, and no other, is in the list."""
    return capped(_told(made))


def _told(made: Made) -> Iterator[Problem]:
    laid = made.laid
    room = np.full(len(laid.rows), np.inf)
    for keep in made.plan.ground.keep_clear:
        members = stones_on_piece(made, keep.piece)
        if keep.later_mm > 0.0 and len(members):
            far = distances(made, members, shape_segments(keep.shape), keep.later_mm)
            room[members] = np.minimum(room[members], far - keep.later_mm)
    listed = {row.id: row for row in made.facts.after_sewing}
    if len(listed) != len(made.facts.after_sewing):
        yield error("after-sewing-twice", f"{FILE} lists a stone twice", file=FILE)
    for name in sorted(set(listed) - {row.id for row in laid.rows}):
        yield error("after-sewing-unknown", f"{FILE} lists {name}, which is no stone", file=FILE)
    for index, row in enumerate(laid.rows):
        allowed = TOL_MM if laid.is_round[index] else SHAPED_TOL_MM
        planned = made.planned.get(row.id)
        flag = planned is not None and planned.after_sewing
        if row.id in listed and listed[row.id] != row:
            yield error(
                "after-sewing-differs",
                f"{laid.name(index)} is told otherwise in {FILE} than in stones.csv",
                at=(row.x_mm, row.y_mm),
                file=FILE,
            )
        if flag != (row.id in listed):
            yield error(
                "after-sewing-not-planned",
                f"{laid.name(index)} is {'not ' if flag else ''}in {FILE}, against the plan",
                at=(row.x_mm, row.y_mm),
                file=FILE,
            )
        elif (room[index] < -allowed and not flag) or (room[index] > allowed and flag):
            where = "beside" if not flag else "away from"
            yield error(
                "after-sewing-wrong",
                f"{laid.name(index)} lies {where} the seams still to be sewn, and is "
                f"{'' if flag else 'not '}told to be set after sewing",
                at=(row.x_mm, row.y_mm),
            )
