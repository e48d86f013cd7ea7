"""Borders: where two zones share one row, it is a row of its own along their common line.

The row is centred on the line. Each zone takes no outline row there and its stones flow around the
border's, so that either can still be set, checked and kept without the other. Imported late (shapely).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import combinations
from typing import TYPE_CHECKING

from templater.catalogue.sizes import find_size
from templater.geometry.chains import Chain, chain
from templater.geometry.flatten import flatten
from templater.geometry.moves import moved_area
from templater.geometry.polygons import overlap, to_polygon, united
from templater.geometry.splitting import cut_closed, cut_open, nearest_place
from templater.ground.sites import FLAT_MM
from templater.job.borders import border_table
from templater.model.curves import Line, Path, Point
from templater.model.ground import EdgeKind, Make, Piece, Row, Zone
from templater.model.problems import Problem, Problems, Severity

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

    from templater.job.schema import Job, OutlineTable

_SPARE_MM = FLAT_MM + 0.001
_ON_FOLD_MM = 1e-3
_SHORTEST_MM = 1e-3

Pair = tuple[str, str]


def shared_borders(
    zones: Sequence[Zone], pieces: Sequence[Piece], taken: Sequence[Row], job: Job
) -> tuple[tuple[Zone, ...], tuple[Row, ...], Problems]:
    """The zones with their shared edges told, and a row for each stretch of a border.

    Zones share a border if the outlines of both say so. `taken`: rows that are drawn already.
    """
    problems: list[Problem] = []
    sharing: dict[Pair, tuple[Zone, Zone]] = {}
    for lower, upper in combinations(zones, 2):
        asks = [(outline, outline.border == "shared") for outline in _outlines(job, lower, upper)]
        if not any(asked for _, asked in asks) or not any(_common(upper, lower.name)):
            continue
        if len(asks) == 2 and all(asked for _, asked in asks):
            sharing[lower.name, upper.name] = (lower, upper)
        else:
            problems.append(_one_sided(lower, upper))
    rows: list[Row] = []
    shared: dict[Pair, str] = {}
    names = {zone.name for zone in zones} | {row.name for row in taken}
    for pair, (lower, upper) in sharing.items():
        piece = next(piece for piece in pieces if piece.name == upper.piece)
        among = [lower, upper, *(zone for zone in zones if _meets_both(zone, pair, sharing))]
        found = list(_rows(lower, upper, piece, among, names, job))
        rows += found
        names |= {row.name for row in found}
        if found:
            shared[pair] = shared[pair[::-1]] = found[0].name
    told = tuple(_told(zone, shared) for zone in zones)
    return told, tuple(rows), tuple(problems)


def _outlines(job: Job, *zones: Zone) -> list[OutlineTable]:
    stonings = (job.stoning_of(zone.name) for zone in zones)
    return [stoning.outline for stoning in stonings if stoning is not None and stoning.outline]


def _common(zone: Zone, other: str) -> Iterator[Path]:
    """The stretches of a zone's rings along another zone."""
    for region in zone.regions:
        for ring in region.rings:
            for edge in ring:
                if edge.kind is EdgeKind.NEIGHBOUR and edge.name == other:
                    yield edge.path


def _meets_both(zone: Zone, pair: Pair, sharing: dict[Pair, tuple[Zone, Zone]]) -> bool:
    """Whether a third zone shares borders with both zones of a pair, so that three may meet."""
    return (
        all((zone.name, name) in sharing or (name, zone.name) in sharing for name in pair)
        and zone.name not in pair
    )


def _rows(
    lower: Zone, upper: Zone, piece: Piece, among: Sequence[Zone], names: set[str], job: Job
) -> Iterator[Row]:
    """The rows of one border, named after both zones; a second stretch has a number."""
    base = f"border-{lower.name}-{upper.name}"
    number = 1
    for path in _common(upper, lower.name):
        name = base if number == 1 else f"{base}-{number}"
        table = border_table(job, name, upper.name)
        stone = find_size(table.stone if isinstance(table.stone, str) else table.stone[0])
        if stone is None:
            continue  # told when the zones are set
        half = stone.length_mm / 2.0
        room = _room(among, piece, half + max(_edge_mm(job, zone) for zone in (lower, upper)))
        for stretch in _stretches(path, room, half, piece):
            while name in names:
                number += 1
                name = f"{base}-{number}"
            yield Row(name, upper.piece, stretch, upper.source, (lower.name, upper.name))
            number += 1
            name = f"{base}-{number}"


def _edge_mm(job: Job, zone: Zone) -> float:
    stoning = job.stoning_of(zone.name)
    assert stoning is not None
    assert stoning.outline
    return stoning.outline.gap / 2.0 if stoning.edge is None else stoning.edge


