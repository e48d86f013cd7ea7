"""Sheets of cut parts: parts of one cloth laid together, large ones on sheets of their own."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from templater.catalogue.papers import find_paper
from templater.geometry.hole_sheets import HEADER_MM, SIDE_BAND_MM, margin_for
from templater.geometry.register import tells_turned
from templater.model.curves import Point, Transform, shift
from templater.model.fingerprint import fingerprint
from templater.model.ground import Ground
from templater.model.lays import LAYS_FILE, KeptLay, Lain
from templater.model.parts import CutPart, PartKind, Placed
from templater.model.problems import Problem, Problems, Severity
from templater.model.sheets import Drawable, Sheet, SheetLayer
from templater.sheets.best_lay import best_lay, can_lay_best
from templater.sheets.frame import head_over, side_bars, title_block
from templater.sheets.lay import quick_lay
from templater.sheets.lay_shapes import LayShape, Spot
from templater.sheets.part_drawing import draw_part, part_room
from templater.sheets.words import USE_WEB, face_words, joined, part_kind_words, side_words

if TYPE_CHECKING:
    from templater.job.schema import Job

SPACING_MM = 3.0
"""Between parts on a sheet: room for shears."""
_MIRROR = Transform(a=-1.0)
_LAYERS = ("cut", "seam", "fold", "marks", "grain", "register", "text")


@dataclass(frozen=True, slots=True)
class Lying:
    """Parts on one sheet, each with its move from its reference."""

    size_mm: tuple[float, float]
    parts: tuple[tuple[CutPart, Transform], ...]
    oversize: bool
    top_mm: float


def applique_sheets(
    ground: Ground,
    parts: Sequence[CutPart],
    job: Job,
    stems: dict[str, str],
    lays: Sequence[KeptLay] = (),
) -> tuple[tuple[Placed, ...], tuple[Sheet, ...], Problems]:
    """`stems` gives a file-safe word for each cloth, zone and piece name; `lays` are used where
    they were made for the same parts and sheet.
    """
    kept = {lay.key: lay for lay in lays}
    lyings = [lying for group in _by_cloth(parts) for lying in _laid(group, job, kept)]
    placed: list[Placed] = []
    sheets: list[Sheet] = []
    large: list[str] = []
    for number, lying in enumerate(lyings, start=1):
        name = f"appliques/{number}-{_stem(lying, stems)}"
        sheets.append(_sheet(name, lying, ground, job, number, len(lyings)))
        placed += [Placed(part.id, name, move) for part, move in lying.parts]
        if lying.oversize:
            width, height = lying.size_mm
            large.append(f"{name} ({width:g} × {height:g} mm)")
    return tuple(placed), tuple(sheets), (_larger(large),) if large else ()


def _by_cloth(parts: Sequence[CutPart]) -> list[list[CutPart]]:
    """Parts cut of one cloth together; within a kind, in the order they come."""
    groups: dict[tuple[PartKind, str], list[CutPart]] = {}
    for part in parts:
        groups.setdefault((part.kind, part.fabric), []).extend([part] * part.copies)
    order = (PartKind.PIECE, PartKind.APPLIQUE, PartKind.WEB)
    return [groups[key] for key in sorted(groups, key=lambda key: (order.index(key[0]),))]


def _base(part: CutPart) -> Transform:
    """How the part lies unturned: as it is worn on its side, or that seen from behind."""
    return part.to_side.then(_MIRROR) if part.reversed else part.to_side


def best_lays(
    parts: Sequence[CutPart], job: Job, kept: Sequence[KeptLay]
) -> tuple[tuple[KeptLay, ...], Problems]:
    """A lay for every cloth, looked for for `lay_seconds` together; those kept from before are used
    again where nothing has changed. An error where the library that looks for them is missing.
    """
    margin = margin_for(job.templates.paper.margin)
    before = {lay.key: lay for lay in kept}
    found: list[KeptLay] = []
    wanted: list[tuple[str, list[LayShape], tuple[float, float]]] = []
    for group in _by_cloth(parts):
        if len(group) < 2:
            continue
        shapes = _shapes(group)
        lays = [(_lay(group, shapes, size, margin, {}), size) for size in _sizes(job)]
        size = min(lays, key=lambda lay: (sum(x.oversize for x in lay[0]), len(lay[0])))[1]
        room = _room(shapes, size, margin)
        key = _key(shapes, room)
        if key in before:
            found.append(before[key])
        elif min(room) > 0.0:
            wanted.append((key, shapes, room))
    if wanted and not can_lay_best():
        return (), (_NO_LIBRARY,)
    for key, shapes, room in wanted:
        spots = best_lay(shapes, *room, SPACING_MM, job.templates.lay_seconds // len(wanted))
        found.append(
            KeptLay(key, tuple(None if s is None else Lain(s.sheet, s.move) for s in spots))
        )
    return tuple(found), (_not_repeatable(job.templates.lay_seconds),) if found else ()


_NO_LIBRARY = Problem(
    "lay-needs-library",
    Severity.ERROR,
    '[templates] lay = "best" needs the nesting library spyrrow, which is not installed',
    'pip install "costume-templater[lay]", or lay = "quick"',
)


def _not_repeatable(seconds: int) -> Problem:
    return Problem(
        "lay-not-repeatable",
        Severity.NOTE,
        f'lay = "best" looks for {seconds} s, and another run would find another lay: this one is '
        f"kept in {LAYS_FILE} and used again while parts and sheet stay the same",
        f"delete {LAYS_FILE} from the pack to have it looked for anew",
    )


def _key(shapes: Sequence[LayShape], room: tuple[float, float]) -> str:
    """Tells one lay's task from another: outlines, turns, room and spacing."""
    import shapely

    outlines = [
        (shapely.set_precision(shape.geometry, 0.001).wkb, shape.turns_deg) for shape in shapes
    ]
    return fingerprint(1, outlines, room, SPACING_MM)


