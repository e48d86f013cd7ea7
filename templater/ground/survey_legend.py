"""Problems on the survey picture: circled where they are, numbered, and told in a legend."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from templater.geometry.moves import reversed_path
from templater.geometry.polygons import circle
from templater.lettering.stacking import wrapped
from templater.model.curves import Area, Box, Point, Transform
from templater.model.problems import Problem, Problems, Severity
from templater.model.sheets import Anchor, Drawable, Fill, Lettering

HEIGHT_MM = 2.5
LINE_MM = 4.2
ICON_MM = 10.0
"""How far the legend's words stand in, to leave room for the numbers."""
MOST_TOLD = 60
_RANK = {Severity.ERROR: 0, Severity.WARNING: 1, Severity.NOTE: 2}
_COLOURS = {Severity.ERROR: "#b3261e", Severity.WARNING: "#b26a00", Severity.NOTE: "#1f4e8c"}
_RING_MM = {Severity.ERROR: 0.9, Severity.WARNING: 0.6, Severity.NOTE: 0.35}
_AROUND_MM = 8.0
_DISC_MM = 5.4
_SAME_PLACE_MM = 2.0


@dataclass(frozen=True, slots=True)
class Numbered:
    """A problem and its number in the picture, from 1, errors first."""

    number: int
    problem: Problem

    @property
    def severity(self) -> Severity:
        return self.problem.severity


def numbered(problems: Problems) -> tuple[Numbered, ...]:
    """The problems, each once, errors first and else in the order in which they were found."""
    once = list(dict.fromkeys(problems))
    ordered = sorted(once, key=lambda problem: _RANK[problem.severity])
    return tuple(Numbered(k + 1, problem) for k, problem in enumerate(ordered))


def circles(
    problems: Sequence[Numbered], to_sheet: Transform, box: Box, taken: Sequence[Box]
) -> tuple[Drawable, ...]:
    """A ring about each place in the box, and its number beside it; one ring for several at one."""
    groups: list[tuple[Point, list[Numbered]]] = []
    for item in problems:
        if item.problem.at_mm is None:
            continue
        at = to_sheet.apply(item.problem.at_mm)
        if not (box[0] <= at[0] <= box[2] and box[1] <= at[1] <= box[3]):
            continue
        near = next((group for group in groups if math.dist(group[0], at) <= _SAME_PLACE_MM), None)
        if near is None:
            groups.append((at, [item]))
        else:
            near[1].append(item)
    items: list[Drawable] = []
    used = list(taken)
    for at, members in groups:
        items.append(_ring(at, _AROUND_MM, members[0].severity))
        used.append(_around(at, _AROUND_MM))
    for at, members in groups:
        for member in members[:4]:
            place = _free(at, used)
            used.append(_around(place, _DISC_MM))
            items.extend(_disc(place, member))
    return tuple(items)


def _free(at: Point, used: Sequence[Box]) -> Point:
    """The nearest place beside a ring where a number covers nothing, the upper right first."""
    first = (_AROUND_MM + _DISC_MM) / 2.0 + 0.3
    for distance in (first, first + _DISC_MM, first + 2.0 * _DISC_MM):
        for turn_deg in (45, 0, 90, 135, 315, 180, 225, 270):
            angle = math.radians(turn_deg)
            place = (at[0] + distance * math.cos(angle), at[1] + distance * math.sin(angle))
            mine = _around(place, _DISC_MM)
            if not any(_meet(mine, box) for box in used):
                return place
    return (at[0] + first * math.sqrt(0.5), at[1] + first * math.sqrt(0.5))


def _around(at: Point, size_mm: float) -> Box:
    half = size_mm / 2.0 - 0.2
    return (at[0] - half, at[1] - half, at[0] + half, at[1] + half)


def _meet(one: Box, other: Box) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def _ring(at: Point, diameter_mm: float, severity: Severity) -> Drawable:
    """Thicker the graver; as a filled area, since pens have meanings of their own."""
    inner = circle(at, diameter_mm - 2.0 * _RING_MM[severity])
    return Fill(Area(circle(at, diameter_mm), (reversed_path(inner),)), _COLOURS[severity])


def _disc(at: Point, item: Numbered) -> tuple[Drawable, ...]:
    height = HEIGHT_MM if item.number < 10 else 0.8 * HEIGHT_MM
    return (
        Fill(Area(circle(at, _DISC_MM)), "#ffffff"),
        _ring(at, _DISC_MM, item.severity),
        Lettering(str(item.number), (at[0], at[1] - height / 2.0), height, anchor=Anchor.MIDDLE),
    )


def legend_lines(
    problems: Sequence[Numbered], width_mm: float
) -> list[tuple[Numbered | None, str]]:
    """The legend's lines from above to below; a problem's first line comes with its number."""
    lines: list[tuple[Numbered | None, str]] = []
    for item in problems[:MOST_TOLD]:
        problem = item.problem
        where = "" if problem.at_mm is None else _place(problem.at_mm)
        text = f"{problem.severity}{where}: {problem.message}"
        if problem.mend:
            text += f"{'' if text.endswith('.') else '.'} Mend: {problem.mend}"
        parts = wrapped(text, width_mm - ICON_MM, HEIGHT_MM)
        lines.extend((item if k == 0 else None, part) for k, part in enumerate(parts))
    if len(problems) > MOST_TOLD:
        lines.append((None, f"… and {len(problems) - MOST_TOLD} more: templater survey lists them"))
    return lines


def _place(at: Point) -> str:
    return f" at x {at[0]:.1f}, y {at[1]:.1f} mm"


def legend(
    lines: Iterable[tuple[Numbered | None, str]], left_mm: float, top_mm: float
) -> tuple[Drawable, ...]:
    """The lines drawn downwards from `top_mm`."""
    items: list[Drawable] = []
    y = top_mm
    for item, text in lines:
        if item is not None:
            y -= 0.4 * LINE_MM
        y -= LINE_MM
        if item is not None:
            items.extend(_disc((left_mm + _DISC_MM / 2.0, y + HEIGHT_MM / 2.0), item))
        items.append(Lettering(text, (left_mm + ICON_MM, y), HEIGHT_MM))
    return tuple(items)


def legend_height_mm(lines: Sequence[tuple[Numbered | None, str]]) -> float:
    return sum(LINE_MM * (1.0 if item is None else 1.4) for item, _ in lines)
