"""Darts as they are drawn: two straight legs from a tip, a triangle, or four corners with a tip at
either end. And whether they can be sewn on their piece.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace

from templater.geometry.flatten import flatten
from templater.geometry.polygons import overlap
from templater.ground.darts import called, mouth_inside_mm, named, twin_of
from templater.ground.edges import SHARED_WITHIN_MM
from templater.ground.sites import line_geometry
from templater.model.curves import Path, Point
from templater.model.ground import Dart, Fold, Make, Piece, Zone
from templater.model.problems import Problem, Problems, Severity, Source

_STRAIGHT_WITHIN_MM = 0.25
_FLATTEST_MM = 0.5
_WIDEST_DEG = 120.0
_AT_FOLD_MM = 0.25
_SAME_MM = 0.25
_BESIDE_MM = 2.0
_BESIDE_RUN_MM = 10.0
"""A line that stays this near to a leg for so long runs along it."""
_TRIANGLE = 3
_DIAMOND = 4


def darts_of(path: Path, source: Source, name: str) -> tuple[tuple[Dart, ...], Problems]:
    """The darts of one drawn line; one with a tip at both ends is two that share their mouth.

    A triangle's tip is opposite its shortest side. Left and right are as they lie on the drawing.
    """
    corners = _corners(path)
    if path.closed and len(corners) == _DIAMOND:
        a, b, c, d = corners
        if math.dist(a, c) < math.dist(b, d):
            a, b, c, d = b, c, d, a
        darts = [Dart(tip, b, d, source, name) for tip in (a, c)]
    elif len(corners) != _TRIANGLE:
        return (), (_not_three(path, len(corners), source),)
    elif path.closed:
        sides = [math.dist(corners[k - 2], corners[k - 1]) for k in range(3)]
        k = sides.index(min(sides))
        darts = [Dart(corners[k], corners[k - 2], corners[k - 1], source, name)]
    else:
        left, tip, right = corners
        darts = [Dart(tip, left, right, source, name)]
    wrong = [problem for dart in darts for problem in _not_a_wedge(dart)]
    return ((), (wrong[0],)) if wrong else (tuple(_upright(dart) for dart in darts), ())


def with_sound_darts(pieces: Sequence[Piece]) -> tuple[tuple[Piece, ...], Problems]:
    """Pieces with the darts that can be sewn on them, on the drawn side of a piece made on the fold;
    what is wrong with the others.
    """
    made: list[Piece] = []
    problems: list[Problem] = []
    for piece in pieces:
        darts, said = _beside_fold(piece)
        problems += said
        problems += [_ends_within(dart, piece) for dart in darts if _is_short(dart, piece, darts)]
        made.append(replace(piece, darts=named(darts)))
    return tuple(made), tuple(problems)


def _corners(path: Path) -> list[Point]:
    """The corners of a path; points along a line that is straight to a quarter millimetre are none."""
    from shapely import LineString

    points = flatten(path, _STRAIGHT_WITHIN_MM / 10.0)
    if path.closed and points[0] != points[-1]:
        points = (*points, points[0])
    line = LineString(points).simplify(_STRAIGHT_WITHIN_MM)
    corners = [(float(x), float(y)) for x, y in line.coords]
    if path.closed:
        corners.pop()
        # The outline may have been begun amid a straight side.
        if len(corners) > _TRIANGLE and (
            _away(corners[0], corners[-1], corners[1]) <= _STRAIGHT_WITHIN_MM
        ):
            corners.pop(0)
    return corners


def _away(at: Point, start: Point, end: Point) -> float:
    """How far a point lies from the line through two others."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    length = math.hypot(dx, dy)
    if length == 0.0:
        return math.dist(at, start)
    return abs(dx * (at[1] - start[1]) - dy * (at[0] - start[0])) / length


def _upright(dart: Dart) -> Dart:
    """Left is the leg that lies left on the drawing, or the upper one of two above each other."""
    (lx, ly), (rx, ry) = dart.left, dart.right
    if (lx, -ly) <= (rx, -ry):
        return dart
    return replace(dart, left=dart.right, right=dart.left)


def _not_three(path: Path, count: int, source: Source) -> Problem:
    what = f"a dart is drawn with {count} corners"
    straight = all(
        _away(at, segment.start, segment.end) <= _STRAIGHT_WITHIN_MM
        for segment in path.segments
        for at in flatten(Path((segment,), closed=False), _STRAIGHT_WITHIN_MM / 10.0)
    )
    return Problem(
        "dart-not-a-wedge",
        Severity.ERROR,
        what if straight else "a dart is drawn with curved legs",
        "Draw a dart as two straight legs that meet at its tip, or as a triangle; one with a tip at "
        "both ends as a closed outline of four corners. Sew curved legs on their chords, or take "
        "the dart out of the drawing and draw the zone with its gap.",
        source,
        path.start,
    )


def _not_a_wedge(dart: Dart) -> Iterable[Problem]:
    """A wedge has a width, and can be closed."""
    (tx, ty), (lx, ly), (rx, ry) = dart.tip, dart.left, dart.right
    cross = (rx - tx) * (ly - ty) - (ry - ty) * (lx - tx)
    dot = (rx - tx) * (lx - tx) + (ry - ty) * (ly - ty)
    longest = max(math.dist(dart.tip, dart.left), math.dist(dart.tip, dart.right))
    angle = math.degrees(math.atan2(abs(cross), dot))
    if longest == 0.0 or abs(cross) / longest < _FLATTEST_MM or angle > _WIDEST_DEG:
        yield Problem(
            "dart-not-a-wedge",
            Severity.ERROR,
            f"a dart is drawn with an angle of {angle:.1f}° between its legs",
            "Draw a dart as two straight legs of like length that meet at its tip; one with a tip "
            "at both ends as a closed outline of four corners.",
            dart.source,
            dart.tip,
        )


