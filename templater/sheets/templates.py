"""Stencils, tape boards, prick sheets and punch layouts, drawn from their passes.

Layers stand in the order a machine is to cut them: holes, then register marks, then the outline.
Film carries no print, so its outline tells: one corner is clipped (upper right when right way up),
and the upper edge has as many notches as the number of the pass.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING

from templater.catalogue.sizes import find_size
from templater.geometry.hole_sheets import FRAME_OUT_MM, STRIP_MM, margin_for
from templater.geometry.measure import box_of
from templater.geometry.polygons import polyline
from templater.geometry.stone_shapes import placed_stone_path
from templater.lettering import fits, fitted
from templater.model.curves import Box, Point, Transform, shift
from templater.model.parts import Hole, HoleKind, Pass
from templater.model.sheets import (
    Anchor,
    Circle,
    Drawable,
    Lettering,
    Pen,
    Sheet,
    SheetLayer,
    Stroke,
)
from templater.model.stones import PlacedStone, StoneShape
from templater.sheets.cloth_marks import ClothMarks, cloth_names, cloth_strokes
from templater.sheets.frame import SMALLEST_TEXT_MM, head_over, side_bars, title_block, wrapped
from templater.sheets.legend import SIGN_MM, legend_words, size_signs
from templater.sheets.marks import mark_names, register_targets
from templater.sheets.ways import Way, arrows_width_mm, way_arrows
from templater.sheets.words import (
    face_words,
    joined,
    length_words,
    pass_kind_words,
    pass_use_words,
    side_words,
)

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from templater.job.schema import Job

CLIP_MM = 10.0
NOTCH_WIDE_MM = 3.0
NOTCH_DEEP_MM = 2.0
NOTCH_PITCH_MM = 6.0
_LEAST_NAME_MM = 60.0


def seen_from_behind(one: Pass) -> Pass:
    """The same pass mirrored on its sheet: to be laid face down. It lists no holes of its own."""
    width = one.size_mm[0]
    flip = Transform(-1.0, 0.0, 0.0, 1.0, width, 0.0)
    # The frame keeps its place on the sheet: from the left margin to the same width.
    x0, _, x1, _ = _frame_box(one)
    flip = flip.then(shift(round(x0 + x1 - width, 4), 0.0))

    def moved(point: Point) -> Point:
        x, y = flip.apply(point)
        return (round(x, 4), round(y, 4))

    holes = tuple(
        hole._replace(x_mm=x, y_mm=y, turn_deg=(180.0 - hole.turn_deg) % 360.0)
        for hole in one.holes
        for x, y in (moved((hole.x_mm, hole.y_mm)),)
    )
    return replace(
        one,
        template=f"{one.template}-reversed",
        to_sheet=one.to_sheet.then(flip),
        reversed=True,
        register=tuple(moved(mark) for mark in one.register),
        holes=holes,
    )


def template_sheet(
    one: Pass,
    stones: Mapping[str, PlacedStone],
    ways: tuple[Way, ...],
    cloth: tuple[ClothMarks, ...],
    job: Job,
    number: int,
    of: int,
) -> Sheet:
    """The sheet of a pass. `stones` by id; `ways` say where fold and neck lie, `cloth` is what it is
    laid by on cut cloth.
    """
    frame = _frame_box(one)
    kind = {HoleKind.STENCIL: "stencil", HoleKind.PRICK: "prick", HoleKind.PUNCH: "punch"}[one.kind]
    identity = joined(
        one.piece if one.piece != "main" else "",
        one.zone,
        side_words(one.side),
        face_words(is_reversed=one.reversed),
    )
    heading = joined(pass_kind_words(one), job.name)
    head = head_over(frame[3], one.size_mm, margin_for(job.templates.paper.margin))
    bars, bar_items = side_bars(head, job.display)
    block = title_block(
        head,
        heading,
        identity,
        _facts(one, stones, ways, job),
        f"sheet {number} of {of}",
    )
    layers = [
        SheetLayer("holes", tuple(_hole(hole) for hole in one.holes)),
        SheetLayer("register", (*register_targets(one.register), *_mark_numbers(one))),
        SheetLayer("cloth", tuple(_cloth(one, cloth, frame))),
        SheetLayer("cut", (Stroke(polyline(_frame_outline(frame, one), closed=True), Pen.CUT),)),
        SheetLayer("bars", bar_items),
        SheetLayer("text", (*block, *_strip(frame, _short_names(one), ways))),
    ]
    if one.kind is HoleKind.PRICK and len(one.sizes) > 1:
        layers.insert(4, SheetLayer("sizes", tuple(size_signs(one, stones))))
    return Sheet(
        name=one.template,
        title=joined(heading, identity),
        size_mm=one.size_mm,
        kind=kind,
        register=one.register,
        bars=bars,
        number=number,
        of=of,
        layers=tuple(layer for layer in layers if layer.items),
    )


def _mark_numbers(one: Pass) -> Iterator[Drawable]:
    """A number at every mark, where no hole is in its way: tables count from mark 1."""
    names = [str(number) for number in range(1, len(one.register) + 1)]
    return mark_names(one.register, names, [_box(hole) for hole in one.holes])


def _cloth(one: Pass, cloth: tuple[ClothMarks, ...], frame: Box) -> Iterator[Drawable]:
    """The cloth's marks; their names keep off holes and the signs round them."""
    yield from cloth_strokes(cloth, one.to_sheet)
    sign = SIGN_MM if one.kind is HoleKind.PRICK else 0.0
    boxes = [
        (x0 - sign, y0 - sign, x1 + sign, y1 + sign) for x0, y0, x1, y1 in map(_box, one.holes)
    ]
    x0, y0, x1, y1 = frame
    inside = (x0 + 1.0, y0 + STRIP_MM, x1 - 1.0, y1 - NOTCH_DEEP_MM - 1.0)
    yield from cloth_names(cloth, one.to_sheet, one.register, boxes, inside)


