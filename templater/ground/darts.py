"""Zones across a dart: the wedge is folded away when the dart is sewn, so no zone has any of it.

Below the tip a wedge parts a zone into two halves, which meet when it is closed. A zone that runs
round the tip is parted beyond it too, along the dart's middle line: closed it is a cone, which no
flat cloth can be.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from templater.geometry.cutting import Cut, cut_away, parted
from templater.geometry.flatten import flatten
from templater.geometry.measure import area_mm2
from templater.geometry.polygons import overlap, polyline, to_polygon, united
from templater.ground.edges import SHARED_WITHIN_MM, Feature
from templater.ground.sites import FLAT_MM, line_geometry
from templater.model.curves import Area, Point, Ring
from templater.model.ground import Dart, EdgeKind, KeepClear, Piece, Row
from templater.model.names import plain_name
from templater.model.problems import Problem, Problems, Severity, Source

if TYPE_CHECKING:
    from shapely import Polygon
    from shapely.geometry.base import BaseGeometry

    from templater.job.schema import Job

_BEYOND_MM = 5.0
"""A wedge goes on at least this far past a mouth that lies on the piece's edge, which need not be
straight there."""
_RUN_MM = 1.0
_FAR_MM = 1e4


@dataclass(frozen=True, slots=True)
class Parted:
    """A zone's areas without the wedges, and what of their outlines lies along darts."""

    areas: tuple[Area, ...]
    lines: tuple[DartLine, ...]
    problems: Problems


@dataclass(frozen=True, slots=True)
class DartLine:
    """A dart's two legs, and the middle line beyond its tip as far as the zone is parted there.

    `both`: the zone lies on both its sides.
    """

    dart: Dart
    cuts: tuple[Cut, ...]
    both: bool


def named(darts: Sequence[Dart]) -> tuple[Dart, ...]:
    """The darts of a piece, each with a name of its own: "dart" and a number where none was given."""
    taken: set[str] = set()
    found = []
    for dart in darts:
        base = name = dart.name or "dart"
        number = 1
        while name in taken:
            number += 1
            name = f"{base}-{number}"
        taken.add(name)
        found.append(replace(dart, name=name))
    return tuple(found)


def wedge_of(dart: Dart, piece: Piece) -> Ring:
    """The wedge as a polygon, anticlockwise from the tip; past the mouth where that is the edge."""
    far = 1.0
    if _mouth_at_edge(dart, piece):
        mouth = math.dist(dart.left, dart.right)
        shortest = min(math.dist(dart.tip, dart.left), math.dist(dart.tip, dart.right))
        far += max(_BEYOND_MM, mouth) / shortest
    left, right = (_along(dart.tip, end, far) for end in (dart.left, dart.right))
    return (dart.tip, left, right) if _turn(dart) > 0.0 else (dart.tip, right, left)


def with_wedges(outline: Polygon, piece: Piece) -> BaseGeometry:
    """A piece's outline with its wedges filled: zones are drawn across them."""
    from shapely import Polygon

    if not piece.darts:
        return outline
    return united([outline, *(Polygon(wedge_of(dart, piece)) for dart in piece.darts)])


def without_wedges(name: str, areas: Sequence[Area], piece: Piece, source: Source) -> Parted:
    """A zone's areas as they are cut out of flat cloth: less the wedges, parted where they must be."""
    problems: list[Problem] = []
    lines: list[DartLine] = []
    left = tuple(areas)
    for dart in piece.darts:
        wedge = wedge_of(dart, piece)
        before = left
        left = tuple(part for area in left for part in _less(area, wedge))
        if not left:
            return Parted((), (), (_inside_dart(name, before[0], dart, source),))
        sides = [_touches(area, dart, wedge) for area in left]
        both = any(a for a, _ in sides) and any(b for _, b in sides)
        cuts: list[Cut] = []
        whole: list[Area] = []
        for area, (on_left, on_right) in zip(left, sides, strict=True):
            if on_left and on_right:
                parts, used = _parted_beyond(area, dart, wedge)
                whole.extend(parts)
                cuts.extend(used)
            else:
                whole.append(area)
        if left != before and not both:
            problems.append(_ends_in_dart(name, dart, source))
        left = tuple(whole)
        lines.append(DartLine(dart, tuple(cuts), both))
    return Parted(left, tuple(lines), tuple(problems))


def dart_features(
    lines: Sequence[DartLine], piece: Piece, allowances: Mapping[str, float]
) -> list[Feature]:
    """What a zone's rings may run along at the piece's darts. An edge shows where the zone ends there."""
    from shapely import LineString

    by_name = {plain_name(edge): mm for edge, mm in allowances.items()}
    features = []
    for line in lines:
        tip, one, other = wedge_of(line.dart, piece)
        legs = LineString((one, tip, other))
        beyond = [LineString(cut) for cut in line.cuts]
        features.append(
            Feature(
                EdgeKind.DART,
                line.dart.name,
                united([legs, *beyond]),
                by_name.get(line.dart.name, 0.0),
                visible=not line.both,
            )
        )
    return features


