"""Placement sheets: a piece as it is made up, at true size, with everything that is put on it.

Printed in tiles for people. A registration sheet is the same without stones: outlines, register
marks and names only, to place film and cloth against. Imports shapely inside functions.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import TYPE_CHECKING

from templater.geometry.flatten import flatten
from templater.geometry.hole_sheets import SIDE_BAND_MM, margin_for
from templater.geometry.measure import box_of, path_box, path_length, point_along
from templater.geometry.moves import moved_area, moved_path
from templater.geometry.register import corner_marks
from templater.geometry.stone_shapes import placed_stone_path
from templater.lettering import text_width_mm
from templater.model.curves import Area, Box, Path, Point, Transform, shift
from templater.model.ground import EdgeKind, Ground, Piece, Side
from templater.model.parts import Pass
from templater.model.sheets import (
    Circle,
    Drawable,
    Pen,
    Sheet,
    SheetLayer,
    Stroke,
)
from templater.model.stones import PlacedStone, Size
from templater.sheets.callouts import Callout, callouts
from templater.sheets.cloth_marks import (
    ClothMarks,
    Panel,
    Room,
    cloth_names,
    cloth_strokes,
    cloth_table,
    name_boxes,
    table_height_mm,
)
from templater.sheets.frame import WIDEST_MM, head_over, side_bars, title_block
from templater.sheets.hatching import hatched
from templater.sheets.marks import bar_lengths_mm, mark_names, register_targets, test_square
from templater.sheets.measures import Pin
from templater.sheets.placing_lines import corners_of, placing_lines, shifted
from templater.sheets.views import View, clear_of_stones, views_of
from templater.sheets.words import face_words, joined, length_words, side_words

if TYPE_CHECKING:
    from templater.job.schema import Job

AROUND_MM = 14.0
CALLOUT_ROOM_MM = 2.0
_EDGE_TEXT_MM = 3.5
_BESIDE_SQUARE_MM = 4.0
_DRAWN_WITH_PIECE = {EdgeKind.SEAM, EdgeKind.PIECE, EdgeKind.FOLD}


def placement_sheets(
    ground: Ground,
    stones: Sequence[PlacedStone],
    passes: Sequence[Pass],
    part_marks: Mapping[tuple[str, Side], Mapping[Point, str]],
    sizes: Mapping[str, Size],
    job: Job,
    stems: Mapping[str, str],
    pins: Mapping[str, Sequence[Pin]] = MappingProxyType({}),
    cloth: Mapping[Panel, tuple[ClothMarks, ...]] = MappingProxyType({}),
) -> tuple[Sheet, ...]:
    """A placement sheet and a registration sheet for each piece and side.

    `part_marks` are the register marks of cut parts on the garment, by piece and side; `pins` the
    points by which appliqués are pinned, by piece: the placement sheet has their distances; `cloth`
    the marks by which film is laid on cut cloth: the registration sheet has them and theirs.
    """
    views = [
        view
        for surface in ground.surfaces
        for view in views_of(ground, surface, stones, passes, part_marks, cloth)
    ]
    count = 2 * len(views)
    sheets: list[Sheet] = []
    for view in views:
        stem = f"print/{stems[view.piece.name]}-{view.side.value}"
        number = len(sheets) + 1
        # Marks among the stones are for the registration sheet.
        lines = placing_lines(
            pins.get(view.piece.name, ()), view.piece, view.sides, view.stones, ground, job.display
        )
        full = replace(
            view, panel_marks={}, part_marks=clear_of_stones(view), cloth=(), measures=lines
        )
        sheets.append(_sheet(f"{stem}-placement", full, ground, sizes, job, number, count))
        bare = replace(view, stones=())
        sheets.append(_sheet(f"{stem}-registration", bare, ground, sizes, job, number + 1, count))
    return tuple(sheets)


def _sheet(
    name: str,
    view: View,
    ground: Ground,
    sizes: Mapping[str, Size],
    job: Job,
    number: int,
    of: int,
) -> Sheet:
    box = _content_box(view, ground)
    labels = _callouts(view, ground)
    margin = margin_for(job.templates.paper.margin)
    wide = max(
        (text_width_mm(label.text, label.height_mm) + CALLOUT_ROOM_MM for label in labels),
        default=0.0,
    )
    to_sheet = shift(
        round(margin + SIDE_BAND_MM + AROUND_MM + wide - box[0], 4),
        round(margin + AROUND_MM - box[1], 4),
    )
    inner = box[2] - box[0] + 2.0 * (AROUND_MM + wide) + 2.0 * margin + SIDE_BAND_MM
    # The test square stands beside the title: both on one page, and no row of pages for them alone.
    side_mm = bar_lengths_mm(job.display)[-1]
    header = side_mm + _BESIDE_SQUARE_MM + table_height_mm(view.cloth)
    width = float(int(max(inner, 240.0, WIDEST_MM + 2.0 * margin)) + 1)
    height = float(int(box[3] - box[1] + 2.0 * AROUND_MM + 2.0 * margin + header) + 1)
    size = (width, height)
    top = height - margin
    head = head_over(top, size, margin, side_mm + _BESIDE_SQUARE_MM)
    bars, bar_items = side_bars(head, job.display)
    left = margin + head.width_mm + _BESIDE_SQUARE_MM
    square, square_items = test_square((round(left, 4), round(top - side_mm, 4)), job.display)
    is_registration = name.endswith("-registration")
    side = side_words(view.side)
    piece = "" if view.piece.name == "main" else view.piece.name
    heading = joined("Registration sheet" if is_registration else "Placement sheet", job.name)
    identity = joined(piece, side, face_words(is_reversed=False))
    stem_sizes = sorted({stone.size for stone in view.stones})
    facts = (
        joined(
            f"{len(view.stones)} stones: {', '.join(stem_sizes)}" if view.stones else "",
            "dotted and hatched: keep clear; dashed: seam; chain: fold or crease",
        ),
        "Print at 100 %, measure the bars, join the pages at their marks.",
    )
    block = title_block(head, heading, identity, facts, f"sheet {number} of {of}")
    # Both sides' marks mirror each other; three of the sheet's own tell it when it is flipped.
    marks = {**view.marks, **dict.fromkeys(corner_marks(box, AROUND_MM - 6.0), "")}
    register = tuple(_snapped(to_sheet.apply(mark)) for mark in marks)
    names = list(marks.values())
    stones = [_stone_box(stone, to_sheet) for stone in view.stones]
    middle = (box[0] + box[2]) / 2.0 + to_sheet.e
    lower, upper = box[1] + to_sheet.f, box[3] + to_sheet.f
    below = round(top - header, 4)
    around = (margin, margin, width - margin, below)
    cloth = cloth_names(view.cloth, to_sheet, register, stones, around)
    named = mark_names(register, names, [*stones, *name_boxes(cloth)])
    table = Room(margin + SIDE_BAND_MM, square[0].y0 - 2.0, width - margin, below)
    layers = (
        SheetLayer("outline", tuple(_outline(view, to_sheet))),
        SheetLayer("zones", tuple(_zones(view, ground, to_sheet))),
        *_stone_layers(view, sizes, to_sheet),
        SheetLayer("clear", tuple(_clear(view, ground, to_sheet))),
        SheetLayer("lines", tuple(_lines(view, ground, to_sheet))),
        SheetLayer("measures", shifted(view.measures, to_sheet)),
        SheetLayer("register", (*register_targets(register), *named)),
        SheetLayer("cloth", (*cloth_strokes(view.cloth, to_sheet), *cloth)),
        SheetLayer("table", tuple(cloth_table(view.cloth, table, job.display))),
        SheetLayer("bars", (*bar_items, *square_items)),
        SheetLayer("names", callouts(labels, to_sheet, middle, (lower, upper), box, wide)),
        SheetLayer("text", block),
    )
    return Sheet(
        name=name,
        title=joined(heading, identity),
        size_mm=size,
        kind="placement",
        register=register,
        bars=(*bars, *square),
        number=number,
        of=of,
        layers=tuple(layer for layer in layers if layer.items),
    )


def _shapes_of(view: View, ground: Ground) -> Iterator[Area]:
    if view.piece.area is not None:
        yield view.piece.area
    for zone in ground.zones:
        if zone.piece == view.piece.name:
            for region in zone.regions:
                yield region.area


def _content_box(view: View, ground: Ground) -> Box:
    points: list[Point] = [*view.marks, *corners_of(view.measures)]
    for stone in view.stones:
        reach = max(stone.length_mm, stone.width_mm) / 2.0
        points += [
            (stone.x_mm - reach, stone.y_mm - reach),
            (stone.x_mm + reach, stone.y_mm + reach),
        ]
    areas = list(_shapes_of(view, ground))
    rows = [row.path for row in ground.rows if row.piece == view.piece.name]
    edges = [edge.path for edge in ground.references if edge.piece == view.piece.name]
    for _, move in view.sides:
        for path in [*(area.outline for area in areas), *rows, *edges]:
            x0, y0, x1, y1 = path_box(moved_path(path, move))
            points += [(x0, y0), (x1, y1)]
    return box_of(points) if points else (0.0, 0.0, 100.0, 100.0)


def _rings(area: Area, pen: Pen) -> Iterator[Drawable]:
    yield Stroke(area.outline, pen)
    for hole in area.holes:
        yield Stroke(hole, pen)


def _outline(view: View, to_sheet: Transform) -> Iterator[Drawable]:
    """The piece's edges: seams dashed, the fold left to its chain line, all else continuous."""
    for _, move in view.sides:
        for ring in view.piece.rings:
            for edge in ring:
                if edge.kind is not EdgeKind.FOLD or not view.surface.joined_at_fold:
                    pen = Pen.SEAM if edge.kind is EdgeKind.SEAM else Pen.CUT
                    yield Stroke(moved_path(edge.path, move.then(to_sheet)), pen)


