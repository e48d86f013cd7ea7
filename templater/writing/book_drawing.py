"""The garment drawn in book.pdf: cloth, stones as reusable forms, patches with their numbers.

Imported late (reportlab).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache

from templater.geometry.measure import box_of, join_boxes
from templater.model.curves import Box, Point, Ring
from templater.model.plan import Patch, Plan
from templater.model.sheets import Anchor, Lettering
from templater.model.stones import PlacedStone
from templater.writing.book_data import label_place
from templater.writing.book_shapes import patch_outlines
from templater.writing.book_trays import Key, Tray, trays_of
from templater.writing.numbers import plain
from templater.writing.pdf_canvas import PdfCanvas, colour_data
from templater.writing.preview_scene import Block, Scene, make_scene

_NUMBER_MM = (2.5, 1.8, 1.5)


class Garment:
    """What of a plan is drawn on the book's pages. Forms are defined before any page is begun."""

    def __init__(self, plan: Plan, canvas: PdfCanvas) -> None:
        self.plan = plan
        self.scene: Scene = make_scene(plan)
        self.trays: dict[Key, Tray] = trays_of(plan)
        self._canvas = canvas
        self._stones: Mapping[str, PlacedStone] = {stone.id: stone for stone in plan.stones}
        self._outlines = patch_outlines(plan)
        self._blocks = {stone.id: block for block in self.scene.blocks for stone in block.stones}
        self._shapes = {key: _ring_data(tray.facets[0][0]) for key, tray in self.trays.items()}
        self._forms: dict[Key, str] = {}
        for number, (key, tray) in enumerate(self.trays.items()):
            reach = max(tray.length_mm, tray.width_mm) / 2.0 + 0.1
            self._forms[key] = f"stone{number}"
            canvas.begin_form(self._forms[key], (-reach, -reach, reach, reach))
            for ring, colour in tray.facets:
                canvas.raw(f"{colour_data(colour)} rg {_ring_data(ring)} f")
            canvas.end_form()

    def picture(self, room: Box, *, stones: bool = True, numbers: bool = False) -> None:
        """The whole scene, as large as the room allows, in its middle."""
        wide, high = self.scene.size_mm
        scale = self._begin(room, (0.0, 0.0, wide, high))
        for block in self.scene.blocks:
            self._cloths(block, scale)
            if stones:
                for stone in block.stones:
                    self._stone(stone)
        if numbers:
            for patch in self.plan.counts.patches:
                self._outline(patch, scale, "#ffffff", 0.5, "#000000")
        self._canvas.raw("Q")
        if numbers:
            self._numbers(self.plan.counts.patches, room, (0.0, 0.0, wide, high))

    def card(self, room: Box, patches: Sequence[Patch]) -> None:
        """The patches of a zone on a side with their numbers, what lies around them greyed."""
        block = self._block(patches[0])
        box = self._box(patches)
        own = {name for patch in patches for name in patch.stones}
        scale = self._begin(room, box)
        self._canvas.raw("q")
        self._canvas.faint(0.3)
        self._cloths(block, scale)
        for stone in block.stones:
            if stone.id not in own:
                self._spot(stone, "#9a9a9a")
        self._canvas.raw("Q")
        for patch in patches:
            self._outline(patch, scale, "#ffffff", 0.0, "#000000")
        for patch in patches:
            for name in patch.stones:
                self._spot(self._shifted(name), "#c9d6d4")
        self._canvas.raw("Q")
        self._numbers(patches, room, box)

    def chip(self, key: Key, at: Point, size_mm: float) -> None:
        """One stone of a kind, `size_mm` long."""
        tray = self.trays[key]
        scale = plain(size_mm / max(tray.length_mm, tray.width_mm), 5)
        self._canvas.raw(f"q {scale} 0 0 {scale} {plain(at[0])} {plain(at[1])} cm")
        self._canvas.place_form(self._forms[key])
        self._canvas.raw("Q")

    def _block(self, patch: Patch) -> Block:
        return self._blocks[patch.stones[0]]

    def _box(self, patches: Iterable[Patch]) -> Box:
        """What the patches' outlines take, in the scene, with a little around it."""
        boxes = [box_of(ring) for patch in patches for ring in self._rings(patch)]
        x0, y0, x1, y1 = join_boxes(boxes)
        return (x0 - 6.0, y0 - 6.0, x1 + 6.0, y1 + 6.0)

    def _rings(self, patch: Patch) -> list[Ring]:
        dx, dy = self._block(patch).move
        return [tuple((x + dx, y + dy) for x, y in ring) for ring in self._outlines[patch.name]]

    def _shifted(self, name: str) -> PlacedStone:
        stone, (dx, dy) = self._stones[name], self._blocks[name].move
        return stone._replace(x_mm=stone.x_mm + dx, y_mm=stone.y_mm + dy)

    def _begin(self, room: Box, box: Box) -> float:
        """Clip to the room and lay the box into it; what is drawn then is in the scene's mm."""
        scale, dx, dy = _fit(room, box)
        x0, y0, x1, y1 = room
        self._canvas.raw(
            f"q {plain(x0)} {plain(y0)} {plain(x1 - x0)} {plain(y1 - y0)} re W n "
            f"{plain(scale, 6)} 0 0 {plain(scale, 6)} {plain(dx)} {plain(dy)} cm"
        )
        return scale

    def _cloths(self, block: Block, scale: float) -> None:
        for cloth in block.patches:
            data = " ".join(_ring_data(ring) for ring in cloth.rings)
            self._canvas.raw(
                f"{colour_data(cloth.colour)} rg 0.54 G {plain(0.18 / scale)} w {data} B*"
            )

    def _stone(self, stone: PlacedStone) -> None:
        form = self._forms[stone.size, stone.colour, stone.finish]
        if stone.turn_deg == 0.0:
            self._canvas.place_form(form, stone.x_mm, stone.y_mm)
            return
        self._canvas.raw(f"q {_turn(stone.turn_deg)} {plain(stone.x_mm)} {plain(stone.y_mm)} cm")
        self._canvas.place_form(form)
        self._canvas.raw("Q")

    def _spot(self, stone: PlacedStone, colour: str) -> None:
        """A stone as a plain shape: its outline and nothing else."""
        shape = self._shapes[stone.size, stone.colour, stone.finish]
        self._canvas.raw(
            f"q {_turn(stone.turn_deg)} {plain(stone.x_mm)} {plain(stone.y_mm)} cm "
            f"{colour_data(colour)} rg {shape} f Q"
        )

    def _outline(self, patch: Patch, scale: float, halo: str, halo_mm: float, colour: str) -> None:
        data = " ".join(_ring_data(ring) for ring in self._rings(patch))
        if halo_mm:
            self._canvas.raw(f"{colour_data(halo)} RG {plain(halo_mm / scale)} w {data} S")
        self._canvas.raw(f"{colour_data(colour)} RG {plain(0.2 / scale)} w {data} S")

    def _numbers(self, patches: Sequence[Patch], room: Box, box: Box) -> None:
        """The patches' numbers on little white tags, left out where they would lie on each other."""
        scale, dx, dy = _fit(room, box)
        taken: list[Point] = []
        size = next((h for h in _NUMBER_MM if 7.0 * scale >= h), _NUMBER_MM[-1])
        for patch in patches:
            move = self._block(patch).move
            places = [(self._stones[n].x_mm, self._stones[n].y_mm) for n in patch.stones]
            spots = ((x * scale + dx, y * scale + dy) for x, y in _candidates(patch, places, move))
            free = next((spot for spot in spots if _is_free(spot, taken, size)), None)
            if free is None:
                continue
            x, y = free
            taken.append((x, y))
            wide = (0.8 * len(str(patch.number)) + 0.5) * size
            self._canvas.raw(
                f"q 1 g {plain(x - wide / 2)} {plain(y - 0.75 * size)} {plain(wide)} "
                f"{plain(1.5 * size)} re f Q"
            )
            self._canvas.lettering(
                Lettering(str(patch.number), (x, y - size / 2.0), size, 0.0, Anchor.MIDDLE)
            )