def rows_keep_off(pieces: Sequence[Piece], rows: Sequence[Row], job: Job) -> tuple[KeepClear, ...]:
    """The wedges that rows run across, with half the widest gap of those rows beside them."""
    from shapely import Polygon

    from templater.job.schema import RowTable

    found = []
    for piece in pieces:
        for dart in piece.darts:
            wedge = wedge_of(dart, piece)
            shape = Polygon(wedge)
            asked = [
                job.rows.get(row.name, RowTable()).gap
                for row in rows
                if row.piece == piece.name and line_geometry(row.path).intersects(shape)
            ]
            gaps = [max(gap) if isinstance(gap, tuple) else gap for gap in asked]
            if gaps:
                area = Area(polyline(wedge, closed=True))
                found.append(
                    KeepClear(EdgeKind.DART.value, piece.name, area, max(gaps) / 2.0, dart.source)
                )
    return tuple(found)


def _less(area: Area, wedge: Ring) -> tuple[Area, ...]:
    """An area that only touches the wedge stays as it is, to the bit."""
    from shapely import Polygon

    shared = overlap(to_polygon(area, FLAT_MM), Polygon(wedge))
    if shared.buffer(-SHARED_WITHIN_MM / 2.0).is_empty:
        return (area,)
    return cut_away(area, wedge, SHARED_WITHIN_MM)


def _touches(area: Area, dart: Dart, wedge: Ring) -> tuple[bool, bool]:
    """Whether an outline runs along the left leg, and along the right one.

    So near the tip that both legs are one line, nothing is told by it.
    """
    from shapely import LineString

    sine = abs(_turn(dart)) / (math.dist(dart.tip, dart.left) * math.dist(dart.tip, dart.right))
    blur = 2.0 * SHARED_WITHIN_MM / max(sine, 1e-6)
    rim = united([line_geometry(path) for path in (area.outline, *area.holes)])
    ends = wedge[1:] if _turn(dart) > 0.0 else (wedge[2], wedge[1])

    def runs_along(end: Point) -> bool:
        length = math.dist(dart.tip, end)
        if length <= blur:
            return False
        leg = LineString((_along(dart.tip, end, blur / length), end))
        return float(overlap(rim, leg.buffer(SHARED_WITHIN_MM)).length) > _RUN_MM

    return runs_along(ends[0]), runs_along(ends[1])


def _parted_beyond(area: Area, dart: Dart, wedge: Ring) -> tuple[list[Area], list[Cut]]:
    """An area that runs round the tip, parted along the middle line until its two sides are apart."""
    parts, used = [area], list[Cut]()
    for cut in _stretches(area, dart):
        made: list[Area] = []
        for part in parts:
            found = parted(part, cut, SHARED_WITHIN_MM) if all(_touches(part, dart, wedge)) else ()
            made.extend(found or (part,))
        used.append(cut)
        parts = made
        if not any(all(_touches(part, dart, wedge)) for part in parts):
            break
    return parts, used


def _stretches(area: Area, dart: Dart) -> Iterator[Cut]:
    """Where the middle line runs through an area, from the tip outwards."""
    from shapely import LineString, get_parts

    (tx, ty) = dart.tip
    one, other = (
        _along(dart.tip, end, 1.0 / math.dist(dart.tip, end)) for end in (dart.left, dart.right)
    )
    dx, dy = 2.0 * tx - one[0] - other[0], 2.0 * ty - one[1] - other[1]
    size = math.hypot(dx, dy)
    ray = LineString((dart.tip, (tx + _FAR_MM * dx / size, ty + _FAR_MM * dy / size)))
    inside = [
        part
        for part in get_parts(overlap(ray, to_polygon(area, FLAT_MM)))
        if part.geom_type == "LineString" and part.length > 0.0
    ]
    for part in sorted(inside, key=lambda each: math.dist(each.coords[0], dart.tip)):
        first, last = part.coords[0], part.coords[-1]
        yield ((float(first[0]), float(first[1])), (float(last[0]), float(last[1])))


def _mouth_at_edge(dart: Dart, piece: Piece) -> bool:
    """Whether the mouth lies on the piece's outline, or there is none to tell."""
    from shapely import Point as At

    if piece.area is None:
        return True
    rim = line_geometry(piece.area.outline)
    return all(rim.distance(At(end)) <= _BEYOND_MM for end in (dart.left, dart.right))


def _along(tip: Point, end: Point, share: float) -> Point:
    return (tip[0] + share * (end[0] - tip[0]), tip[1] + share * (end[1] - tip[1]))


def _turn(dart: Dart) -> float:
    """Twice the wedge's area, positive if the right leg lies anticlockwise of the left one."""
    (tx, ty), (lx, ly), (rx, ry) = dart.tip, dart.left, dart.right
    return (lx - tx) * (ry - ty) - (ly - ty) * (rx - tx)


def _called(dart: Dart) -> str:
    return f"the {dart.name}" if dart.name.startswith("dart") else f'the dart "{dart.name}"'


def _inside_dart(name: str, area: Area, dart: Dart, source: Source) -> Problem:
    return Problem(
        "zone-inside-dart",
        Severity.ERROR,
        f'the zone "{name}" ({area_mm2(area):.0f} mm²) lies within the {dart.name}, which is folded away',
        "Move it beside the dart, or draw it across both legs.",
        source,
        flatten(area.outline, 1.0)[0],
    )


def _ends_in_dart(name: str, dart: Dart, source: Source) -> Problem:
    return Problem(
        "zone-ends-in-dart",
        Severity.WARNING,
        f'the zone "{name}" reaches into the {dart.name} over one leg only, and is cut at that leg',
        "Draw it up to the leg, or across both legs so that it goes on beyond the closed dart.",
        source,
        dart.tip,
    )
