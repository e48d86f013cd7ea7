"""What to buy: counts, spares, whole gross, packs and cost."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from templater.job.locate import in_job
from templater.model.plan import ShoppingLine
from templater.model.problems import Problem, Problems, Severity
from templater.model.stones import PlacedStone, Size

if TYPE_CHECKING:
    from templater.job.schema import Job

SEWN = "sewn on through its holes or claws"
FOILED = "if foiled, also stitched"
"""Shaped stones with foil on their backs come off with it: they are stitched as well as glued, and
unfoiled ones only glued (common practice, no source). Holes and claws are known by the words of a
colour or finish alone.
"""

GROSS = 144
"""Stones in a gross (as sold; rhinestonebiz.com FAQ)."""

_KIT_PERCENT = 5
_KIT_LEAST = 2
_KIT_MOST = 12
"""The repair kit of each kind: one in twenty, at least two, at most a dozen (our choice)."""

_SPARE_PERCENT = 10
_SPARE_SMALL_PERCENT = 15
_SMALL_UP_TO_MM = 2.9
"""Spares: 10 %, and 15 % at ss10 and below, which are lost more easily (common practice, no source)."""


def shopping_list(
    stones: Sequence[PlacedStone], sizes: Mapping[str, Size], job: Job
) -> tuple[tuple[ShoppingLine, ...], Problems]:
    """A line for each size, colour and finish, largest size first, then by name."""
    counts = Counter((stone.size, stone.colour, stone.finish) for stone in stones)
    stock = {_key(name): count for name, count in job.stock.items()}
    packs = {_key(name): pack for name, pack in job.prices.packs.items()}
    lines = []
    for (size, colour, finish), count in sorted(
        counts.items(), key=lambda item: (-sizes[item[0][0]].length_mm, item[0])
    ):
        key = _key(f"{size} {colour} {finish}")
        kit = _kit(count)
        spare = _share_of(count, _spare_percent(sizes[size])) + kit
        held = stock.get(key, 0)
        buy = max(count + spare - held, 0)
        gross = math.ceil(buy / GROSS)
        pack = packs.get(key)
        n_packs = None if pack is None else math.ceil(buy / pack.per)
        bought = gross * GROSS if pack is None or n_packs is None else n_packs * pack.per
        lines.append(
            ShoppingLine(
                size=size,
                colour=colour,
                finish=finish,
                count=count,
                spare=spare,
                gross=gross,
                stock=held,
                packs=n_packs,
                cost=None if pack is None or n_packs is None else round(n_packs * pack.price, 2),
                kit=kit,
                pack_of=None if pack is None else pack.per,
                left=held + bought - count - spare,
                instead_of=tuple(
                    old for old, new in sorted(job.substitute.items()) if _key(new) == key
                ),
                care=_care(sizes[size], f"{colour} {finish}"),
            )
        )
    needed = {_key(f"{line.size} {line.colour} {line.finish}") for line in lines}
    problems = tuple(
        Problem(
            "not-needed",
            Severity.NOTE,
            f'this job does not use "{name}"',
            f"It uses: {', '.join(sorted(needed)) or 'no stones'}.",
            in_job(table, name),
        )
        for table, names in (("stock", job.stock), ("prices", job.prices.packs))
        for name in names
        if _key(name) not in needed
    )
    return tuple(lines), problems


def _key(name: str) -> str:
    return " ".join(name.casefold().split())


def _spare_percent(size: Size) -> int:
    return _SPARE_SMALL_PERCENT if size.length_mm < _SMALL_UP_TO_MM else _SPARE_PERCENT


def _share_of(count: int, percent: int) -> int:
    """Rounded up, in whole numbers: a tenth of 70 is 7."""
    return -(-count * percent // 100)


def _kit(count: int) -> int:
    return min(max(_KIT_LEAST, _share_of(count, _KIT_PERCENT)), _KIT_MOST)


def _care(size: Size, words: str) -> str:
    """What a stone needs besides glue, as far as its name tells."""
    spoken = set(words.casefold().replace("-", " ").split())
    if spoken & {"claw", "claws", "setting", "hole", "holes", "sew", "sewn"}:
        return SEWN
    return "" if size.is_round else FOILED