def _box(hole: Hole) -> Box:
    reach = max(hole.diameter_mm, hole.length_mm) / 2.0
    return (hole.x_mm - reach, hole.y_mm - reach, hole.x_mm + reach, hole.y_mm + reach)


def _hole(hole: Hole) -> Drawable:
    if hole.shape == StoneShape.ROUND.value:
        return Circle(hole.x_mm, hole.y_mm, hole.diameter_mm, Pen.HOLE, hole.stone_id)
    shape = StoneShape(hole.shape)
    at = (hole.x_mm, hole.y_mm)
    return Stroke(
        placed_stone_path(shape, hole.length_mm, hole.diameter_mm, at, hole.turn_deg), Pen.HOLE
    )


def _frame_box(one: Pass) -> Box:
    """Round holes and marks, with the strip for the short name below."""
    points: list[Point] = list(one.register)
    for x0, y0, x1, y1 in map(_box, one.holes):
        points += [(x0, y0), (x1, y1)]
    x0, y0, x1, y1 = box_of(points)
    out = FRAME_OUT_MM
    return (
        round(x0 - out, 4),
        round(y0 - out - STRIP_MM, 4),
        round(x1 + out, 4),
        round(y1 + out, 4),
    )


def _frame_outline(frame: Box, one: Pass) -> tuple[Point, ...]:
    """Anticlockwise from the lower left; the corner clipped, the notches along the upper edge."""
    x0, y0, x1, y1 = frame
    # Notches stay clear of both register marks' rings and of the clipped corner.
    first, last = x0 + FRAME_OUT_MM + 6.0, x1 - CLIP_MM - 4.0
    clip, left_clip = (x1 - CLIP_MM, None) if not one.reversed else (x1, x0 + CLIP_MM)
    points: list[Point] = [(x0, y0), (x1, y0)]
    if left_clip is None:
        points += [(x1, y1 - CLIP_MM), (clip, y1)]
    else:
        first, last = x0 + CLIP_MM + 4.0, x1 - FRAME_OUT_MM - 6.0
        points += [(x1, y1)]
    count = one.number if one.of > 1 else 0
    pitch = min(NOTCH_PITCH_MM, max(0.0, last - first) / max(count, 1))
    half = min(NOTCH_WIDE_MM, pitch * 0.6) / 2.0
    for place in range(count - 1, -1, -1):
        middle = round(first + (place + 0.5) * pitch, 4)
        points += [(middle + half, y1), (middle, y1 - NOTCH_DEEP_MM), (middle - half, y1)]
    if left_clip is None:
        points.append((x0, y1))
    else:
        points += [(left_clip, y1), (x0, y1 - CLIP_MM)]
    return tuple((round(x, 4), round(y, 4)) for x, y in points)


def _strip(frame: Box, names: tuple[str, ...], ways: tuple[Way, ...]) -> Iterator[Drawable]:
    """What the sheet is and which way it lies, once more inside the outline, for when it has been
    cut out. The arrows are left out where they would leave too little room for the name.
    """
    x0, y0, x1, _ = frame
    if x1 - x0 - 8.0 - arrows_width_mm(ways) >= _LEAST_NAME_MM:
        yield from way_arrows(ways, (x0 + 4.0, y0 + STRIP_MM / 2.0))
        x0 += arrows_width_mm(ways)
    room = x1 - x0 - 8.0
    middle = (x0 + x1) / 2.0
    shown = next((text for text in names if fits(text, SMALLEST_TEXT_MM, room)), None)
    if shown is not None:
        text, height = fitted(shown, room, (3.5, 2.5, SMALLEST_TEXT_MM))
        yield Lettering(text, (middle, y0 + 2.5), height, anchor=Anchor.MIDDLE)
        return
    lines = wrapped(names[-1], room, SMALLEST_TEXT_MM, 2)
    for number, text in enumerate(reversed(lines)):
        at = (middle, y0 + 1.5 + 2.9 * number)
        yield Lettering(text, at, SMALLEST_TEXT_MM, anchor=Anchor.MIDDLE)


