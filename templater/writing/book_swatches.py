"""Swatch sheets: every stoning on a small square at true size, with what to lay out for it."""

from __future__ import annotations

import re
from collections import Counter

from templater.geometry.polygons import rectangle
from templater.geometry.stone_shapes import placed_stone_path
from templater.lettering import fitted
from templater.model.names import plain_name
from templater.model.plan import SWATCH_MM, Plan
from templater.model.sheets import Circle, Lettering, Pen, Sheet, SheetLayer, Stroke
from templater.model.stones import Setting, Stone, StoneShape
from templater.writing.book_words import book_words
from templater.writing.preview_marks import StoneKinds

FOLDER = "swatches"
_LONGEST = 40
_NO_NAME = re.compile(r"[^\w-]+")
_MARGIN_MM = 10.0
_LINE_MM = 4.6
_TEXT_MM = 2.5
_WIDTH_MM = 130.0


def swatch_counts(setting: Setting) -> tuple[tuple[str, int], ...]:
    """How many stones of each kind a swatch takes, the most first."""
    counts = Counter(f"{s.size} {s.colour} {s.finish}" for s in setting.stones)
    return tuple(sorted(counts.items(), key=lambda item: (-item[1], item[0])))


def swatch_sheets(plan: Plan) -> tuple[Sheet, ...]:
    """A sheet for each swatch, named by its stoning."""
    # What is no letter of a file's name is a hyphen; a name's bytes are at most 255 everywhere.
    names = [
        _NO_NAME.sub("-", plain_name(one.zone))[:_LONGEST].strip("-") or "x"
        for one in plan.swatches
    ]
    kinds = StoneKinds(plan)
    return tuple(
        _sheet(plan, setting, _own(names, number), number, kinds)
        for number, setting in enumerate(plan.swatches)
    )


def _own(names: list[str], number: int) -> str:
    name = names[number]
    return name if names.index(name) == number else f"{name}-{number + 1}"


def _sheet(plan: Plan, setting: Setting, name: str, number: int, kinds: StoneKinds) -> Sheet:
    words = book_words()["swatch"]
    lines = [
        words["title"].format(name=setting.zone, job=plan.name),
        words["lead"].format(stones=len(setting.stones), mm=f"{SWATCH_MM:g}"),
        words["then"],
        *(f"{count}  {kind}" for kind, count in swatch_counts(setting)),
    ]
    height = 3.0 * _MARGIN_MM + SWATCH_MM + _LINE_MM * len(lines)
    low = height - 2.0 * _MARGIN_MM - SWATCH_MM
    x, y = _MARGIN_MM, low + _MARGIN_MM
    letters = tuple(
        Lettering(*_at(line, (_MARGIN_MM, low - _LINE_MM * at))) for at, line in enumerate(lines)
    )
    square = Stroke(rectangle(x, y, x + SWATCH_MM, y + SWATCH_MM), Pen.MARK)
    stones = tuple(_stone(stone, x, y, kinds) for stone in setting.stones)
    return Sheet(
        name=f"{FOLDER}/{name}",
        title=lines[0],
        size_mm=(_WIDTH_MM, round(height, 4)),
        kind="swatch",
        register=(),
        bars=(),
        number=number + 1,
        of=len(plan.swatches),
        layers=(
            SheetLayer("square", (square,)),
            SheetLayer("stones", stones),
            SheetLayer("notes", letters),
        ),
    )


def _at(line: str, at: tuple[float, float]) -> tuple[str, tuple[float, float], float]:
    text, height = fitted(line, _WIDTH_MM - 2.0 * _MARGIN_MM, (_TEXT_MM, 1.8))
    return text, (at[0], round(at[1], 4)), height


def _stone(stone: Stone, x: float, y: float, kinds: StoneKinds) -> Circle | Stroke:
    shape = kinds.shape(stone.size)
    at = (round(stone.x_mm + x, 4), round(stone.y_mm + y, 4))
    if shape is StoneShape.ROUND:
        return Circle(*at, stone.width_mm, Pen.STONE)
    outline = placed_stone_path(shape, stone.length_mm, stone.width_mm, at, stone.turn_deg)
    return Stroke(outline, Pen.STONE)