def _shapes(parts: Sequence[CutPart]) -> list[LayShape]:
    from shapely.affinity import affine_transform

    shapes = []
    for part in parts:
        move = _base(part)
        room = affine_transform(part_room(part), (move.a, move.c, move.b, move.d, move.e, move.f))
        shapes.append(LayShape(room, (0, 180) if part.grain_deg is not None else (0, 90, 180, 270)))
    return shapes


def _laid(parts: Sequence[CutPart], job: Job, kept: Mapping[str, KeptLay]) -> list[Lying]:
    shapes = _shapes(parts)
    margin = margin_for(job.templates.paper.margin)
    choices = [_lay(parts, shapes, size, margin, kept) for size in _sizes(job)]
    return min(choices, key=lambda found: (sum(x.oversize for x in found), len(found)))


def _sizes(job: Job) -> list[tuple[float, float]]:
    """The sheet upright and lying; a roll has no end."""
    wanted = job.templates.sheet
    if isinstance(wanted, str):
        size = find_paper(wanted) or (210.0, 297.0)
    elif isinstance(wanted, tuple):
        size = wanted
    else:
        return [(wanted.width, math.inf)]
    return [size] if size[0] == size[1] else [size, (size[1], size[0])]


def _lay(
    parts: Sequence[CutPart],
    shapes: Sequence[LayShape],
    size: tuple[float, float],
    margin: float,
    kept: Mapping[str, KeptLay],
) -> list[Lying]:
    width, height = room = _room(shapes, size, margin)
    roll = not math.isfinite(size[1])
    lay = kept.get(_key(shapes, room)) if kept else None
    spots: Sequence[Lain | Spot | None] = (
        lay.spots
        if lay is not None and len(lay.spots) == len(shapes)
        else quick_lay(shapes, width, height, SPACING_MM, shorten=roll)
        if width > 0.0 and height > 0.0
        else [None] * len(shapes)
    )
    on_sheet: dict[int, list[tuple[CutPart, Transform]]] = {}
    tops: dict[int, float] = {}
    single: list[Lying] = []
    for part, shape, spot in zip(parts, shapes, spots, strict=True):
        if spot is None:
            single.append(_alone(part, shape, margin))
            continue
        move = spot.move.then(shift(margin + SIDE_BAND_MM, margin))
        on_sheet.setdefault(spot.sheet, []).append((part, _base(part).then(move)))
        x0, y0, x1, y1 = shape.geometry.bounds
        corners = [spot.move.apply(corner) for corner in ((x0, y0), (x1, y1))]
        tops[spot.sheet] = max(tops.get(spot.sheet, 0.0), *(y for _, y in corners))
    lyings = []
    for number in sorted(on_sheet):
        tall = _whole_mm(tops[number] + 2.0 * margin + HEADER_MM) if roll else size[1]
        top = margin + tops[number]
        lyings.append(Lying((size[0], tall), tuple(on_sheet[number]), oversize=False, top_mm=top))
    return [*single, *lyings]


def _room(
    shapes: Sequence[LayShape], size: tuple[float, float], margin: float
) -> tuple[float, float]:
    """What of a sheet is left for parts; a roll is as long as it could ever need to be."""
    width = size[0] - 2.0 * margin - SIDE_BAND_MM
    height = size[1] - 2.0 * margin - HEADER_MM
    if not math.isfinite(height):
        bounds = [shape.geometry.bounds for shape in shapes]
        height = sum(max(b[2] - b[0], b[3] - b[1]) + SPACING_MM for b in bounds)
    return (width, height)


