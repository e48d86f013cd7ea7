"""What is listed is drawn: every hole a circle in every written sheet, and no hole besides.

Imported late: numpy.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

import numpy as np

from templater.checks.findings import capped, error
from templater.checks.flat import Points
from templater.checks.holes import SHEET_ENDINGS, stem
from templater.checks.made import Made
from templater.checks.nearby import Indices, Numbers, inside, near_pairs
from templater.model.facts import HoleRow, SheetFacts
from templater.model.parts import Hole
from templater.model.problems import Problem, Problems
from templater.model.stones import StoneShape

NEAR_MM = 0.01
"""How far a drawn hole may lie from holes.csv, and how much its diameter may differ."""
MARK_MM = 0.02
_VOTES = 40
_VOTE_MM = 0.05


def sheet_files(made: Made, name: str) -> tuple[SheetFacts, ...]:
    """The pages of a sheet's files in the formats in which a sheet is one page at its own size."""
    found = [sheet for sheet in made.facts.sheets if stem(sheet.file) == name]
    pages = [sheet.file for sheet in found]
    return tuple(sheet for sheet in found if pages.count(sheet.file) == 1)


def tiled_pages(made: Made, name: str) -> dict[str, tuple[SheetFacts, ...]]:
    """The pages of each PDF that prints a sheet: of its own name, or of that name under print/."""
    last = name.rsplit("/", 1)[-1]
    found: defaultdict[str, list[SheetFacts]] = defaultdict(list)
    for sheet in made.facts.sheets:
        own = stem(sheet.file)
        if sheet.file.endswith(".pdf") and (
            own == name or (own.startswith("print/") and own.rsplit("/", 1)[-1] == last)
        ):
            found[sheet.file].append(sheet)
    whole = {sheet.file for sheet in sheet_files(made, name)}
    return {file: tuple(pages) for file, pages in found.items() if file not in whole}


def sheets_are_written(made: Made) -> Problems:
    """Every pass in every format asked for; every other sheet somewhere in the pack."""
    return capped(_written(made))


def _written(made: Made) -> Iterator[Problem]:
    asked = [f".{each}" for each in made.plan.rules.formats if f".{each}" in SHEET_ENDINGS]
    files = set(made.facts.files)
    for each in made.plan.passes:
        name = stem(each.template)
        for ending in asked:
            if name + ending in files or (ending == ".pdf" and tiled_pages(made, name)):
                continue
            yield error("sheet-missing", f"{name}{ending} is not in the pack", file=name + ending)
    for sheet in made.plan.sheets:
        last = sheet.name.rsplit("/", 1)[-1]
        if not any(stem(file).rsplit("/", 1)[-1] == last for file in files if "/" in file):
            yield error("sheet-missing", f"no file of sheet {sheet.name} is in the pack")


def holes_are_drawn(made: Made) -> Problems:
    """In each file of a pass: each hole's circle, to 0.01 mm, and no other on a layer of holes."""
    return capped(_drawn(made))


def _drawn(made: Made) -> Iterator[Problem]:
    rows: defaultdict[str, list[HoleRow]] = defaultdict(list)
    for row in made.facts.holes:
        rows[stem(row.template)].append(row)
    holes = {(stem(p.template), hole.order): hole for p in made.plan.passes for hole in p.holes}
    for name, own in sorted(rows.items()):
        shaped = [row for row in own if _shape(holes.get((name, row.order)))]
        round_rows = [row for row in own if not _shape(holes.get((name, row.order)))]
        for sheet in sheet_files(made, name):
            yield from _circles(sheet, round_rows, extra=not sheet.file.endswith(".pdf"))
            yield from _outlines(sheet, shaped, holes, name)
        for file, pages in sorted(tiled_pages(made, name).items()):
            yield from _on_tiles(file, pages, round_rows)


def _shape(hole: Hole | None) -> bool:
    return hole is not None and hole.shape not in {"", str(StoneShape.ROUND)}


def _spots(rows: list[HoleRow]) -> tuple[Points, Numbers]:
    at = np.array([(row.x_mm, row.y_mm) for row in rows]).reshape(len(rows), 2)
    return at, np.array([row.diameter_mm for row in rows])


def _round_spots(sheet: SheetFacts) -> tuple[Points, Numbers]:
    at = np.array([circle[:2] for circle in sheet.circles], dtype=np.float64)
    return at.reshape(len(sheet.circles), 2), np.array([c.diameter_mm for c in sheet.circles])


def _matched(at: Points, wide: Numbers, on: Points, drawn: Numbers) -> tuple[Indices, Indices]:
    """Pairs (hole, circle) that agree in place and diameter, each circle taken once."""
    i, j = near_pairs(at, on, NEAR_MM)
    agree = np.abs(wide[i] - drawn[j]) <= NEAR_MM
    i, j = i[agree], j[agree]
    _, first = np.unique(j, return_index=True)
    i, j = i[first], j[first]
    _, first = np.unique(i, return_index=True)
    return i[first], j[first]


