"""The preview's page: the scene, a title, captions and a legend of the stones."""

from __future__ import annotations

from dataclasses import dataclass

from templater.lettering import fitted, text_width_mm
from templater.model.curves import Point
from templater.model.plan import Plan
from templater.model.sheets import Anchor
from templater.model.stones import PlacedStone
from templater.writing.preview_scene import Patch, Scene, make_scene

_MARGIN_MM = 12.0
_LEAST_WIDTH_MM = 120.0
_GROUND = "#ffffff"
_MOST_LEGEND = 24


@dataclass(frozen=True, slots=True)
class Text:
    text: str
    at: Point
    height_mm: float
    anchor: Anchor = Anchor.START


@dataclass(frozen=True, slots=True)
class Layout:
    """Everything on the page, placed: mm, origin lower left, y up."""

    size_mm: tuple[float, float]
    ground: str
    patches: tuple[Patch, ...]
    stones: tuple[PlacedStone, ...]
    texts: tuple[Text, ...]


def lay_out(plan: Plan) -> Layout:
    """The page, letters sized by its width so that they can be read on a screen."""
    scene = make_scene(plan)
    width = max(scene.size_mm[0], _LEAST_WIDTH_MM)
    high = max(2.5, width / 90.0)
    line = 2.2 * high
    rows, entry_width = _legend_rows(plan, scene, width, high)
    below = _MARGIN_MM + line * (len(rows) + 2.2)
    offset = (_MARGIN_MM + (width - scene.size_mm[0]) / 2.0, below)
    total = (width + 2.0 * _MARGIN_MM, below + scene.size_mm[1] + 2.2 * line + _MARGIN_MM)
    patches: list[Patch] = []
    stones: list[PlacedStone] = []
    title, size = fitted(
        f"{scene.title} · {len(plan.stones):,} stones", width, (1.5 * high, high, 0.7 * high)
    )
    texts = [Text(title, (_MARGIN_MM, total[1] - _MARGIN_MM - size), size)]
    for block in scene.blocks:
        dx, dy = offset
        patches.extend(
            Patch(tuple(tuple((x + dx, y + dy) for x, y in r) for r in patch.rings), patch.colour)
            for patch in block.patches
        )
        stones.extend(s._replace(x_mm=s.x_mm + dx, y_mm=s.y_mm + dy) for s in block.stones)
        room = (block.box[2] - block.box[0]) / len(block.captions)
        for words, x in block.captions:
            caption, size = fitted(words, room + 4.0, (high, 0.7 * high, 0.5 * high))
            at = (x + dx, block.box[1] + dy - 1.2 * line)
            texts.append(Text(caption, at, size, Anchor.MIDDLE))
    for row, entries in enumerate(rows):
        y = _MARGIN_MM + line * (len(rows) - 1 - row)
        for column, (sample, words) in enumerate(entries):
            x = _MARGIN_MM + column * entry_width
            scale = 1.8 * high / max(sample.length_mm, sample.width_mm)
            stones.append(
                sample._replace(
                    id="",
                    x_mm=x + high,
                    y_mm=y + high / 2.0,
                    turn_deg=0.0,
                    length_mm=sample.length_mm * scale,
                    width_mm=sample.width_mm * scale,
                )
            )
            texts.append(Text(words, (x + 2.6 * high, y), high))
    return Layout(total, _GROUND, tuple(patches), tuple(stones), tuple(texts))


def _legend_rows(
    plan: Plan, scene: Scene, width: float, high: float
) -> tuple[list[list[tuple[PlacedStone, str]]], float]:
    """Samples with their words, as many abreast as the width holds, and one's width."""
    samples: dict[tuple[str, str], PlacedStone] = {}
    for stone in plan.stones:
        samples.setdefault((stone.colour, stone.finish), stone)
    entries = [
        (samples[colour, finish], f"{colour}, {finish} · {count:,}")
        for colour, finish, count in scene.legend[:_MOST_LEGEND]
    ]
    if not entries:
        return [], 0.0
    entry_width = max(text_width_mm(words, high) for _, words in entries) + 5.0 * high
    abreast = max(1, int(width // entry_width))
    return [entries[i : i + abreast] for i in range(0, len(entries), abreast)], entry_width
