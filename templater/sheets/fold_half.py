"""The half of a part cut on the fold, at true size: a pattern to lay on doubled cloth.

The whole outline stands on the sheets of parts; this is for shears, beside it. Parts backed with
web are always cut single, so they have none. Imports shapely inside functions.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from templater.geometry.beside import side_of, stretches_beside
from templater.geometry.hole_sheets import HEADER_MM, SIDE_BAND_MM, margin_for
from templater.geometry.moves import moved_path
from templater.geometry.polygons import (
    from_polygon,
    overlap,
    polygons_in,
    polyline,
    to_polygon,
    without,
)
from templater.lettering import text_width_mm
from templater.model.curves import Path, Point, shift
from templater.model.ground import Fold, Ground, Side
from templater.model.parts import CutPart, Label, MarkKind, PartKind
from templater.model.sheets import Anchor, Drawable, Lettering, Pen, Sheet, SheetLayer, Stroke
from templater.sheets.frame import head_over, side_bars, title_block
from templater.sheets.inner_lines import finished_lines
from templater.sheets.marks import arrow, line
from templater.sheets.part_drawing import LINE_PITCH, draw_part
from templater.sheets.words import face_words, joined

if TYPE_CHECKING:
    from templater.job.schema import Job

ON_THE_FOLD = "½ – place on the fold, cut 1 on doubled cloth"
_ARROW_WORDS = "place on the fold"
_HOW = (
    "Lay the chain line on the fold of the cloth and do not cut along it. Continuous line: cut; "
    "dashed: seam or finished line."
)
_FLAT_MM = 0.02
_ARROW_IN_MM = 10.0
"""From the fold to the arrow's back."""
_ARROW_MOST_MM = 120.0
_AROUND_MM = 6.0
_HEIGHTS_MM = (5.0, 3.5, 2.5, 1.8)


@dataclass(frozen=True, slots=True)
class _Half:
    """The drawn half of a part: its curves, and areas of straight lines to set words within."""

    part: CutPart
    cut: tuple[Path, ...]
    finished: tuple[Path, ...]
    ends: tuple[Point, Point]
    inwards: Point


def half_sheets(
    ground: Ground, parts: Sequence[CutPart], job: Job, stems: Mapping[str, str]
) -> tuple[Sheet, ...]:
    """One sheet for the half of each part over both sides that can be cut on doubled cloth."""
    webbed = {(part.zone, part.region) for part in parts if part.kind is PartKind.WEB}
    found = []
    for part in parts:
        fold = ground.piece(part.piece).fold
        if part.side is not Side.CENTRE or part.kind is PartKind.WEB or fold is None:
            continue
        if part.kind is PartKind.APPLIQUE and (part.zone, part.region) in webbed:
            continue
        half = _half(part, fold, ground)
        if half is not None:
            words = [stems[part.zone or part.piece], "applique" if part.zone else ""]
            words.append(str(part.region) if part.region > 1 else "")
            found.append(("-".join([*(word for word in words if word), "half"]), half))
    return tuple(
        _sheet(f"print/{name}", half, ground, job, number, len(found))
        for number, (name, half) in enumerate(found, start=1)
    )