def _short_names(one: Pass) -> tuple[str, ...]:
    """What the sheet is, from all of it to the least that tells it from the others."""
    what = {HoleKind.STENCIL: "", HoleKind.PRICK: "prick", HoleKind.PUNCH: "punch"}[one.kind]
    size = ", ".join((*one.sizes, *one.lot)) if one.kind is HoleKind.STENCIL else what
    way = face_words(is_reversed=one.reversed)
    number = f"pass {one.number} of {one.of}" if one.of > 1 else ""
    panel = f"panel {one.panel.upper()}" if one.panel else ""
    side = side_words(one.side)
    short = {"WEARER’S LEFT": "LEFT", "WEARER’S RIGHT": "RIGHT"}.get(side, "")
    turned = "REVERSED" if one.reversed else ""
    return (
        joined(one.zone, side, way, size, number, panel),
        joined(one.zone, side, turned, size, number, panel),
        joined(one.zone, short, turned, size, number, panel),
        joined(
            one.zone[:12],
            short[:1],
            turned[:3],
            size[:14],
            f"{one.number}/{one.of}" if one.of > 1 else "",
            one.panel.upper(),
        ),
    )


def _facts(
    one: Pass, stones: Mapping[str, PlacedStone], ways: tuple[Way, ...], job: Job
) -> tuple[str, ...]:
    count = f"{len(one.holes)} holes"
    where = joined(*(way.words for way in ways))
    if one.kind is HoleKind.PRICK:
        first = joined(count, legend_words(one, stones), where)
    elif one.kind is HoleKind.PUNCH:
        first = joined(count, _punch_words(one, stones), where)
    else:
        widths = sorted({(hole.length_mm, hole.diameter_mm) for hole in one.holes})
        shown = ", ".join(
            length_words(w, job.display)
            if length == w
            else f"{length_words(length, job.display)} by {length_words(w, job.display)}"
            for length, w in widths
        )
        kerf = job.templates.stencil.kerf
        kerfed = f"drawn {length_words(kerf, job.display)} narrower for the kerf" if kerf else ""
        bridge = f"bridge at least {length_words(one.bridge_mm, job.display)}"
        poured = _poured_words(one, stones)
        thin = _film_words(one, job.display)
        first = joined(count, poured, f"drawn {shown}", kerfed, bridge, thin, where)
    use, caution = pass_use_words(one)
    return (first, use, caution)


def _film_words(one: Pass, display: str) -> str:
    """How thin a tape board's film must be, for the tape to touch its lowest stone."""
    heights = [size.lowest_mm for name in one.sizes if (size := find_size(name)) is not None]
    if one.method != "tape" or not heights:
        return ""
    return f"film thinner than {length_words(min(heights), display)}, the lowest stone"


def _poured_words(one: Pass, stones: Mapping[str, PlacedStone]) -> str:
    """What is poured and what to mix for it, such as "212 ss20, 353 ss16 (212 green ab, 141 mint)"."""
    if one.method == "hand":
        return ", ".join((*one.sizes, *one.lot))
    held = [stones[hole.stone_id] for hole in one.holes]
    poured = []
    for size in one.sizes:
        lots = Counter(f"{stone.colour} {stone.finish}" for stone in held if stone.size == size)
        mix = ", ".join(
            f"{n} {lot}" for lot, n in sorted(lots.items(), key=lambda m: (-m[1], m[0]))
        )
        if lots:
            poured.append(f"{lots.total()} {size}" + (f" (mix {mix})" if len(lots) > 1 else ""))
    return ", ".join((*poured, *one.lot))


def _punch_words(one: Pass, stones: Mapping[str, PlacedStone]) -> str:
    """Such as "punch 4.5 mm: 212 ss16", largest first; holes without a punch at the end."""
    counts: Counter[tuple[float, str]] = Counter()
    for hole in one.holes:
        punch = -1.0 if hole.punch_mm is None else hole.punch_mm
        counts[punch, stones[hole.stone_id].size] += 1
    parts = []
    for (punch, size), count in sorted(counts.items(), key=lambda item: (-item[0][0], item[0][1])):
        tool = "no punch owned" if punch < 0.0 else f"punch {punch:g} mm"
        parts.append(f"{tool}: {count} {size}")
    return ", ".join(parts)