def _zones(view: View, ground: Ground, to_sheet: Transform) -> Iterator[Drawable]:
    for zone in ground.zones:
        if zone.piece == view.piece.name:
            for _, move in view.sides:
                yield from (
                    Stroke(moved_path(edge.path, move.then(to_sheet)), Pen.NOTE)
                    for region in zone.regions
                    for ring in region.rings
                    for edge in ring
                    if edge.kind not in _DRAWN_WITH_PIECE
                )


def _stone_layers(
    view: View, sizes: Mapping[str, Size], to_sheet: Transform
) -> Iterator[SheetLayer]:
    """One layer a size, so that a size can be printed alone."""
    for name in sorted({stone.size for stone in view.stones}):
        own = [stone for stone in view.stones if stone.size == name]
        yield SheetLayer(
            f"stones {name}", tuple(_stone(stone, sizes[name], to_sheet) for stone in own)
        )


def _stone_box(stone: PlacedStone, to_sheet: Transform) -> Box:
    x, y = to_sheet.apply((stone.x_mm, stone.y_mm))
    reach = max(stone.length_mm, stone.width_mm) / 2.0
    return (x - reach, y - reach, x + reach, y + reach)


def _stone(stone: PlacedStone, size: Size, to_sheet: Transform) -> Drawable:
    x, y = _snapped(to_sheet.apply((stone.x_mm, stone.y_mm)))
    if size.is_round:
        return Circle(x, y, stone.width_mm, Pen.STONE, stone.id)
    path = placed_stone_path(size.shape, stone.length_mm, stone.width_mm, (x, y), stone.turn_deg)
    return Stroke(path, Pen.STONE)


