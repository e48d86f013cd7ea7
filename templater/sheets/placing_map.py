"""A piece on one page, reduced: where its appliqués are pinned, for a tape measure alone.

Imports shapely inside functions.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from templater.geometry.flatten import flatten
from templater.geometry.hole_sheets import MARGIN_MM
from templater.geometry.measure import join_boxes, path_box
from templater.geometry.moves import moved_path
from templater.lettering import text_width_mm
from templater.model.curves import Box, Path, Transform
from templater.model.ground import EdgeKind, Ground, Piece, Side, Surface
from templater.model.parts import EdgeMeasure
from templater.model.sheets import Drawable, Lettering, Pen, Sheet, SheetLayer, Stroke
from templater.sheets.frame import BLOCK_MM
from templater.sheets.marks import line
from templater.sheets.measures import (
    Pin,
    Room,
    measure_lines,
    tape_words,
)
from templater.sheets.one_page import Draft, Page, numbered, pages_of
from templater.sheets.words import face_words, joined, side_words

if TYPE_CHECKING:
    from templater.job.schema import Job

_SCALES = (1, 2, 3, 4, 5, 6, 8, 10, 15, 20, 30, 50, 100)
"""Reductions; 1:2, 1:5 and 1:10 are those of ISO 5455, the others between them save paper."""
_MAP_TEXT_MM = 1.8
_ROW_MM = 4.0
_TABLE_TEXT_MM = 2.5
_AROUND_MM = 16.0
_LEAST_MAP_MM = 90.0
_HOW = (
    "On the map: along | square. Along: from the 0, the tape on the finished edge; beyond the edge's ends run it straight on. "
    "Square: from there into the garment, square to the edge."
)


def _map_room(page: Page, table_mm: float) -> tuple[float, float]:
    """What is left for a map over a table."""
    bands = 2.0 * MARGIN_MM + BLOCK_MM + 2.0 * _AROUND_MM
    width = page.width_mm - 2.0 * (MARGIN_MM + _AROUND_MM)
    return (width, page.height_mm - bands - table_mm)


def map_sheets(
    ground: Ground, pins: Mapping[str, tuple[Pin, ...]], job: Job, stems: Mapping[str, str]
) -> tuple[Sheet, ...]:
    """A map for each piece and side with appliqués to pin, and the rest of a long table after it."""
    found: list[tuple[str, Surface, tuple[tuple[Side, Transform], ...], tuple[Pin, ...]]] = []
    for surface in ground.surfaces:
        rows = pins.get(surface.piece, ())
        if not any(row.measures for row in rows):
            continue
        sides = [(each.side, each.transform) for each in surface.sides]
        for group in [sides] if surface.joined_at_fold else [[each] for each in sides]:
            side = group[0][0] if len(group) == 1 else Side.CENTRE
            stem = f"print/{stems[surface.piece]}-{side.value}-map"
            found.append((stem, surface, tuple(group), rows))
    drawn = [
        sheet
        for stem, surface, group, rows in found
        for sheet in _maps(stem, surface, group, rows, ground, job)
    ]
    return numbered(drawn, "map")


def _maps(
    stem: str,
    surface: Surface,
    group: tuple[tuple[Side, Transform], ...],
    rows: tuple[Pin, ...],
    ground: Ground,
    job: Job,
) -> Iterator[Draft]:
    piece = ground.piece(surface.piece)
    areas = _shapes(piece, ground)
    box = join_boxes(path_box(moved_path(path, move)) for _, move in group for path in areas)
    pages = pages_of(job)
    fitting = []
    for page in pages:
        most = int((_map_room(page, 0.0)[1] - _LEAST_MAP_MM) / _ROW_MM) - 2
        first = rows[: max(most, 1)]
        table = (len(first) + 2) * _ROW_MM
        fitting.append((_scale(box, _map_room(page, table)), page, first, table))
    scale, page, first, table = min(fitting, key=lambda each: each[0])
    size = page.size_mm
    width, height = (box[2] - box[0]) / scale, (box[3] - box[1]) / scale
    left = (page.width_mm - width) / 2.0
    low = MARGIN_MM + table + _AROUND_MM + max(0.0, _map_room(page, table)[1] - height) / 2.0
    k = 1.0 / scale
    to_sheet = Transform(k, 0.0, 0.0, k, round(left - box[0] * k, 4), round(low - box[1] * k, 4))
    side = Side.CENTRE if len(group) > 1 else group[0][0]
    name = "" if piece.name == "main" else piece.name
    words = f"1 : {scale}" if scale > 1 else "true size"
    heading = joined(f"Placing map {words}", job.name)
    identity = joined(name, side_words(side), face_words(is_reversed=False))
    facts = (
        joined("" if scale == 1 else "NOT TRUE SIZE", "distances are those on the garment"),
        _HOW,
        f"Drawn on the wearer's {group[0][0].value}; the other side is its mirror image."
        if len(group) > 1
        else "",
    )
    layers = (
        SheetLayer("outline", tuple(_outline(piece, surface, group, to_sheet))),
        SheetLayer("zones", tuple(_zones(piece, ground, group, to_sheet))),
        SheetLayer("measures", _measures(piece, ground, group, rows, to_sheet, job)),
        SheetLayer("table", tuple(_table(first, (MARGIN_MM, MARGIN_MM + table), size, job))),
    )
    yield Draft(stem, size, heading, identity, facts, layers)
    rest, number = rows[len(first) :], 2
    each = max(int((_map_room(page, 0.0)[1] + 2.0 * _AROUND_MM) / _ROW_MM) - 3, 1)
    while rest:
        corner = (MARGIN_MM, page.below_block_mm)
        shown = SheetLayer("table", tuple(_table(rest[:each], corner, size, job)))
        yield Draft(f"{stem}-{number}", size, heading, identity, (_HOW,), (shown,))
        rest, number = rest[each:], number + 1


def _scale(box: Box, room: tuple[float, float]) -> int:
    wide, high = box[2] - box[0], box[3] - box[1]
    fits = (s for s in _SCALES if wide / s <= room[0] and high / s <= room[1])
    return next(fits, _SCALES[-1])


def _shapes(piece: Piece, ground: Ground) -> list[Path]:
    own = [] if piece.area is None else [piece.area.outline]
    zones = [
        region.area.outline
        for zone in ground.zones
        if zone.piece == piece.name
        for region in zone.regions
    ]
    edges = [each.path for each in ground.references if each.piece == piece.name]
    return [*own, *zones, *edges]


def _outline(
    piece: Piece,
    surface: Surface,
    group: Sequence[tuple[Side, Transform]],
    to_sheet: Transform,
) -> Iterator[Drawable]:
    for _, move in group:
        for ring in piece.rings:
            for edge in ring:
                if edge.kind is not EdgeKind.FOLD or not surface.joined_at_fold:
                    yield Stroke(moved_path(edge.path, move.then(to_sheet)), Pen.CUT)
    if piece.fold is not None:
        move = group[0][1].then(to_sheet)
        yield line(move.apply(piece.fold.start), move.apply(piece.fold.end), Pen.FOLD)


def _zones(
    piece: Piece,
    ground: Ground,
    group: Sequence[tuple[Side, Transform]],
    to_sheet: Transform,
) -> Iterator[Drawable]:
    for zone in ground.zones:
        if zone.piece == piece.name:
            for _, move in group:
                for region in zone.regions:
                    for ring in region.rings:
                        for edge in ring:
                            if edge.kind not in {EdgeKind.FOLD, EdgeKind.PIECE, EdgeKind.SEAM}:
                                path = moved_path(edge.path, move.then(to_sheet))
                                yield Stroke(path, Pen.NOTE)


def _measures(
    piece: Piece,
    ground: Ground,
    group: Sequence[tuple[Side, Transform]],
    rows: Sequence[Pin],
    to_sheet: Transform,
    job: Job,
) -> tuple[Drawable, ...]:
    from shapely import LineString

    lines = [
        LineString(flatten(moved_path(path, move.then(to_sheet)), 0.1))
        for _, move in group
        for path in _shapes(piece, ground)
    ]
    references = [each for each in ground.references if each.piece == piece.name]
    move = group[0][1].then(to_sheet)
    room = Room((), lines)
    return measure_lines(rows, piece, references, move, job.display, _MAP_TEXT_MM, room, brief=True)


def _table(
    rows: Sequence[Pin],
    corner: tuple[float, float],
    size: tuple[float, float],
    job: Job,
) -> Iterator[Drawable]:
    """The distances in columns, from its upper left corner down; as wide as the sheet allows."""
    most = max((len(row.measures) for row in rows), default=0)
    head = ["point", "on", *(["edge", "along", "square"] * most)]
    cells = [
        [row.code, row.words, *(word for m in row.measures for word in _said(m, job))]
        for row in rows
    ]
    height = _TABLE_TEXT_MM
    while True:
        widths = [
            max(text_width_mm(line[k], height) for line in (head, *cells) if k < len(line)) + 4.0
            for k in range(len(head))
        ]
        if sum(widths) <= size[0] - 2.0 * MARGIN_MM or height <= _MAP_TEXT_MM:
            break
        height = _MAP_TEXT_MM
    x0, y = corner
    y -= _ROW_MM
    x1 = x0 + min(sum(widths), size[0] - 2.0 * MARGIN_MM)
    for number, row in enumerate((head, *cells)):
        x = x0
        for word, width in zip(row, widths, strict=False):
            yield Lettering(word, (round(x + 1.0, 4), round(y + 1.1, 4)), height)
            x += width
        yield line((x0, y), (round(x1, 4), y), Pen.MARK if number == 0 else Pen.NOTE)
        y = round(y - _ROW_MM, 4)


def _said(measure: EdgeMeasure, job: Job) -> tuple[str, str, str]:
    return (
        measure.edge,
        tape_words(measure.along_mm, job.display),
        tape_words(measure.square_mm, job.display),
    )