def _half(part: CutPart, fold: Fold, ground: Ground) -> _Half | None:
    """The half on the drawn side of the fold; None for a part that only touches it."""
    area = ground.piece(part.piece).area
    drawn = part.cut if area is None else area
    middle = to_polygon(drawn, _FLAT_MM).representative_point()
    way = math.copysign(1.0, side_of((middle.x, middle.y), fold.start, fold.end))

    def clipped(paths: Sequence[Path]) -> tuple[Path, ...]:
        return tuple(
            each for path in paths for each in stretches_beside(path, fold.start, fold.end, way)
        )

    cut = clipped((part.cut.outline, *part.cut.holes))
    on_fold = [
        (along, end)
        for path in cut
        if not path.closed
        for end in (path.start, path.end)
        for along in [_along(end, fold)]
    ]
    if len(on_fold) < 2:
        return None
    ends = (min(on_fold)[1], max(on_fold)[1])
    (x0, y0), (x1, y1) = ends
    length = math.dist(*ends)
    # The ends run as the fold does, so their left is the fold's left.
    inwards = (-way * (y1 - y0) / length, way * (x1 - x0) / length)
    half_plane = _half_plane(ends, inwards)
    keep_out = _arrow_room(ends, inwards)
    marks = tuple(
        mark
        for mark in part.marks
        if mark.kind is not MarkKind.REGISTER
        and side_of(mark.at, fold.start, fold.end) * way > -0.05
    )
    sewn = polygons_in(without(overlap(to_polygon(part.finished, _FLAT_MM), half_plane), keep_out))
    if not sewn:
        return None
    half = replace(
        part,
        cut=from_polygon(polygons_in(overlap(to_polygon(part.cut, _FLAT_MM), half_plane))[0]),
        finished=from_polygon(sewn[0]),
        marks=marks,
        label=_label(part, sewn[0]),
    )
    return _Half(half, cut, clipped(finished_lines(part)), ends, inwards)


def _along(point: Point, fold: Fold) -> float:
    (x0, y0), (x1, y1) = fold.start, fold.end
    return ((point[0] - x0) * (x1 - x0) + (point[1] - y0) * (y1 - y0)) / math.dist(
        fold.start, fold.end
    )


def _half_plane(ends: tuple[Point, Point], inwards: Point) -> Any:
    from shapely import Polygon

    (x0, y0), (x1, y1) = ends
    length, far = math.dist(*ends), 10_000.0
    ux, uy = (x1 - x0) / length, (y1 - y0) / length
    a, b = (x0 - far * ux, y0 - far * uy), (x1 + far * ux, y1 + far * uy)
    ix, iy = inwards[0] * far, inwards[1] * far
    return Polygon([a, b, (b[0] + ix, b[1] + iy), (a[0] + ix, a[1] + iy)])


def _arrow_ends(ends: tuple[Point, Point]) -> tuple[Point, Point]:
    (x0, y0), (x1, y1) = ends
    length = math.dist(*ends)
    share = min(0.6, _ARROW_MOST_MM / length) / 2.0
    return (
        (x0 + (0.5 - share) * (x1 - x0), y0 + (0.5 - share) * (y1 - y0)),
        (x0 + (0.5 + share) * (x1 - x0), y0 + (0.5 + share) * (y1 - y0)),
    )


def _arrow_room(ends: tuple[Point, Point], inwards: Point) -> Any:
    """The arrow with its words, kept free of label and grain."""
    from shapely import Polygon

    a, b = _arrow_ends(ends)
    deep = _ARROW_IN_MM + 7.0
    ix, iy = inwards[0] * deep, inwards[1] * deep
    return Polygon([a, b, (b[0] + ix, b[1] + iy), (a[0] + ix, a[1] + iy)]).buffer(3.0)


def _fold_arrow(ends: tuple[Point, Point], inwards: Point) -> Iterator[Drawable]:
    """The bent arrow: its back along the fold, both its heads turned to the fold."""
    a, b = _arrow_ends(ends)
    backs = [(x + inwards[0] * _ARROW_IN_MM, y + inwards[1] * _ARROW_IN_MM) for x, y in (a, b)]
    yield line(backs[0], backs[1], Pen.MARK)
    for back, tip in zip(backs, (a, b), strict=True):
        yield from arrow(back, tip, Pen.MARK)
    turn = math.degrees(math.atan2(b[1] - a[1], b[0] - a[0]))
    turn = (turn + 90.0) % 180.0 - 90.0
    turn = 90.0 if turn == -90.0 else turn
    length = math.dist(a, b)
    height = next((h for h in _HEIGHTS_MM[1:] if text_width_mm(_ARROW_WORDS, h) <= length), 1.8)
    # On the far side of the arrow's back, read with the fold below or beside it.
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    out = _ARROW_IN_MM + 1.0 + height / 2.0
    x = (a[0] + b[0]) / 2.0 + inwards[0] * out + s * height * 0.4
    y = (a[1] + b[1]) / 2.0 + inwards[1] * out - c * height * 0.4
    yield Lettering(
        _ARROW_WORDS,
        (round(x, 4), round(y, 4)),
        height,
        round(turn % 360.0, 4),
        Anchor.MIDDLE,
        pen=Pen.MARK,
    )


