"""Zones: which piece each lies on, what lies above what, and their outlines cut into edges."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from templater.geometry.measure import box_of
from templater.geometry.polygons import (
    from_polygon,
    overlap,
    polygons_in,
    to_polygon,
    united,
    without,
)
from templater.ground.darts import DartLine, dart_ends, dart_features, with_wedges, without_wedges
from templater.ground.edges import SHARED_WITHIN_MM, Feature, cut_ring
from templater.ground.features import line_features
from templater.ground.folding import drawn_half
from templater.ground.meeting import Traced, gaps, meet
from templater.ground.shapes import Sorted, closed_areas, lines_of
from templater.ground.sites import FLAT_MM, Site, line_geometry, site_for
from templater.job.locate import in_job
from templater.model.curves import Area, Point
from templater.model.ground import EdgeKind, Make, Piece, Reference, Region, Row, Zone
from templater.model.names import plain_name
from templater.model.problems import Problem, Problems, Severity, Source
from templater.model.roles import Role

if TYPE_CHECKING:
    from shapely import Polygon
    from shapely.geometry.base import BaseGeometry

    from templater.job.schema import Job, ZoneTable

_REGISTER_MARGIN_MM = 8.0


@dataclass(frozen=True, slots=True)
class _Draft:
    """A zone while it is being read: its regions as drawn, not yet cut into edges."""

    name: str
    piece: str
    areas: tuple[Area, ...]
    source: Source

    @property
    def shape(self) -> BaseGeometry:
        return united(to_polygon(area, FLAT_MM) for area in self.areas)


def read_zones(
    shapes: Sorted,
    pieces: Sequence[Piece],
    references: Sequence[Reference],
    sites: Sequence[Site],
    job: Job,
) -> tuple[tuple[Zone, ...], Problems]:
    """Every zone on its piece, from below to above, with its edges and register frame."""
    areas, problems = closed_areas(shapes.of(Role.ZONE), "zone")
    drafts: list[_Draft] = []
    for draft in _gathered(areas):
        placed, said = _on_a_piece(draft, pieces, sites)
        problems += said
        if placed is not None:
            drafts.append(placed)
    drafts, said = _in_order(drafts, job)
    problems += said
    drafts, said = _met(drafts, pieces)
    problems += said
    drafts, said = _apart(drafts, job.overlap == "top")
    problems += said
    by_name = {piece.name: piece for piece in pieces}
    parted = [without_wedges(d.name, d.areas, by_name[d.piece], d.source) for d in drafts]
    problems += tuple(problem for each in parted for problem in each.problems) + dart_ends(parted)
    darts = {draft.name: each.lines for draft, each in zip(drafts, parted, strict=True)}
    drafts = [
        replace(draft, areas=each.areas)
        for draft, each in zip(drafts, parted, strict=True)
        if each.areas
    ]
    tables = {plain_name(name): table for name, table in job.zones.items()}
    polygons = {draft.name: draft.shape for draft in drafts}
    zones = []
    for level, draft in enumerate(drafts):
        zone, said = _zone(
            draft,
            level,
            drafts,
            polygons,
            by_name[draft.piece],
            references,
            tables.get(draft.name),
            darts[draft.name],
        )
        zones.append(zone)
        problems += said
    return tuple(zones), problems


def _gathered(areas: Sequence[tuple[str, Area, Source]]) -> list[_Draft]:
    drafts: dict[str, _Draft] = {}
    for name, area, source in areas:
        before = drafts.get(name)
        drafts[name] = (
            _Draft(name, "", (area,), source)
            if before is None
            else replace(before, areas=(*before.areas, area))
        )
    return list(drafts.values())


def _on_a_piece(
    draft: _Draft, pieces: Sequence[Piece], sites: Sequence[Site]
) -> tuple[_Draft | None, Problems]:
    polygons = [to_polygon(area, FLAT_MM) for area in draft.areas]
    for polygon in polygons:
        if not polygon.is_valid:
            return None, (_crossing(draft, polygon),)
    shape = draft.shape
    if len(polygons) > 1 and shape.area < sum(p.area for p in polygons) - 0.01:
        return None, (
            Problem(
                "regions-overlap",
                Severity.ERROR,
                f'regions of the zone "{draft.name}" lie over each other',
                "Unite them, or take the one out that is there twice.",
                draft.source,
                draft.areas[-1].outline.start,
            ),
        )
    name, touches = site_for(sites, shape)
    if not touches:
        place = shape.representative_point()
        return None, (
            Problem(
                "zone-outside",
                Severity.ERROR,
                f'the zone "{draft.name}" lies outside every piece',
                "Move it onto its piece, or draw the outline of the piece around it.",
                draft.source,
                (round(place.x, 2), round(place.y, 2)),
            ),
        )
    draft = replace(draft, piece=name)
    piece = next(piece for piece in pieces if piece.name == name)
    problems: Problems = ()
    if piece.make is Make.FOLD and piece.fold is not None:
        side = None if piece.area is None else to_polygon(piece.area, FLAT_MM)
        halves = [
            drawn_half(area, piece.fold, f'zone "{draft.name}"', draft.source, side_of=side)
            for area in draft.areas
        ]
        draft = replace(draft, areas=tuple(area for area, _ in halves))
        problems = tuple(problem for _, said in halves for problem in said)
    return _inside(draft, piece, problems)


def _crossing(draft: _Draft, polygon: Polygon) -> Problem:
    import re

    from shapely import is_valid_reason

    numbers = re.findall(r"\[(\S+) (\S+)\]", is_valid_reason(polygon))
    at = (round(float(numbers[0][0]), 2), round(float(numbers[0][1]), 2)) if numbers else None
    return Problem(
        "outline-crosses",
        Severity.ERROR,
        f'the outline of zone "{draft.name}" crosses itself',
        "Redraw the line there so that it does not cross or touch itself.",
        draft.source,
        at,
    )


def _inside(draft: _Draft, piece: Piece, problems: Problems) -> tuple[_Draft | None, Problems]:
    """The zone as far as it lies on its piece; what stands out beyond the outline is cut off."""
    if piece.area is None:
        return draft, problems
    outline = with_wedges(to_polygon(piece.area, FLAT_MM), piece)
    outside = without(draft.shape, outline)
    if outside.buffer(-SHARED_WITHIN_MM / 2.0).is_empty:
        return draft, problems
    place = polygons_in(outside)[0].representative_point()
    areas = tuple(
        from_polygon(part)
        for area in draft.areas
        for part in polygons_in(overlap(to_polygon(area, FLAT_MM), outline))
    )
    return replace(draft, areas=areas), (
        *problems,
        Problem(
            "zone-beyond-piece",
            Severity.WARNING,
            f'the zone "{draft.name}" reaches beyond the piece "{piece.name}"'
            f" by {outside.area:.0f} mm² and is cut at its outline",
            "Draw the zone up to the outline; cloth beyond it comes from the allowance.",
            draft.source,
            (round(place.x, 2), round(place.y, 2)),
        ),
    )


def _in_order(drafts: list[_Draft], job: Job) -> tuple[list[_Draft], Problems]:
    """From below to above: the job's order where it speaks, the drawing's for the rest."""
    known = {draft.name for draft in drafts}
    asked = [plain_name(name) for name in job.order]
    problems = tuple(
        Problem(
            "unknown-zone",
            Severity.ERROR,
            f'the zone "{name}" is not in the drawing',
            f"The drawing has: {', '.join(sorted(known)) or 'none'}.",
            in_job("order"),
        )
        for name in asked
        if name not in known
    )
    places = {name: place for place, name in enumerate(asked)}
    slots = [k for k, draft in enumerate(drafts) if draft.name in places]
    ranked = sorted((drafts[k] for k in slots), key=lambda draft: places[draft.name])
    ordered = list(drafts)
    for slot, draft in zip(slots, ranked, strict=True):
        ordered[slot] = draft
    return ordered, problems


def _met(drafts: list[_Draft], pieces: Sequence[Piece]) -> tuple[list[_Draft], Problems]:
    """Zones of one piece that run beside each other, or the fold, get one common line."""
    result, problems = list(drafts), list[Problem]()
    for piece in pieces:
        here = [k for k, draft in enumerate(drafts) if draft.piece == piece.name]
        sheets = [Traced(drafts[k].name, drafts[k].areas, drafts[k].source) for k in here]
        areas, said = meet(sheets, piece.fold)
        problems += said
        for k, laid in zip(here, areas, strict=True):
            result[k] = replace(drafts[k], areas=laid)
        problems += gaps([replace(s, areas=laid) for s, laid in zip(sheets, areas, strict=True)])
    return result, tuple(problems)


def _apart(drafts: list[_Draft], top_wins: bool) -> tuple[list[_Draft], Problems]:
    """Zones that overlap are refused, or the upper one is cut out of the lower."""
    from shapely import STRtree, maximum_inscribed_circle

    shapes = [draft.shape for draft in drafts]
    tree = STRtree(shapes)
    problems: list[Problem] = []
    result = list(drafts)
    for low, shape in enumerate(shapes):
        for high in sorted(int(k) for k in tree.query(shape, predicate="intersects")):
            if high <= low:
                continue
            common = overlap(shape, shapes[high])
            if common.buffer(-SHARED_WITHIN_MM / 2.0).is_empty:
                continue
            if top_wins:
                result[low] = _cut_out(result[low], shapes[high])
                continue
            x, y = maximum_inscribed_circle(polygons_in(common)[0], tolerance=0.1).coords[0]
            problems.append(
                Problem(
                    "zones-overlap",
                    Severity.ERROR,
                    f'the zones "{drafts[low].name}" and "{drafts[high].name}" lie over each other'
                    f" ({common.area:.1f} mm²)",
                    'Draw them edge to edge, or write overlap = "top" so that the upper one wins.',
                    drafts[high].source,
                    (round(x, 2), round(y, 2)),
                )
            )
    return result, tuple(problems)


def _cut_out(draft: _Draft, upper: BaseGeometry) -> _Draft:
    areas = tuple(
        from_polygon(part)
        for area in draft.areas
        for part in polygons_in(without(to_polygon(area, FLAT_MM), upper))
        if not part.buffer(-SHARED_WITHIN_MM / 2.0).is_empty
    )
    return replace(draft, areas=areas)


def _zone(
    draft: _Draft,
    level: int,
    drafts: Sequence[_Draft],
    polygons: Mapping[str, BaseGeometry],
    piece: Piece,
    references: Sequence[Reference],
    table: ZoneTable | None,
    darts: Sequence[DartLine],
) -> tuple[Zone, Problems]:
    from templater.job.schema import ZoneTable

    said = table or ZoneTable()
    features = dart_features(darts, piece, said.edges)
    features.extend(
        line_features(piece.name, piece.fold, piece.seams, references, said.edges, said.allowance)
    )
    features.extend(_neighbours(draft, level, drafts, polygons, said))
    if piece.area is not None:
        lines = [line_geometry(path) for path in (piece.area.outline, *piece.area.holes)]
        features.extend(
            Feature(EdgeKind.PIECE, piece.name, line, said.allowance, visible=False)
            for line in lines
        )
    regions = tuple(
        Region(
            area,
            tuple(cut_ring(path, features, said.allowance) for path in (area.outline, *area.holes)),
        )
        for area in draft.areas
    )
    kinds = (EdgeKind.SEAM, EdgeKind.EDGE, EdgeKind.DART)
    named = {feature.name for feature in features if feature.kind in kinds}
    problems = tuple(
        Problem(
            "unknown-edge",
            Severity.ERROR,
            f'the piece "{piece.name}" has no edge or seam "{edge}"',
            f"It has: {', '.join(sorted(named)) or 'none'}. Draw one on a layer named edge or seam and its name.",
            in_job("zones", draft.name, "edges", edge),
        )
        for edge in said.edges
        if plain_name(edge) not in named
    )
    return (
        Zone(draft.name, draft.piece, regions, level, _register(draft), draft.source),
        problems,
    )


def _neighbours(
    draft: _Draft,
    level: int,
    drafts: Sequence[_Draft],
    polygons: Mapping[str, BaseGeometry],
    said: ZoneTable,
) -> list[Feature]:
    """The zones that touch this one; beneath one that lies above it goes the underlap."""
    mine = polygons[draft.name]
    return [
        Feature(
            EdgeKind.NEIGHBOUR,
            other.name,
            polygons[other.name].boundary,
            said.underlap if other_level > level else said.allowance,
            visible=True,
        )
        for other_level, other in enumerate(drafts)
        if other.name != draft.name
        and other.piece == draft.piece
        and polygons[other.name].distance(mine) <= SHARED_WITHIN_MM
    ]


def _register(draft: _Draft) -> tuple[Point, ...]:
    """Three corners of a box around the zone, and a fourth mark off the middle of its lower side.

    The missing corner and the odd mark let no turned or flipped sheet match.
    """
    x0, y0, x1, y1 = box_of((x, y) for area in draft.areas for x, y in _corners(area))
    x0, y0 = round(x0 - _REGISTER_MARGIN_MM, 2), round(y0 - _REGISTER_MARGIN_MM, 2)
    x1, y1 = round(x1 + _REGISTER_MARGIN_MM, 2), round(y1 + _REGISTER_MARGIN_MM, 2)
    return ((x0, y0), (x1, y0), (x0, y1), (round(x0 + 0.38 * (x1 - x0), 2), y0))


def _corners(area: Area) -> tuple[Point, Point]:
    x0, y0, x1, y1 = to_polygon(area, 0.01).bounds
    return (x0, y0), (x1, y1)


def read_rows(shapes: Sorted, sites: Sequence[Site]) -> tuple[tuple[Row, ...], Problems]:
    """The lines to set stones along, each on its piece; several of one name are one row's parts."""
    rows: list[Row] = []
    problems: list[Problem] = []
    for name, path, source in lines_of(shapes.of(Role.ROW)):
        piece, touches = site_for(sites, line_geometry(path))
        if not touches:
            problems.append(
                Problem(
                    "row-outside",
                    Severity.ERROR,
                    f'the row "{name}" lies outside every piece',
                    "Move it onto its piece.",
                    source,
                    path.start,
                )
            )
            continue
        rows.append(Row(name, piece, path, source))
    return tuple(rows), tuple(problems)
