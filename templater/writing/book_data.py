"""What the page holds: the plan's numbers and the picture, as compact JSON.

Places are those of the scene (blocks side by side, mm, y up); a block's `move` less gives the
garment's frame, in which stones.csv lies.
"""

from __future__ import annotations

import json
from typing import Any

from templater.model.curves import Ring
from templater.model.plan import Plan
from templater.writing.book_facts import (
    SHOPPING_HEAD,
    care_lines,
    cloth_cells,
    fact_lines,
    instead_words,
    shopping_cells,
    step_lines,
)
from templater.writing.book_marks import mark_lines
from templater.writing.book_shapes import patch_outlines
from templater.writing.book_swatches import swatch_counts
from templater.writing.book_trays import Key, Tray, trays_of
from templater.writing.book_words import book_words
from templater.writing.numbers import snap
from templater.writing.preview_scene import Block, make_scene


def book_json(plan: Plan) -> str:
    """The page's data. Safe between script tags."""
    text = json.dumps(book_data(plan), ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    return text.replace("<", "\\u003c").replace("\u2028", "\\u2028").replace("\u2029", "\\u2029")


def book_data(plan: Plan) -> dict[str, Any]:
    scene = make_scene(plan)
    trays = trays_of(plan)
    kinds = {key: number for number, key in enumerate(trays)}
    zones = list(dict.fromkeys(stone.zone for stone in plan.stones))
    patch_of = {
        stone: number for number, patch in enumerate(plan.counts.patches) for stone in patch.stones
    }
    block_of: dict[str, int] = {}
    for number, block in enumerate(scene.blocks):
        block_of.update((stone.id, number) for stone in block.stones)
    return {
        "format": 1,
        "name": plan.name,
        "job": plan.job_hash,
        "display": plan.rules.display,
        "size": _flat([scene.size_mm]),
        "minutes": plan.counts.minutes,
        "mass": plan.counts.mass_g,
        "open": plan.counts.open_minutes,
        "stones": len(plan.stones),
        "blocks": [_block(plan, block) for block in scene.blocks],
        "kinds": [_kind(tray) for tray in trays.values()],
        "zones": _zones(plan, zones),
        "patches": _patches(plan, scene.blocks, block_of, kinds, zones),
        "ids": [stone.id for block in scene.blocks for stone in block.stones],
        "at": _flat([(s.x_mm, s.y_mm) for block in scene.blocks for s in block.stones]),
        # For each stone: kind, patch (-1: none), zone, turn in degrees, kind of setting, block.
        "of": [
            value
            for number, block in enumerate(scene.blocks)
            for stone in block.stones
            for value in (
                kinds[stone.size, stone.colour, stone.finish],
                patch_of.get(stone.id, -1),
                zones.index(stone.zone),
                snap(stone.turn_deg),
                ("outline", "fill", "row").index(stone.kind.value),
                number,
            )
        ],
        "sides": [stone.side.value for block in scene.blocks for stone in block.stones],
        "shopping": [
            [
                *shopping_cells(line, trays[key].letter if (key := _key(line)) in trays else ""),
                instead_words(line),
            ]
            for line in plan.counts.shopping
        ],
        "shopping_head": list(SHOPPING_HEAD),
        "currency": plan.counts.currency,
        "cost": plan.counts.cost,
        "cloths": [list(cells) for cells in cloth_cells(plan)],
        "apart": [list(line) for line in care_lines(plan)],
        "facts": list(fact_lines(plan)),
        "swatches": [
            [one.zone, len(one.stones), [f"{n} {kind}" for kind, n in swatch_counts(one)]]
            for one in plan.swatches
        ],
        "words": {
            **book_words(),
            "steps": {**book_words()["steps"], "items": [list(line) for line in step_lines(plan)]},
        },
    }


def _key(line: Any) -> Key:
    return (line.size, line.colour, line.finish)


def _flat(points: Any) -> list[float]:
    return [snap(value) for point in points for value in point]


def _ring(ring: Ring, decimals: int = 2) -> list[float]:
    """A drawn line: a hundredth of a millimetre is finer than any screen."""
    return [round(value, decimals) + 0.0 for point in ring for value in point]


def _block(plan: Plan, block: Block) -> dict[str, Any]:
    return {
        "captions": [[text, round(x, 2)] for text, x in block.captions],
        "box": _ring(((block.box[0], block.box[1]), (block.box[2], block.box[3]))),
        "move": _flat([block.move]),
        "cloths": [
            {"colour": one.colour, "zone": one.zone, "rings": [_ring(ring) for ring in one.rings]}
            for one in block.patches
        ],
        "marks": [
            {
                "role": line.role,
                "name": line.name,
                "line": _ring(line.points),
                "closed": line.closed,
            }
            for line in mark_lines(plan, block)
        ],
    }


def _kind(tray: Tray) -> dict[str, Any]:
    return {
        "letter": tray.letter,
        "size": tray.size,
        "colour": tray.colour,
        "finish": tray.finish,
        "length": tray.length_mm,
        "width": tray.width_mm,
        "facets": [[_ring(ring, 3), colour] for ring, colour in tray.facets],
    }


def _zones(plan: Plan, names: list[str]) -> list[dict[str, Any]]:
    counted = {zone.zone: zone for zone in plan.counts.zones}
    return [
        {
            "name": name,
            "stones": counted[name].stones if name in counted else 0,
            "minutes": counted[name].minutes if name in counted else 0.0,
            "mass": counted[name].mass_g if name in counted else 0.0,
            "most": counted[name].patch_stones if name in counted else 0,
        }
        for name in names
    ]


def _patches(
    plan: Plan,
    blocks: tuple[Block, ...],
    block_of: dict[str, int],
    kinds: dict[Key, int],
    zones: list[str],
) -> list[dict[str, Any]]:
    outlines = patch_outlines(plan)
    places = {stone.id: (stone.x_mm, stone.y_mm) for stone in plan.stones}
    found = []
    for patch in plan.counts.patches:
        dx, dy = blocks[block_of[patch.stones[0]]].move
        rings = outlines.get(patch.name, ())
        found.append(
            {
                "name": patch.name,
                "zone": zones.index(patch.zone),
                "side": patch.side.value,
                "number": patch.number,
                "stones": len(patch.stones),
                "minutes": patch.minutes,
                "later": patch.after_sewing,
                "tray": [[kinds[line[:3]], line.stones] for line in patch.tray],
                "rings": [_ring(tuple((x + dx, y + dy) for x, y in ring)) for ring in rings],
                "at": _ring(
                    (label_place(patch.middle, [places[n] for n in patch.stones], dx, dy),)
                ),
            }
        )
    return found


def label_place(
    middle: tuple[float, float], stones: list[tuple[float, float]], dx: float, dy: float
) -> tuple[float, float]:
    """Where a patch's number stands: at the stone nearest its middle, so that it lies inside."""
    x, y = min(stones, key=lambda at: ((at[0] - middle[0]) ** 2 + (at[1] - middle[1]) ** 2, at))
    return (x + dx, y + dy)