def _candidates(patch: Patch, places: Sequence[Point], move: Point) -> list[Point]:
    """Where a number may stand, the best first: at the stone nearest the middle, then further out."""
    best = label_place(patch.middle, list(places), *move)
    others = sorted(
        ((x + move[0], y + move[1]) for x, y in places),
        key=lambda at: ((at[0] - best[0]) ** 2 + (at[1] - best[1]) ** 2, at),
    )
    return [best, *others]


def _is_free(spot: Point, taken: Sequence[Point], size_mm: float) -> bool:
    """Whether a tag there leaves those that are set already alone."""
    x, y = spot
    return all(abs(x - a) > 2.6 * size_mm or abs(y - b) > 1.5 * size_mm for a, b in taken)


def _fit(room: Box, box: Box) -> tuple[float, float, float]:
    """Scale and shift that lay the box into the middle of the room; never above true size."""
    x0, y0, x1, y1 = room
    wide, high = max(box[2] - box[0], 1.0), max(box[3] - box[1], 1.0)
    scale = min((x1 - x0) / wide, (y1 - y0) / high, 1.5)
    dx = (x0 + x1) / 2.0 - scale * (box[0] + box[2]) / 2.0
    dy = (y0 + y1) / 2.0 - scale * (box[1] + box[3]) / 2.0
    return scale, dx, dy


@lru_cache(maxsize=4096)
def _turn(turn_deg: float) -> str:
    c, s = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
    return f"{plain(c, 6)} {plain(s, 6)} {plain(-s, 6)} {plain(c, 6)}"


def _ring_data(ring: Ring) -> str:
    points = [f"{plain(x, 3)} {plain(y, 3)}" for x, y in ring]
    return f"{points[0]} m {' '.join(f'{point} l' for point in points[1:])} h"