def _clear(view: View, ground: Ground, to_sheet: Transform) -> Iterator[Drawable]:
    for keep in ground.keep_clear:
        if keep.piece != view.piece.name or keep.role == "seam":
            continue
        for _, move in view.sides:
            yield from hatched(keep.shape, keep.reach_mm, move.then(to_sheet))
    for low in ground.lows:
        if low.piece == view.piece.name:
            for _, move in view.sides:
                yield from _rings(moved_area(low.area, move.then(to_sheet)), Pen.KEEP_CLEAR)


def _lines(view: View, ground: Ground, to_sheet: Transform) -> Iterator[Drawable]:
    piece = view.piece
    for _, move in view.sides:
        whole = move.then(to_sheet)
        for seam in piece.seams:
            if not _on_edge(seam.path, piece):
                yield Stroke(moved_path(seam.path, whole), Pen.SEAM)
        for crease in piece.creases:
            yield Stroke(moved_path(crease, whole), Pen.FOLD)
        for row in ground.rows:
            if row.piece == piece.name and not view.stones:
                yield Stroke(moved_path(row.path, whole), Pen.NOTE)
    if piece.fold is not None:
        from templater.geometry.polygons import polyline

        fold = polyline((piece.fold.start, piece.fold.end), closed=False)
        move = view.sides[0][1].then(to_sheet)
        yield Stroke(moved_path(fold, move), Pen.FOLD)


def _on_edge(path: Path, piece: Piece) -> bool:
    """Whether a line is one of the piece's own edges, which are drawn already."""
    from shapely import LineString

    from templater.geometry.polygons import to_polygon

    if piece.area is None:
        return False
    edge = to_polygon(piece.area, 0.05).boundary.buffer(0.5)
    return bool(edge.covers(LineString(flatten(path, 0.05))))


def _callouts(view: View, ground: Ground) -> list[Callout]:
    """Names of zones, rows, edges and low areas, each with the points it may point at."""
    found: list[Callout] = []
    piece = view.piece.name
    for side, move in view.sides:
        for zone in ground.zones:
            if zone.piece == piece:
                at = [move.apply(_deep(region.area)) for region in zone.regions[:1]]
                found.append(Callout(joined(zone.name, side_words(side)), at[0], _EDGE_TEXT_MM))
        for row in ground.rows:
            if row.piece == piece:
                at_row = move.apply(row.path.start)
                found.append(Callout(joined(f"row {row.name}", side_words(side)), at_row, 2.5))
        found += [
            Callout(f"edge {edge.name}", move.apply(_middle(edge.path)), 2.5)
            for edge in ground.references
            if edge.piece == piece
        ]
        for low in ground.lows:
            if low.piece == piece:
                words = f"low: no stone above {length_words(low.height_mm, 'mm')}"
                found.append(Callout(words, move.apply(low.area.outline.start), 2.5))
    return found


def _deep(area: Area) -> Point:
    """A point well inside the area."""
    from shapely import maximum_inscribed_circle

    from templater.geometry.polygons import to_polygon

    x, y = maximum_inscribed_circle(to_polygon(area, 0.1), tolerance=0.5).coords[0]
    return (float(x), float(y))


def _middle(path: Path) -> Point:
    return point_along(flatten(path, 0.1), path_length(path) / 2.0)[0]


def _snapped(point: Point) -> Point:
    return (round(point[0], 4) + 0.0, round(point[1], 4) + 0.0)
