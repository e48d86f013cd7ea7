"""Sheets are true size: their bars measure right, their pages are as large as they say."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator

import numpy as np

from templater.checks.drawn import sheet_files, tiled_pages
from templater.checks.findings import capped, error
from templater.checks.flat import Segments
from templater.checks.made import Made
from templater.model.facts import SheetFacts
from templater.model.problems import Problem, Problems
from templater.model.sheets import Bar

BAR_MM = 0.02
PAGE_MM = 0.02


def straight_lines(sheet: SheetFacts) -> Segments:
    """Every straight line of every path on a sheet."""
    parts = []
    for path in sheet.paths:
        points = np.array(path.points)
        if path.closed and len(points) > 2:
            points = np.vstack([points, points[:1]])
        parts.append(np.hstack([points[:-1], points[1:]]))
    return np.concatenate(parts) if parts else np.empty((0, 4))


def bars_measure_right(made: Made) -> Problems:
    """Each test bar is as long as it says, in the plan and in each file, to 0.02 mm."""
    return capped(_bars(made))


def _bars(made: Made) -> Iterator[Problem]:
    for sheet in made.plan.sheets:
        for bar in sheet.bars:
            length = math.dist(bar[:2], bar[2:4])
            if abs(length - bar.length_mm) > BAR_MM:
                yield error(
                    "bar-wrong",
                    f"{sheet.name}: a bar said to be {bar.length_mm} mm long is {length:.3f} mm",
                    at=bar[:2],
                )
        if not sheet.bars:
            continue
        for facts in sheet_files(made, sheet.name):
            if facts.bare:
                continue
            lines = straight_lines(facts)
            for bar in sheet.bars:
                if not _is_drawn(bar, lines):
                    yield error(
                        "bar-not-drawn",
                        f"{facts.file}: the {bar.length_mm} mm bar is not drawn true where it belongs",
                        at=bar[:2],
                        file=facts.file,
                    )
        for file, pages in sorted(tiled_pages(made, sheet.name).items()):
            yield from bars_on_pages(file, pages, sheet.bars, made.plan.rules.calibrate)


def _is_drawn(bar: Bar, lines: Segments) -> bool:
    ends = np.array(bar[:4])
    off = np.minimum(
        np.abs(lines - ends).max(axis=1, initial=0.0),
        np.abs(lines - ends[[2, 3, 0, 1]]).max(axis=1, initial=0.0),
    )
    return bool(np.any(off <= BAR_MM))


def bars_on_pages(
    file: str,
    pages: tuple[SheetFacts, ...],
    bars: tuple[Bar, ...],
    calibrate: tuple[float, float],
) -> Iterator[Problem]:
    """On some page of a tiled PDF there is a line with each bar's run and rise."""
    runs = np.concatenate([lines[:, 2:] - lines[:, :2] for lines in map(straight_lines, pages)])
    for bar in bars:
        run = np.array([bar.x1 - bar.x0, bar.y1 - bar.y0]) * calibrate
        off = np.minimum(
            np.abs(runs - run).max(axis=1, initial=0.0), np.abs(runs + run).max(axis=1, initial=0.0)
        )
        if not np.any(off <= BAR_MM):
            yield error(
                "bar-not-drawn",
                f"{file}: the {bar.length_mm} mm bar is on none of its pages at its true length",
                file=file,
            )


def pages_are_true_size(made: Made) -> Problems:
    """Files of one page are as large as their sheet; PDFs have one page size and ask for no scaling."""
    return capped(_pages(made))


def _pages(made: Made) -> Iterator[Problem]:
    sizes = {sheet.name: sheet.size_mm for sheet in made.plan.sheets}
    for name, size in sorted(sizes.items()):
        for facts in sheet_files(made, name):
            if facts.bare or facts.file.endswith(".dxf"):  # which have no page
                continue
            if math.dist(facts.size_mm, size) > PAGE_MM and not facts.file.startswith("print/"):
                yield error(
                    "page-size-wrong",
                    f"{facts.file} is {facts.size_mm[0]:.2f} × {facts.size_mm[1]:.2f} mm; the sheet "
                    f"is {size[0]:.2f} × {size[1]:.2f} mm",
                    file=facts.file,
                )
    pages: defaultdict[str, list[SheetFacts]] = defaultdict(list)
    for sheet in made.facts.sheets:
        if sheet.scaling_off is not None:
            pages[sheet.file].append(sheet)
    for file, own in sorted(pages.items()):
        if not own[0].scaling_off:
            yield error(
                "print-scaling-on", f"{file} does not ask to be printed unscaled", file=file
            )
