"""Closed outlines of one layer as areas: repeats dropped, holes found by nesting, crossings reported.

CAD has no shape with a hole but the HATCH. An outline drawn inside another one on the same layer
is therefore its hole, one inside that is a region again, and so on (even-odd). A HATCH keeps its
own islands and is not nested with anything else. Imports shapely when called.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from templater.geometry.flatten import flatten
from templater.geometry.joining_ends import near_groups
from templater.geometry.measure import signed_path_area
from templater.geometry.moves import reversed_path
from templater.geometry.polygons import differing
from templater.model.curves import Area, Path, Point
from templater.model.drawing import AreaShape, LineShape, Shape
from templater.model.problems import Problem, Problems, Severity, Source
from templater.model.words import counted

if TYPE_CHECKING:
    from shapely import Polygon

_FLAT_MM = 0.005
_SAME_MM = 0.01
_NO_AREA_MM2 = 1e-6
_PLACE = re.compile(r"\[\s*([^\s\]]+)\s+([^\s\]]+)")


class Islands(StrEnum):
    """How loops within loops count."""

    EVEN_ODD = "even-odd"
    OUTER = "outer"
    IGNORED = "ignored"


@dataclass(frozen=True, slots=True)
class Loop:
    """A closed path; loops of one `group` above 0 are one HATCH, group 0 are all the others."""

    path: Path
    source: Source
    group: int = 0
    islands: Islands = Islands.EVEN_ODD


@dataclass(frozen=True, slots=True)
class _Solid:
    loop: Loop
    polygon: Polygon


def areas_of(loops: Sequence[Loop], *, nest: bool = True) -> tuple[tuple[Shape, ...], Problems]:
    """The loops of one layer as areas, in the order of their outlines.

    Without `nest` each loop stands for itself, as on layers of lines.
    A loop that crosses itself or has no area stays a (closed) line, with a warning: it may be
    meant as one.
    """
    from shapely import Polygon, is_valid, is_valid_reason

    solids: list[_Solid] = []
    lines: list[LineShape] = []
    problems: list[Problem] = []
    for loop in loops:
        ring = flatten(loop.path, _FLAT_MM)
        polygon = Polygon(ring) if len(ring) > 2 else None
        if polygon is None or polygon.convex_hull.area <= _NO_AREA_MM2:
            lines.append(LineShape(loop.path, loop.source))
            problems.append(_without_area(loop))
        elif not is_valid(polygon):
            lines.append(LineShape(loop.path, loop.source))
            problems.append(_crossing(loop, str(is_valid_reason(polygon))))
        else:
            solids.append(_Solid(loop, polygon))
    kept, repeats = _without_repeats(solids)
    if repeats:
        source = repeats[0].loop.source
        problems.append(
            Problem(
                "repeats-dropped",
                Severity.NOTE,
                f"Left out on layer “{source.layer}”, as they lie exactly on others: "
                f"{counted(len(repeats), 'outline')}.",
                "Nothing needs doing; delete the second copies in the drawing to be rid of this.",
                source,
                repeats[0].loop.path.start,
            )
        )
    shapes = [
        AreaShape(Area(_turned(outline.loop.path, ahead=True), holes), outline.loop.source)
        for outline, holes in _nested_groups(kept, nest=nest)
    ]
    return (*shapes, *lines), tuple(problems)


def _turned(path: Path, *, ahead: bool) -> Path:
    """Anticlockwise if `ahead`, else clockwise."""
    return path if (signed_path_area(path) > 0.0) is ahead else reversed_path(path)


def _nested_groups(kept: Sequence[_Solid], *, nest: bool) -> list[tuple[_Solid, tuple[Path, ...]]]:
    if not nest:
        return [(solid, ()) for solid in kept]
    groups: dict[int, list[int]] = {}
    for i, solid in enumerate(kept):
        groups.setdefault(solid.loop.group, []).append(i)
    found: list[tuple[int, tuple[Path, ...]]] = []
    for members in groups.values():
        found.extend((members[i], holes) for i, holes in _nested([kept[m] for m in members]))
    return [(kept[i], holes) for i, holes in sorted(found, key=lambda pair: pair[0])]


def _nested(solids: Sequence[_Solid]) -> Iterable[tuple[int, tuple[Path, ...]]]:
    """Outlines by index, each with its holes."""
    from shapely import STRtree

    if len(solids) == 1:
        return [(0, ())]
    polygons = [solid.polygon for solid in solids]
    inside, around = STRtree(polygons).query(polygons, predicate="within")
    around_of: dict[int, list[int]] = {}
    for i, j in zip(inside.tolist(), around.tolist(), strict=True):
        if i != j:
            around_of.setdefault(i, []).append(j)
    depth = {i: len(around_of.get(i, ())) for i in range(len(solids))}
    holes: dict[int, list[int]] = {}
    for i in range(len(solids)):
        if depth[i] % 2 == 1:
            parent = min(around_of[i], key=lambda j: (polygons[j].area, j))
            holes.setdefault(parent, []).append(i)
    islands = solids[0].loop.islands
    deepest = {Islands.EVEN_ODD: len(solids), Islands.OUTER: 1, Islands.IGNORED: 0}[islands]
    return [
        (
            i,
            tuple(
                _turned(solids[hole].loop.path, ahead=False)
                for hole in holes.get(i, ())
                if depth[hole] <= deepest
            ),
        )
        for i in range(len(solids))
        if depth[i] % 2 == 0 and depth[i] <= deepest
    ]


def _without_repeats(solids: Sequence[_Solid]) -> tuple[list[_Solid], list[_Solid]]:
    """Of outlines that coincide the first is kept, but a HATCH's before a line's."""
    if len(solids) < 2:
        return list(solids), []
    corners: list[Point] = []
    for solid in solids:
        x0, y0, _, _ = solid.polygon.bounds
        corners.append((x0, y0))
    dropped: set[int] = set()
    for group in near_groups(corners, _SAME_MM):
        ranked = sorted(group, key=lambda i: (solids[i].loop.group == 0, i))
        for n, i in enumerate(ranked):
            if any(
                k not in dropped and _coincide(solids[i].polygon, solids[k].polygon)
                for k in ranked[:n]
            ):
                dropped.add(i)
    return (
        [solid for i, solid in enumerate(solids) if i not in dropped],
        [solid for i, solid in enumerate(solids) if i in dropped],
    )


def _coincide(one: Polygon, other: Polygon) -> bool:
    if any(abs(a - b) > _SAME_MM for a, b in zip(one.bounds, other.bounds, strict=True)):
        return False
    most = _SAME_MM * one.length
    if abs(one.area - other.area) > most:
        return False
    return bool(differing(one, other).area <= most)


def _without_area(loop: Loop) -> Problem:
    x, y = loop.path.start
    return Problem(
        "outline-without-area",
        Severity.WARNING,
        f"{loop.source.element} on layer “{loop.source.layer}” at x {x:.2f}, y {y:.2f} mm is marked "
        "closed but encloses nothing; it is kept as a line.",
        "Delete it, or draw the outline it should be.",
        loop.source,
        loop.path.start,
    )


def _crossing(loop: Loop, reason: str) -> Problem:
    found = _PLACE.search(reason)
    at = (float(found[1]), float(found[2])) if found else loop.path.start
    return Problem(
        "outline-crosses-itself",
        Severity.WARNING,
        f"{loop.source.element} on layer “{loop.source.layer}” crosses or touches itself at "
        f"x {at[0]:.2f}, y {at[1]:.2f} mm, so what is inside is not clear; it is kept as a line.",
        "Redraw it there so that the outline runs round once.",
        loop.source,
        at,
    )