def _beside_fold(piece: Piece) -> tuple[tuple[Dart, ...], list[Problem]]:
    """The darts on the drawn side of the fold; those drawn on the other side too are the same."""
    if piece.make is not Make.FOLD or piece.fold is None or piece.area is None:
        return piece.darts, []
    fold, problems = piece.fold, list[Problem]()
    side = math.copysign(1.0, max((_off(fold, at) for at in _inner(piece)), key=abs))
    kept: list[Dart] = []
    other: list[Dart] = []
    for dart in piece.darts:
        off = [side * _off(fold, at) for at in (dart.left, dart.right)]
        tip = side * _off(fold, dart.tip)
        if min(off) > _AT_FOLD_MM and tip >= -_AT_FOLD_MM:
            kept.append(dart)
        elif max(off) < -_AT_FOLD_MM and tip <= _AT_FOLD_MM:
            other.append(_mirrored(dart, fold))
        else:
            problems.append(_across_fold(dart, piece))
    kept += [dart for dart in other if not any(_same(dart, own) for own in kept)]
    return tuple(kept), problems


def _inner(piece: Piece) -> Sequence[Point]:
    return () if piece.area is None else flatten(piece.area.outline, 1.0)


def _off(fold: Fold, at: Point) -> float:
    """Signed distance from the fold's line."""
    (x0, y0), (x1, y1) = fold.start, fold.end
    cross = (x1 - x0) * (at[1] - y0) - (y1 - y0) * (at[0] - x0)
    return cross / math.dist(fold.start, fold.end)


def _mirrored(dart: Dart, fold: Fold) -> Dart:
    tip, left, right = (fold.mirror.apply(at) for at in (dart.tip, dart.left, dart.right))
    return _upright(replace(dart, tip=tip, left=left, right=right))


def _same(one: Dart, other: Dart) -> bool:
    ends = zip((one.tip, one.left, one.right), (other.tip, other.left, other.right), strict=True)
    return all(math.dist(a, b) <= _SAME_MM for a, b in ends)


def _across_fold(dart: Dart, piece: Piece) -> Problem:
    return Problem(
        "dart-across-fold",
        Severity.ERROR,
        f'{called(dart)} lies across the fold of the piece "{piece.name}", or a leg of it on the fold',
        f'Draw both sides of the piece, and write make = "single" under [pieces.{piece.name}]: '
        "zones across the dart are then closed over it like any other.",
        dart.source,
        dart.tip,
    )


def _is_short(dart: Dart, piece: Piece, darts: Sequence[Dart]) -> bool:
    """Whether a dart's mouth lies within the piece, and is not another's too."""
    return twin_of(dart, darts) is None and mouth_inside_mm(dart, piece) > 0.0


def _ends_within(dart: Dart, piece: Piece) -> Problem:
    (lx, ly), (rx, ry) = dart.left, dart.right
    return Problem(
        "dart-ends-within",
        Severity.WARNING,
        f'{called(dart)} ends {mouth_inside_mm(dart, piece):.1f} mm within the piece "{piece.name}", '
        "where it is still open",
        "Draw its legs on to the outline, or as a closed outline of four corners if it has a second "
        "tip. As drawn, nothing below its mouth is folded away.",
        dart.source,
        (round((lx + rx) / 2.0, 2), round((ly + ry) / 2.0, 2)),
    )


def zones_beside_darts(zones: Sequence[Zone], pieces: Sequence[Piece]) -> Problems:
    """Where a zone runs beside a leg without reaching it: it meets nothing there when it is closed."""
    return tuple(
        problem
        for piece in pieces
        for zone in zones
        if zone.piece == piece.name
        for problem in _beside(zone, piece)
    )


def _beside(zone: Zone, piece: Piece) -> Iterable[Problem]:
    from shapely import LineString, get_parts, line_merge

    for dart in piece.darts:
        legs = (("left", dart.left, dart.right), ("right", dart.right, dart.left))
        for side, end, other in legs:
            leg = LineString((dart.tip, end))
            # Off the leg on the side where the wedge is not, which near the tip is narrow.
            out = -math.copysign(_BESIDE_MM, _cross(dart.tip, end, other))
            beside = leg.buffer(out, single_sided=True)
            runs = [
                run
                for region in zone.regions
                for path in (region.area.outline, *region.area.holes)
                for run in get_parts(line_merge(overlap(line_geometry(path), beside)))
                if run.length >= _BESIDE_RUN_MM
            ]
            middles = [run.interpolate(0.5, normalized=True) for run in runs]
            short = [at for at in middles if leg.distance(at) > SHARED_WITHIN_MM]
            for at in short[:1]:
                yield _short(zone, dart, side, float(leg.distance(at)), (at.x, at.y))


def _cross(start: Point, one: Point, other: Point) -> float:
    """Positive where the second way from a point lies anticlockwise of the first."""
    (x, y), (ax, ay), (bx, by) = start, one, other
    return (ax - x) * (by - y) - (ay - y) * (bx - x)


def _short(zone: Zone, dart: Dart, side: str, away_mm: float, at: Point) -> Problem:
    return Problem(
        "zone-beside-dart",
        Severity.WARNING,
        f'the zone "{zone.name}" runs beside the {side} leg of {called(dart)}, {away_mm:.2f} mm from it',
        "If it should meet what lies across the closed dart, draw it up to the leg or on into the "
        "dart; if cloth should show between, all is well.",
        zone.source,
        (round(at[0], 2), round(at[1], 2)),
    )
