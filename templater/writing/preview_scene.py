"""The finished piece as it will be seen: cloths, zones and stones, laid out side by side.

Left and right of a pair stand apart, a piece joined at its fold as one. Everything keeps the
place it has in the drawing's frame but for a shift of each block.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace

from templater.catalogue.colours import colour_or_neutral
from templater.geometry.measure import box_of, join_boxes
from templater.geometry.moves import moved_area
from templater.geometry.polygons import polygons_in, rings_of, sound, to_polygon, united
from templater.model.curves import Area, Box, Point, Ring, Transform, shift
from templater.model.ground import Side, SidePlacement, Surface
from templater.model.parts import PartKind
from templater.model.plan import Plan
from templater.model.stones import PlacedStone

_FLAT_MM = 0.05
_SEAM_MM = 0.02
"""Sides nearer than twice this meet: their edges on the fold agree but for rounding."""
_SPACE_MM = 14.0
_CLOTH = "#f1eee8"


@dataclass(frozen=True, slots=True)
class Patch:
    """A flat area of cloth: rings (outline first, holes after) and its colour, #rrggbb. `zone` is
    empty for the piece itself.
    """

    rings: tuple[Ring, ...]
    colour: str
    zone: str = ""


@dataclass(frozen=True, slots=True)
class Block:
    """One cloth, or two sides joined at the fold. `captions`: what each side is called, and the
    middle of it in x. `move` took it here from the garment's frame, `sides` say how the drawn
    reference of its piece lay there.
    """

    captions: tuple[tuple[str, float], ...]
    box: Box
    patches: tuple[Patch, ...]
    stones: tuple[PlacedStone, ...]
    piece: str = ""
    sides: tuple[SidePlacement, ...] = ()
    move: Point = (0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Scene:
    """Blocks in a row from left to right, lower left corner at the origin, mm, y up."""

    title: str
    size_mm: tuple[float, float]
    blocks: tuple[Block, ...]
    legend: tuple[tuple[str, str, int], ...]
    """Colour, finish and number of the stones, most first."""


def make_scene(plan: Plan) -> Scene:
    """The plan's pieces and stones, laid out for a picture."""
    blocks: list[Block] = []
    for surface in plan.ground.surfaces:
        blocks.extend(_blocks(plan, surface))
    placed, across = [], 0.0
    height = max((block.box[3] - block.box[1] for block in blocks), default=0.0)
    for block in blocks:
        x0, y0, x1, y1 = block.box
        move = (across - x0, (height - (y1 - y0)) / 2.0 - y0)
        placed.append(_shifted(block, move))
        across += x1 - x0 + _SPACE_MM
    counts = Counter((stone.colour, stone.finish) for stone in plan.stones)
    legend = sorted(((*key, n) for key, n in counts.items()), key=lambda row: (-row[2], row[:2]))
    width = max(across - _SPACE_MM, 1.0)
    return Scene(plan.name, (width, max(height, 1.0)), tuple(placed), tuple(legend))


def _blocks(plan: Plan, surface: Surface) -> list[Block]:
    if surface.joined_at_fold:
        groups = [tuple(surface.sides)]
    else:
        groups = [(side,) for side in surface.sides]
    blocks = []
    for sides in groups:
        shown = {side.side for side in sides}
        patches = _patches(plan, surface.piece, [side.transform for side in sides])
        stones = tuple(
            stone
            for stone in plan.stones
            if stone.piece == surface.piece and (surface.joined_at_fold or stone.side in shown)
        )
        boxes = [box_of(ring) for patch in patches for ring in patch.rings[:1]]
        boxes += [(s.x_mm, s.y_mm, s.x_mm, s.y_mm) for s in stones]
        if boxes:
            box = join_boxes(boxes)
            captions = tuple(_captions(plan, surface, sides, box))
            blocks.append(Block(captions, box, tuple(patches), stones, surface.piece, sides))
    return sorted(blocks, key=lambda block: block.box)


def _captions(
    plan: Plan, surface: Surface, sides: tuple[SidePlacement, ...], box: Box
) -> Iterator[tuple[str, float]]:
    for side in sides:
        patches = _patches(plan, surface.piece, [side.transform]) if len(sides) > 1 else []
        x0, _, x1, _ = join_boxes([box_of(p.rings[0]) for p in patches]) if patches else box
        yield _caption(surface.piece, side.side), (x0 + x1) / 2.0


def _caption(piece: str, side: Side) -> str:
    return f"{piece}, wearer’s {side.value}" if side in {Side.LEFT, Side.RIGHT} else piece


def _patches(plan: Plan, piece_name: str, sides: list[Transform]) -> list[Patch]:
    """The piece and its zones, lowest first; what meets at a fold is one patch."""
    fabrics = {
        (part.piece, part.zone): part.fabric
        for part in plan.parts
        if part.kind is PartKind.APPLIQUE
    }
    patches = []
    piece = plan.ground.piece(piece_name)
    if piece.area is not None:
        patches.extend(_joined([piece.area], sides, _CLOTH))
    for zone in sorted(plan.ground.zones, key=lambda zone: zone.level):
        if zone.piece == piece_name:
            colour = colour_or_neutral(fabrics.get((piece_name, zone.name), ""))
            areas = [region.area for region in zone.regions]
            patches.extend(_joined(areas, sides, colour, zone.name))
    return patches


def _joined(areas: list[Area], sides: list[Transform], colour: str, zone: str = "") -> list[Patch]:
    shapes = [
        sound(to_polygon(moved_area(area, side), _FLAT_MM)).buffer(_SEAM_MM)
        for area in areas
        for side in sides
    ]
    return [
        Patch(rings_of(polygon), colour, zone)
        for polygon in polygons_in(united(shapes).buffer(-_SEAM_MM))
    ]


def _shifted(block: Block, move: Point) -> Block:
    at = shift(*move).apply
    x0, y0, x1, y1 = block.box
    return replace(
        block,
        move=move,
        captions=tuple((text, x + move[0]) for text, x in block.captions),
        box=(*at((x0, y0)), *at((x1, y1))),
        patches=tuple(
            replace(patch, rings=tuple(tuple(at(p) for p in ring) for ring in patch.rings))
            for patch in block.patches
        ),
        stones=tuple(
            stone._replace(x_mm=stone.x_mm + move[0], y_mm=stone.y_mm + move[1])
            for stone in block.stones
        ),
    )