def _label(part: CutPart, room: Any) -> Label:
    """What the whole part's label says, for the half: well inside it, as large as fits."""
    from shapely import box, maximum_inscribed_circle

    said = [text for text in part.label.lines if text not in {"cut 1", ON_THE_FOLD}]
    lines = (*(text.replace(" · cut 1", "") for text in said), ON_THE_FOLD)
    x, y = maximum_inscribed_circle(room, tolerance=0.5).coords[0]
    for height in _HEIGHTS_MM[1:]:
        wide = max(text_width_mm(text, height) for text in lines)
        tall = height * (1.0 + LINE_PITCH * (len(lines) - 1))
        for turn in (0.0, 90.0):
            w, h = (wide, tall) if turn == 0.0 else (tall, wide)
            if room.covers(box(x - w / 2.0, y - h / 2.0, x + w / 2.0, y + h / 2.0)):
                return Label(lines, (round(x, 4), round(y, 4)), height, turn)
    return Label(lines, (round(x, 4), round(y, 4)), _HEIGHTS_MM[-1], 0.0)


def _sheet(name: str, half: _Half, ground: Ground, job: Job, number: int, of: int) -> Sheet:
    margin = margin_for(job.templates.paper.margin)
    x0, y0, x1, y1 = to_polygon(half.part.cut, _FLAT_MM).bounds
    to_sheet = shift(
        round(margin + SIDE_BAND_MM + _AROUND_MM - x0, 4), round(margin + _AROUND_MM - y0, 4)
    )
    width = max(math.ceil(x1 - x0 + 2.0 * _AROUND_MM + 2.0 * margin + SIDE_BAND_MM), 190)
    height = math.ceil(y1 - y0 + 2.0 * _AROUND_MM + 2.0 * margin + HEADER_MM)
    size = (float(width), float(height))
    head = head_over(y1 - y0 + 2.0 * _AROUND_MM + margin, size, margin)
    bars, bar_items = side_bars(head, job.display)
    drawing = dict(draw_part(half.part, ground, to_sheet).layers)
    drawing["cut"] = tuple(Stroke(moved_path(path, to_sheet), Pen.CUT) for path in half.cut)
    finished = tuple(Stroke(moved_path(path, to_sheet), Pen.SEAM) for path in half.finished)
    drawing["seam"] = (*finished, *_inner(drawing["seam"], half))
    fold = polyline(half.ends, closed=False)
    ends = (to_sheet.apply(half.ends[0]), to_sheet.apply(half.ends[1]))
    drawing["fold"] = (
        Stroke(moved_path(fold, to_sheet), Pen.FOLD),
        *_fold_arrow(ends, half.inwards),
    )
    del drawing["register"]
    heading = joined("Half, on the fold", job.name)
    identity = joined(half.part.zone or half.part.piece, face_words(is_reversed=False))
    facts = (
        joined(ON_THE_FOLD, half.part.fabric),
        _HOW,
    )
    drawing["text"] = (
        *title_block(head, heading, identity, facts, f"half {number} of {of}"),
        *drawing["text"],
    )
    layers = [SheetLayer(layer, items) for layer, items in drawing.items() if items]
    layers.insert(-1, SheetLayer("bars", bar_items))
    return Sheet(
        name=name,
        title=joined(heading, identity),
        size_mm=size,
        kind="half",
        register=(),
        bars=bars,
        number=number,
        of=of,
        layers=tuple(layer for layer in layers if layer.items),
    )


def _inner(items: Sequence[Drawable], half: _Half) -> Iterator[Drawable]:
    """Inner seams and darts, without the finished line of the area that words were set within."""
    outline = finished_lines(half.part)
    yield from items[len(outline) :]