def _alone(part: CutPart, shape: LayShape, margin: float) -> Lying:
    """A sheet of the part's own size, with its margins and bands."""
    x0, y0, x1, y1 = shape.geometry.bounds
    move = shift(round(margin + SIDE_BAND_MM - x0 + 2.0, 4), round(margin - y0 + 2.0, 4))
    # Wide enough for the title and a long bar, however slim the part.
    width = max(_whole_mm(x1 - x0 + 4.0 + 2.0 * margin + SIDE_BAND_MM), 190.0)
    height = _whole_mm(y1 - y0 + 4.0 + 2.0 * margin + HEADER_MM)
    top = margin + y1 - y0 + 4.0
    return Lying((width, height), ((part, _base(part).then(move)),), oversize=True, top_mm=top)


def _whole_mm(length_mm: float) -> float:
    return float(math.ceil(length_mm - 1e-9))


def _stem(lying: Lying, stems: dict[str, str]) -> str:
    part = lying.parts[0][0]
    if len(lying.parts) == 1:
        words = [stems[part.zone or part.piece], part.side.value]
        return "-".join([*words, "web"] if part.kind is PartKind.WEB else words)
    if part.kind is PartKind.WEB:
        return "web"
    return stems[part.fabric] if part.fabric else "parts"


def _sheet(name: str, lying: Lying, ground: Ground, job: Job, number: int, of: int) -> Sheet:
    drawings = [draw_part(part, ground, move) for part, move in lying.parts]
    layers: dict[str, list[Drawable]] = {layer: [] for layer in _LAYERS}
    for drawing in drawings:
        for layer, items in drawing.layers:
            layers[layer].extend(items)
    first = lying.parts[0][0]
    parts = [part for part, _ in lying.parts]
    names = list(dict.fromkeys(part.zone or part.piece for part in parts))
    sides = list(dict.fromkeys(side_words(part.side) for part in parts))
    heading = joined(part_kind_words(first.kind), job.name)
    identity = joined(
        ", ".join(names),
        " and ".join(side for side in sides if side),
        face_words(is_reversed=first.reversed),
    )
    facts = (
        joined(
            first.fabric if first.kind is not PartKind.PIECE else "",
            f"{len(parts)} to cut" if len(parts) > 1 else "cut 1",
            "continuous line: cut; dashed: seam or finished line; chain: fold",
        ),
        _allowances(parts),
        USE_WEB if first.kind is PartKind.WEB else "",
    )
    margin = margin_for(job.templates.paper.margin)
    head = head_over(lying.top_mm, lying.size_mm, margin)
    bars, bar_items = side_bars(head, job.display)
    block = title_block(head, heading, identity, facts, f"sheet {number} of {of}")
    layers["text"] = [*block, *layers["text"]]
    drawn = [SheetLayer(layer, tuple(items)) for layer, items in layers.items() if items]
    drawn.insert(len(drawn) - 1, SheetLayer("bars", bar_items))
    return Sheet(
        name=name,
        title=joined(heading, identity),
        size_mm=lying.size_mm,
        kind="applique",
        register=_register([drawing.register for drawing in drawings]),
        bars=bars,
        number=number,
        of=of,
        layers=tuple(layer for layer in drawn if layer.items),
    )


def _register(by_part: Sequence[tuple[Point, ...]]) -> tuple[Point, ...]:
    """All parts' marks; where a mirrored pair lies so that together they match when turned, only
    the first part's, which never do.
    """
    marks = tuple(mark for own in by_part for mark in own)
    return marks if tells_turned(marks) else by_part[0]


def _allowances(parts: Sequence[CutPart]) -> str:
    """What the labels say of allowances, each way once."""
    said = [
        text
        for part in parts
        for text in part.label.lines
        if "allowance" in text or "underlap" in text
    ]
    kept = dict.fromkeys(said)
    return "Allowances are included as each label says." if len(kept) > 2 else joined(*kept)


def _larger(large: Sequence[str]) -> Problem:
    shown = ", ".join(large[:4]) + (f" and {len(large) - 4} more" if len(large) > 4 else "")
    return Problem(
        "part-larger-than-sheet",
        Severity.NOTE,
        f"parts larger than the sheet have sheets of their own, printed in tiles: {shown}",
        "choose a larger sheet or a roll in [templates] to cut them from one sheet",
    )
