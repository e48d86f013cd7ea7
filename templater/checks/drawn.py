"""What is listed is drawn: every hole a circle in every written sheet, and no hole besides.

Imported late: numpy.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator

import numpy as np

from templater.checks.drawn_tiles import NEAR_MM, holes_on_tiles, matched, round_spots, spots
from templater.checks.findings import capped, error
from templater.checks.flat import Points
from templater.checks.holes import stem
from templater.checks.made import Made
from templater.checks.nearby import inside, near_pairs
from templater.model.facts import HoleRow, SheetFacts
from templater.model.formats import ENDINGS
from templater.model.parts import Hole
from templater.model.problems import Problem, Problems
from templater.model.stones import StoneShape

MARK_MM = 0.02
ROUND_ONLY = (ENDINGS["drill"], ENDINGS["xy"])
"""Files that hold round holes alone."""
WITH_MARKS = (ENDINGS["hpgl"], ENDINGS["xy"])
"""Machines' files that hold register marks too."""


def sheet_files(made: Made, name: str) -> tuple[SheetFacts, ...]:
    """The pages of a sheet's files in the formats in which a sheet is one page at its own size."""
    found = made.by_stem.get(name, ())
    pages = Counter(sheet.file for sheet in found)
    return tuple(sheet for sheet in found if pages[sheet.file] == 1)


def tiled_pages(made: Made, name: str) -> dict[str, tuple[SheetFacts, ...]]:
    """The pages on which a sheet is printed: all of a PDF of its name, or, in one that prints the
    sheets of its folder, those whose texts name it by its title and number.
    """
    folder, last = name.rsplit("/", 1) if "/" in name else ("", name)
    numbers = made.printed.in_files((name, f"print/{last}"))
    own = made.sheets.get(name)
    if own is not None:
        numbers |= made.printed.naming(own, (folder, f"print/{folder}"))
    found: defaultdict[str, list[SheetFacts]] = defaultdict(list)
    for page in made.printed.pages(numbers):
        found[page.file].append(page)
    whole = {page.file for page in sheet_files(made, name)}
    return {file: tuple(pages) for file, pages in found.items() if file not in whole}


def sheets_are_written(made: Made) -> Problems:
    """Every pass and every sheet of parts in every format asked for; every other sheet somewhere
    in the pack. What has no round hole has no table of holes.
    """
    return capped(_written(made))


def _written(made: Made) -> Iterator[Problem]:
    files = set(made.facts.files)
    drilled = {
        stem(each.template): not all(_shape(hole) for hole in each.holes)
        for each in made.plan.passes
    }
    with_parts = {placed.sheet for placed in made.plan.placed}
    for name in [*drilled, *sorted(with_parts - drilled.keys())]:
        for ending in (ENDINGS[each] for each in made.plan.rules.formats if each in ENDINGS):
            if name + ending in files or (ending == ".pdf" and tiled_pages(made, name)):
                continue
            if ending in ROUND_ONLY and not drilled.get(name, False):
                continue
            yield error("sheet-missing", f"{name}{ending} is not in the pack", file=name + ending)
    shown = {stem(file).rsplit("/", 1)[-1] for file in files if "/" in file}
    for sheet in made.plan.sheets:
        last = sheet.name.rsplit("/", 1)[-1]
        if last not in shown and not tiled_pages(made, sheet.name):
            yield error("sheet-missing", f"no file of sheet {sheet.name} is in the pack")


def holes_are_drawn(made: Made) -> Problems:
    """In each file of a pass: each hole's circle, to 0.01 mm, and no other on a layer of holes."""
    return capped(_drawn(made))


def _drawn(made: Made) -> Iterator[Problem]:
    passes = [(stem(each.template), each) for each in made.plan.passes]
    holes = {(name, hole.order): hole for name, each in passes for hole in each.holes}
    for name, own in sorted(made.holes.items()):
        shaped = [row for row in own if _shape(holes.get((name, row.order)))]
        round_rows = [row for row in own if not _shape(holes.get((name, row.order)))]
        for sheet in sheet_files(made, name):
            yield from _circles(sheet, round_rows, extra=not sheet.file.endswith(".pdf"))
            if not sheet.file.endswith(ROUND_ONLY):
                yield from _outlines(sheet, shaped, holes, name)
        if made.plan.rules.calibrate != (1.0, 1.0):
            continue  # pages made larger for a printer that prints too small hold no true circles
        for file, pages in sorted(tiled_pages(made, name).items()):
            yield from holes_on_tiles(file, pages, round_rows, anchors_of(made, name))


def anchors_of(made: Made, name: str) -> Points:
    """Points of a sheet by which a page of it is known: its register marks and bars' ends."""
    marks = made.anchors.get(name, ())
    return np.array(marks, dtype=np.float64).reshape(len(marks), 2)


def _shape(hole: Hole | None) -> bool:
    return hole is not None and hole.shape not in {"", str(StoneShape.ROUND)}


def _circles(sheet: SheetFacts, rows: list[HoleRow], *, extra: bool) -> Iterator[Problem]:
    at, wide = spots(rows)
    on, drawn = round_spots(sheet)
    i, j = matched(at, wide, on, drawn, sheet.step_mm)
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
        near = 3 * NEAR_MM + sheet.step_mm
        if not any(_is_outline(paths[int(index)], at, hole, near) for index in about):
            yield error(
                "hole-not-drawn",
                f"{sheet.file}: the {hole.shape} hole {row.order} is not drawn where holes.csv has it",
                at=at,
                file=sheet.file,
            )


def _is_outline(path: Points, at: Points, hole: Hole, near_mm: float) -> bool:
    turn = np.radians(hole.turn_deg)
    along = (path - at) @ np.array([np.cos(turn), np.sin(turn)])
    across = (path - at) @ np.array([-np.sin(turn), np.cos(turn)])
    sides = np.hstack([path, np.roll(path, -1, axis=0)])
    return bool(
        inside(at.reshape(1, 2), sides)[0]
        and abs(np.ptp(along) - hole.length_mm) <= near_mm
        and abs(np.ptp(across) - hole.diameter_mm) <= near_mm
    )


def register_marks_are_drawn(made: Made) -> Problems:
    """Every register mark of a pass or sheet is a ring where the plan has it."""
    return capped(_rings(made))


def _rings(made: Made) -> Iterator[Problem]:
    marks = {stem(each.template): each.register for each in made.plan.passes}
    marks.update({sheet.name: sheet.register for sheet in made.plan.sheets})
    for name, points in sorted(marks.items()):
        for sheet in sheet_files(made, name):
            if sheet.bare and not sheet.file.endswith(WITH_MARKS):
                continue  # marks are drawn, and these only cut
            on, _ = round_spots(sheet)
            at = np.array(points).reshape(len(points), 2)
            i, _ = near_pairs(at, on, MARK_MM + sheet.step_mm)
            for index in np.setdiff1d(np.arange(len(at)), i):
                yield error(
                    "register-not-drawn",
                    f"{sheet.file}: a register mark is not drawn where the plan has it",
                    at=at[index],
                    file=sheet.file,
                )
