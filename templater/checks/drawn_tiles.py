"""Holes found among a page's circles, where a page is a whole sheet or a tile of one.

Imported late: numpy.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from templater.checks.findings import error
from templater.checks.flat import Points
from templater.checks.nearby import Indices, Numbers, near_pairs
from templater.model.facts import HoleRow, SheetFacts
from templater.model.problems import Problem

NEAR_MM = 0.01
"""How far a drawn hole may lie from holes.csv, and how much its diameter may differ."""
_VOTES, _OWN_VOTES = 60, 24
_VOTE_MM = 0.05
_MOST_SHIFTS = 60
_ROW = 1 << 31


def spots(rows: list[HoleRow]) -> tuple[Points, Numbers]:
    at = np.array([(row.x_mm, row.y_mm) for row in rows]).reshape(len(rows), 2)
    return at, np.array([row.diameter_mm for row in rows])


def round_spots(sheet: SheetFacts) -> tuple[Points, Numbers]:
    at = np.array([circle[:2] for circle in sheet.circles], dtype=np.float64)
    return at.reshape(len(sheet.circles), 2), np.array([c.diameter_mm for c in sheet.circles])


def matched(
    at: Points, wide: Numbers, on: Points, drawn: Numbers, step_mm: float = 0.0
) -> tuple[Indices, Indices]:
    """Pairs (hole, circle) that agree in place and diameter, each circle taken once.

    Where a format's coordinates and radii go in steps, each may be half a step off.
    """
    i, j = near_pairs(at, on, NEAR_MM + step_mm * 0.7072)
    agree = np.abs(wide[i] - drawn[j]) <= NEAR_MM + step_mm
    i, j = i[agree], j[agree]
    _, first = np.unique(j, return_index=True)
    i, j = i[first], j[first]
    _, first = np.unique(i, return_index=True)
    return i[first], j[first]


def holes_on_tiles(
    file: str, pages: tuple[SheetFacts, ...], rows: list[HoleRow], anchors: Points
) -> Iterator[Problem]:
    """Each hole on one of a PDF's pages at least, all of a page's moved by one shift.

    Where holes stand in even rows a page may match the sheet in several places; pages that match
    in one place only come first, then each page is put where it shows most holes not yet found.
    """
    at, wide = spots(rows)
    found = np.zeros(len(rows), np.bool_)
    shown = []
    for page in pages:
        on, drawn = round_spots(page)
        shifts = _shifts(at, wide, anchors, page)
        shown.append([matched(at + shift, wide, on, drawn)[0] for shift in shifts])
    for places in sorted(shown, key=len):
        if places:
            found[max(places, key=lambda holes: int(np.sum(~found[holes])))] = True
    for index in np.flatnonzero(~found):
        row = rows[int(index)]
        yield error(
            "hole-not-drawn",
            f"{file}: hole {row.order} of {row.template} is on none of its pages",
            at=(row.x_mm, row.y_mm),
            file=file,
        )


def _shifts(at: Points, wide: Numbers, anchors: Points, page: SheetFacts) -> list[Numbers]:
    """The shifts from a sheet to a page for which most of a few marks vote: of the page's, or of the
    sheet's own where the page holds more than that one sheet.
    """
    on, drawn = round_spots(page)
    if not len(at) or not len(on):
        return []
    is_hole = np.min(np.abs(drawn[:, None] - np.unique(wide)), axis=1) <= NEAR_MM
    holes, own = np.flatnonzero(is_hole), np.arange(len(at))
    if len(holes) > len(at):
        own = _some(own, _OWN_VOTES)
    else:
        holes = _some(holes, _VOTES)
    votes = (on[holes][:, None, :] - at[own][None, :, :]).reshape(-1, 2)
    votes = votes[np.abs(drawn[holes][:, None] - wide[own][None, :]).reshape(-1) <= NEAR_MM]
    ends = [
        end for path in page.paths if not path.closed for end in (path.points[0], path.points[-1])
    ]
    marks = np.concatenate([on[~is_hole], np.array(ends, dtype=np.float64).reshape(len(ends), 2)])
    votes = np.concatenate([votes, (marks[:, None, :] - anchors[None, :, :]).reshape(-1, 2)])
    if not len(votes):
        return []
    cells = np.round(votes / _VOTE_MM).astype(np.int64)
    keys = cells[:, 0] * _ROW + cells[:, 1]
    kinds, counts = np.unique(keys, return_counts=True)
    best = kinds[counts >= counts.max()][:_MOST_SHIFTS]
    return [np.median(votes[keys == each], axis=0) for each in best]


def _some(indices: Indices, most: int) -> Indices:
    """A few of them, evenly."""
    return indices[np.linspace(0, len(indices) - 1, min(most, len(indices))).astype(np.intp)]
