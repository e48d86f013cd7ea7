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
_MOST = 0.5

Span = tuple[float, float]
"""A stretch of a leg, its ends counted from the tip."""


@dataclass(frozen=True, slots=True)
class Parted:
    """A zone's areas without the wedges, and what of their outlines lies along darts.

    `ends`: where the zone was cut at one leg and does not go on beyond the other.
    """

    areas: tuple[Area, ...]
    lines: tuple[DartLine, ...]
    problems: Problems
    ends: tuple[DartEnd, ...] = ()


@dataclass(frozen=True, slots=True)
class DartEnd:
    """A zone that was drawn into a dart and is cut at its one leg."""

    zone: str
    dart: Dart
    on_left: bool
    span: Span
    source: Source


@dataclass(frozen=True, slots=True)
class DartLine:
    """A dart's two legs, and the middle line beyond its tip as far as the zone is parted there.

    `both`: the zone lies on both its sides. `spans`: by area, what of it lies along the left leg
    and along the right one, if anything, in mm from the tip.
    """

    dart: Dart
    cuts: tuple[Cut, ...]
    both: bool
    spans: tuple[tuple[Span | None, Span | None], ...]


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
    if mouth_inside_mm(dart, piece) == 0.0:
        mouth = math.dist(dart.left, dart.right)
        mouth += piece.allowance_mm if piece.outline_is == "cut" else 0.0
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
    left, changed = tuple(areas), list[str]()
    for dart in piece.darts:
        before = left
        left = tuple(part for area in left for part in _less(area, wedge_of(dart, piece)))
        if not left:
            return Parted((), (), (_inside_dart(name, before[0], dart, source),))
        if left != before:
            changed.append(dart.name)
    lines: list[DartLine] = []
    ends: list[DartEnd] = []
    through: dict[str, list[Cut]] = {}
    for dart in piece.darts:
        wedge = wedge_of(dart, piece)
        sides = [_touches(area, dart, wedge) for area in left]
        both = any(a for a, _ in sides) and any(b for _, b in sides)
        cuts, whole = through.pop(dart.name, []), list[Area]()
        for area, spans in zip(left, sides, strict=True):
            if not all(spans):
                whole.append(area)
                continue
            parts, used = _parted_beyond(area, dart, wedge)
            twin = twin_of(dart, piece.darts)
            if len(parts) == 1 and twin is not None:
                parts, used, theirs = _parted_through(area, dart, twin)
                through[twin.name] = theirs
            whole.extend(parts)
            cuts.extend(used)
        if len(whole) > len(left):
            problems.append(_round_the_tip(name, dart, cuts, source))
        if dart.name in changed and not both:
            ends += [
                DartEnd(name, dart, k == 0, span, source)
                for spans in sides
                for k, span in enumerate(spans)
                if span
            ]
        left = tuple(whole)
        lines.append(DartLine(dart, tuple(cuts), both, tuple(sides)))
    return Parted(left, tuple(lines), tuple(problems), tuple(ends))


def twin_of(dart: Dart, darts: Sequence[Dart]) -> Dart | None:
    """The other half of a dart with a tip at both ends."""
    mouth = {dart.left, dart.right}
    return next((d for d in darts if d.tip != dart.tip and {d.left, d.right} == mouth), None)


def dart_ends(parted: Sequence[Parted]) -> Problems:
    """The zones of one piece that end in a dart where no other zone goes on from its other leg."""
    return tuple(
        _ends_in_dart(end)
        for each in parted
        for end in each.ends
        if not any(_goes_on(end, other) for other in parted if other is not each)
    )


def _goes_on(end: DartEnd, other: Parted) -> bool:
    """Whether another zone lies along the other leg, beside most of what ends at this one."""
    span = end.span
    theirs = [
        spans[1 if end.on_left else 0]
        for line in other.lines
        if line.dart == end.dart
        for spans in line.spans
    ]
    shared = sum(max(0.0, min(span[1], s[1]) - max(span[0], s[0])) for s in theirs if s)
    return shared >= _MOST * (span[1] - span[0])


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