def _room(among: Sequence[Zone], piece: Piece, within_mm: float) -> BaseGeometry:
    """Where a border's stones may be centred: this far inside the zones taken as one."""
    areas = [region.area for zone in among for region in zone.regions]
    if piece.make is Make.FOLD and piece.fold is not None:
        areas += [moved_area(area, piece.fold.mirror) for area in areas]
    # Common lines may differ by a flattening: a hair more closes them up.
    whole = united(to_polygon(area, FLAT_MM).buffer(_SPARE_MM) for area in areas)
    return whole.buffer(-(within_mm + 2.0 * _SPARE_MM), quad_segs=64)


def _stretches(path: Path, room: BaseGeometry, half_mm: float, piece: Piece) -> Iterator[Path]:
    """The path as far as stones can be centred on it, and half a stone on to either side: a row's
    stones lie within the ends of its line.
    """
    from shapely import LineString, get_parts

    points = flatten(path, FLAT_MM)
    line = chain((*points, points[0]) if path.closed else points)
    spans = sorted(
        (min(span), max(span))
        for part in get_parts(overlap(LineString(line.points), room))
        if part.length > _SHORTEST_MM
        for span in [_span(line, list(part.coords))]
    )
    total = line.length_mm
    if path.closed and spans == [(0.0, total)]:
        yield path
        return
    if path.closed and len(spans) > 1 and spans[0][0] == 0.0 and spans[-1][1] == total:
        spans = [*spans[1:-1], (spans[-1][0], total + spans[0][1])]
    for low, high in spans:
        yield _widened(path, line, low, high, half_mm, piece)


def _span(line: Chain, coords: Sequence[Point]) -> tuple[float, float]:
    from shapely import LineString, Point

    whole = LineString(line.points)
    ends = [
        float(whole.project(Point(at))) for at in (coords[0], coords[len(coords) // 2], coords[-1])
    ]
    total = line.length_mm
    # On a closed line the place at its ends is at both: the one on the part's side is meant. Parts
    # lie on a grid, a hair beside the line.
    low, middle, high = ends
    if low < _SHORTEST_MM or (low > middle and low > total - _SHORTEST_MM):
        low = 0.0
    if high > total - _SHORTEST_MM or (high < middle and high < _SHORTEST_MM):
        high = total
    return low, high


def _widened(
    path: Path, line: Chain, low: float, high: float, half_mm: float, piece: Piece
) -> Path:
    total = line.length_mm
    fold = piece.fold if piece.make is Make.FOLD else None

    def at_fold(at: Point) -> bool:
        if fold is None:
            return False
        x, y = fold.mirror.apply(at)
        return abs(x - at[0]) + abs(y - at[1]) <= 2.0 * _ON_FOLD_MM

    start = low if at_fold(line.at(low)) else low - half_mm
    end = high if at_fold(line.at(min(high, total))) else high + half_mm
    if path.closed:
        places = [nearest_place(path, line.at(at % total)) for at in (start, end)]
        first, last = cut_closed(path, sorted(places))
        return first if places[0] < places[1] else last
    inner = [at for at in (start, end) if 1e-9 < at < total - 1e-9]
    parts = cut_open(path, [nearest_place(path, line.at(at)) for at in inner])
    part = parts[1 if start > 1e-9 else 0]
    segments = part.segments
    if start < 0.0:
        before = _beyond(line.points[1], line.points[0], -start)
        segments = (Line(before, part.start), *segments)
    if end > total:
        segments = (
            *segments,
            Line(part.end, _beyond(line.points[-2], line.points[-1], end - total)),
        )
    return Path(segments, closed=False)


def _beyond(a: Point, b: Point, by_mm: float) -> Point:
    """The point straight on from a through b."""
    (x0, y0), (x1, y1) = a, b
    length = ((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5
    return (x1 + by_mm * (x1 - x0) / length, y1 + by_mm * (y1 - y0) / length)


def _told(zone: Zone, shared: dict[Pair, str]) -> Zone:
    """The zone with the border's name on every edge that has one."""
    regions = tuple(
        replace(
            region,
            rings=tuple(
                tuple(
                    replace(edge, border=shared.get((zone.name, edge.name), ""))
                    if edge.kind is EdgeKind.NEIGHBOUR
                    else edge
                    for edge in ring
                )
                for ring in region.rings
            ),
        )
        for region in zone.regions
    )
    return replace(zone, regions=regions)


def _one_sided(lower: Zone, upper: Zone) -> Problem:
    return Problem(
        "border-not-shared",
        Severity.WARNING,
        f'of the zones "{lower.name}" and "{upper.name}", which meet, only one asks for a shared '
        "border: each keeps the outline row that it has",
        'Write border = "shared" in the outline of both, or take it out of the one.',
        upper.source,
    )
