"""Cut lines are drawn where the plan has them, with their labels, readable. Imported late: numpy."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

import numpy as np

from templater.checks.drawn import sheet_files
from templater.checks.findings import capped, error
from templater.checks.flat import Points, area_segments, moved_segments, shortened
from templater.checks.holes import stem
from templater.checks.made import Made
from templater.checks.nearby import Lines, Numbers
from templater.checks.truesize import straight_lines
from templater.model.facts import SheetFacts
from templater.model.parts import CutPart, Placed
from templater.model.problems import Problem, Problems

LINE_MM = 0.02
"""How far a drawn cut line may lie from the plan's: readers flatten curves to 0.005 mm."""
_STEP_MM = 2.0


def cut_lines_are_drawn(made: Made) -> Problems:
    """In each file of a sheet, all along each part's cut line and every hole of it."""
    return capped(_cuts(made))


def _by_sheet(made: Made) -> dict[str, list[tuple[Placed, CutPart]]]:
    parts = {part.id: part for part in made.plan.parts}
    found: defaultdict[str, list[tuple[Placed, CutPart]]] = defaultdict(list)
    for placed in made.plan.placed:
        if placed.part in parts:
            found[placed.sheet].append((placed, parts[placed.part]))
    return found


def _cuts(made: Made) -> Iterator[Problem]:
    for name, members in sorted(_by_sheet(made).items()):
        for facts in sheet_files(made, name):
            lines = Lines(straight_lines(facts))
            for placed, part in members:
                points = _along(part, placed)
                off = np.minimum(lines.distance(points, 1.0), _from_circles(points, facts))
                worst = int(np.argmax(off))
                if off[worst] > LINE_MM + facts.step_mm:
                    far = "1 mm and more" if np.isinf(off[worst]) else f"{off[worst]:.3f} mm"
                    yield error(
                        "cut-line-not-drawn",
                        f"{facts.file}: the cut line of {part.id} is drawn {far} off",
                        at=points[worst],
                        file=facts.file,
                    )


def _from_circles(points: Points, facts: SheetFacts) -> Numbers:
    """Each point's distance from the nearest line of a true circle, which readers keep as one."""
    nearest = np.full(len(points), np.inf)
    for x, y, diameter, _ in facts.circles:
        far = np.abs(np.hypot(points[:, 0] - x, points[:, 1] - y) - diameter / 2)
        nearest = np.minimum(nearest, np.where(far <= 1.0, far, np.inf))
    return nearest


def _along(part: CutPart, placed: Placed) -> Points:
    """Points about 2 mm apart along a part's cut line on its sheet."""
    cut = shortened(moved_segments(area_segments(part.cut), placed.transform), _STEP_MM)[0]
    lengths = np.cumsum(np.hypot(cut[:, 2] - cut[:, 0], cut[:, 3] - cut[:, 1]))
    _, first = np.unique(np.floor(lengths / _STEP_MM), return_index=True)
    points: Points = cut[first, :2]
    return points


def labels_are_readable(made: Made) -> Problems:
    """Each part's label stands on its sheet, and no text reads backwards on a sheet seen from its face."""
    return capped(_labels(made))


def _labels(made: Made) -> Iterator[Problem]:
    from_behind = {stem(each.template) for each in made.plan.passes if each.reversed}
    by_sheet = _by_sheet(made)
    for sheet in made.plan.sheets:
        members = by_sheet.get(sheet.name, [])
        for facts in sheet_files(made, sheet.name):
            if facts.bare:
                continue
            if sheet.name not in from_behind and not any(part.reversed for _, part in members):
                for text in facts.texts:
                    if text.mirrored:
                        yield error(
                            "text-mirrored",
                            f"{facts.file}: the text {text.text!r} reads backwards",
                            at=text.at,
                            file=facts.file,
                        )
            said = {" ".join(text.text.split()) for text in facts.texts}
            for _, part in members:
                lost = [line for line in part.label.lines if " ".join(line.split()) not in said]
                if lost:
                    yield error(
                        "label-not-drawn",
                        f"{facts.file}: part {part.id} is not labelled {lost[0]!r}",
                        file=facts.file,
                    )