def _touches(area: Area, dart: Dart, wedge: Ring) -> tuple[Span | None, Span | None]:
    """What of the left leg, and of the right one, an outline runs along.

    So near the tip that both legs are one line, nothing is told by it.
    """
    from shapely import LineString

    sine = abs(_turn(dart)) / (math.dist(dart.tip, dart.left) * math.dist(dart.tip, dart.right))
    blur = 2.0 * SHARED_WITHIN_MM / max(sine, 1e-6)
    rim = united([line_geometry(path) for path in (area.outline, *area.holes)])
    ends = wedge[1:] if _turn(dart) > 0.0 else (wedge[2], wedge[1])

    def along(end: Point) -> Span | None:
        length = math.dist(dart.tip, end)
        if length <= blur:
            return None
        leg = LineString((_along(dart.tip, end, blur / length), end))
        beside = overlap(rim, leg.buffer(SHARED_WITHIN_MM))
        if beside.length <= _RUN_MM:
            return None
        x0, y0, x1, y1 = beside.bounds
        away = [math.dist(dart.tip, at) for at in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))]
        return min(away), max(away)

    return along(ends[0]), along(ends[1])


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


def _parted_through(area: Area, dart: Dart, twin: Dart) -> tuple[list[Area], list[Cut], list[Cut]]:
    """An area all round a dart with two tips, parted beyond both at once; the cut beyond each."""
    mine, theirs = (next(_stretches(area, each), None) for each in (dart, twin))
    if mine is None or theirs is None:
        return [area], [], []
    found = parted(area, (mine[1], theirs[1]), SHARED_WITHIN_MM)
    return list(found) or [area], [mine], [theirs]


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


def mouth_inside_mm(dart: Dart, piece: Piece) -> float:
    """How far within the piece a dart's mouth lies, 0 where it lies on the outline or beyond it.

    Legs that end on the seam line of a piece drawn by its cut line end on the outline.
    """
    from shapely import Point as At

    if piece.area is None:
        return 0.0
    rim = line_geometry(piece.area.outline)
    inside = to_polygon(piece.area, FLAT_MM)
    reach = _BEYOND_MM + (piece.allowance_mm if piece.outline_is == "cut" else 0.0)
    away = [
        float(rim.distance(At(end))) for end in (dart.left, dart.right) if inside.covers(At(end))
    ]
    return max((mm for mm in away if mm > reach), default=0.0)


def _along(tip: Point, end: Point, share: float) -> Point:
    return (tip[0] + share * (end[0] - tip[0]), tip[1] + share * (end[1] - tip[1]))


def _turn(dart: Dart) -> float:
    """Twice the wedge's area, positive if the right leg lies anticlockwise of the left one."""
    (tx, ty), (lx, ly), (rx, ry) = dart.tip, dart.left, dart.right
    return (lx - tx) * (ry - ty) - (ly - ty) * (rx - tx)


def called(dart: Dart) -> str:
    """The dart as a message begins with it."""
    return f"the {dart.name}" if dart.name.startswith("dart") else f'the dart "{dart.name}"'


def _inside_dart(name: str, area: Area, dart: Dart, source: Source) -> Problem:
    return Problem(
        "zone-inside-dart",
        Severity.ERROR,
        f'the zone "{name}" ({area_mm2(area):.0f} mm²) lies within {called(dart)}, which is folded away',
        "Move it beside the dart, or draw it across both legs.",
        source,
        flatten(area.outline, 1.0)[0],
    )


def _ends_in_dart(end: DartEnd) -> Problem:
    middle = (end.span[0] + end.span[1]) / 2.0
    leg = end.dart.left if end.on_left else end.dart.right
    x, y = _along(end.dart.tip, leg, middle / math.dist(end.dart.tip, leg))
    return Problem(
        "zone-ends-in-dart",
        Severity.WARNING,
        f'the zone "{end.zone}" reaches into {called(end.dart)} over its '
        f"{'left' if end.on_left else 'right'} leg only, and is cut at that leg",
        "Draw it up to the leg, or across both legs so that it goes on beyond the closed dart.",
        end.source,
        (round(x, 2), round(y, 2)),
    )


def _round_the_tip(name: str, dart: Dart, cuts: Sequence[Cut], source: Source) -> Problem:
    beyond = max(math.dist(dart.tip, end) for cut in cuts for end in cut)
    return Problem(
        "zone-round-dart-tip",
        Severity.NOTE,
        f'the zone "{name}" runs round the tip of {called(dart)}, {beyond:.1f} mm beyond it: closed '
        "it would be a cone, so it is cut in two parts that meet along the dart's middle line",
        "To have it in one part, end it at the tip.",
        source,
        dart.tip,
    )