def _circles(sheet: SheetFacts, rows: list[HoleRow], *, extra: bool) -> Iterator[Problem]:
    at, wide = _spots(rows)
    on, drawn = _round_spots(sheet)
    i, j = _matched(at, wide, on, drawn)
    for index in np.setdiff1d(np.arange(len(rows)), i):
        row = rows[int(index)]
        yield error(
            "hole-not-drawn",
            f"{sheet.file}: hole {row.order} ({row.diameter_mm} mm) is not drawn where holes.csv "
            "has it",
            at=(row.x_mm, row.y_mm),
            file=sheet.file,
        )
    layers = {sheet.circles[int(each)].layer for each in j} if extra else set()
    for index in np.setdiff1d(np.arange(len(on)), j):
        circle = sheet.circles[int(index)]
        if circle.layer in layers:
            yield error(
                "hole-never-listed",
                f"{sheet.file}: a circle of {circle.diameter_mm:.3f} mm on the layer of the holes "
                "is not in holes.csv",
                at=circle[:2],
                file=sheet.file,
            )


def _outlines(
    sheet: SheetFacts, rows: list[HoleRow], holes: dict[tuple[str, int], Hole], name: str
) -> Iterator[Problem]:
    """Shaped holes: a closed path about the hole's centre, as long and as wide as the hole."""
    paths = [np.array(path.points) for path in sheet.paths if path.closed and len(path.points) > 2]
    boxes = np.array([[*p.min(axis=0), *p.max(axis=0)] for p in paths]).reshape(len(paths), 4)
    for row in rows:
        hole, at = holes[name, row.order], np.array([row.x_mm, row.y_mm])
        about = np.flatnonzero(np.all((boxes[:, :2] <= at) & (boxes[:, 2:] >= at), axis=1))
        if not any(_is_outline(paths[int(index)], at, hole) for index in about):
            yield error(
                "hole-not-drawn",
                f"{sheet.file}: the {hole.shape} hole {row.order} is not drawn where holes.csv has it",
                at=at,
                file=sheet.file,
            )


def _is_outline(path: Points, at: Points, hole: Hole) -> bool:
    turn = np.radians(hole.turn_deg)
    along = (path - at) @ np.array([np.cos(turn), np.sin(turn)])
    across = (path - at) @ np.array([-np.sin(turn), np.cos(turn)])
    sides = np.hstack([path, np.roll(path, -1, axis=0)])
    return bool(
        inside(at.reshape(1, 2), sides)[0]
        and abs(np.ptp(along) - hole.length_mm) <= 3 * NEAR_MM
        and abs(np.ptp(across) - hole.diameter_mm) <= 3 * NEAR_MM
    )


def _on_tiles(file: str, pages: tuple[SheetFacts, ...], rows: list[HoleRow]) -> Iterator[Problem]:
    """Each hole on one of a PDF's pages at least, all of a page's moved by one shift."""
    at, wide = _spots(rows)
    found = np.zeros(len(rows), np.bool_)
    for page in pages:
        on, drawn = _round_spots(page)
        shift = _shift(at, wide, on, drawn)
        if shift is not None:
            i, _ = _matched(at + shift, wide, on, drawn)
            found[i] = True
    for index in np.flatnonzero(~found):
        row = rows[int(index)]
        yield error(
            "hole-not-drawn",
            f"{file}: hole {row.order} of {row.template} is on none of its pages",
            at=(row.x_mm, row.y_mm),
            file=file,
        )


def _shift(at: Points, wide: Numbers, on: Points, drawn: Numbers) -> Numbers | None:
    """The shift from a sheet to a page that most of a few of the page's circles vote for."""
    if not len(at) or not len(on):
        return None
    some = np.flatnonzero(np.min(np.abs(drawn[:, None] - wide[:1]), axis=1) <= NEAR_MM)
    if not len(some):
        some = np.arange(len(on))
    some = some[np.linspace(0, len(some) - 1, min(_VOTES, len(some))).astype(np.intp)]
    votes = (on[some][:, None, :] - at[None, :, :]).reshape(-1, 2)
    same = np.abs(drawn[some][:, None] - wide[None, :]).reshape(-1) <= NEAR_MM
    votes = votes[same]
    if not len(votes):
        return None
    cells = np.round(votes / _VOTE_MM).astype(np.int64)
    _, which, counts = np.unique(cells, axis=0, return_inverse=True, return_counts=True)
    best: Numbers = np.median(votes[which.reshape(-1) == int(np.argmax(counts))], axis=0)
    return best


def register_marks_are_drawn(made: Made) -> Problems:
    """Every register mark of a pass or sheet is a ring where the plan has it."""
    return capped(_rings(made))


def _rings(made: Made) -> Iterator[Problem]:
    marks = {stem(each.template): each.register for each in made.plan.passes}
    marks.update({sheet.name: sheet.register for sheet in made.plan.sheets})
    for name, points in sorted(marks.items()):
        for sheet in sheet_files(made, name):
            on, _ = _round_spots(sheet)
            at = np.array(points).reshape(len(points), 2)
            i, _ = near_pairs(at, on, MARK_MM)
            for index in np.setdiff1d(np.arange(len(at)), i):
                yield error(
                    "register-not-drawn",
                    f"{sheet.file}: a register mark is not drawn where the plan has it",
                    at=at[index],
                    file=sheet.file,
                )
