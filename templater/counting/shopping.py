"""What to buy: counts, spares, whole gross, packs and cost."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from templater.model.plan import ShoppingLine
from templater.model.problems import Problem, Problems, Severity, Source
from templater.model.stones import PlacedStone, Size

if TYPE_CHECKING:
    from templater.job.schema import Job

GROSS = 144
"""Stones in a gross (as sold; rhinestonebiz.com FAQ)."""

_SPARE = 0.10
_SPARE_SMALL = 0.15
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
        spare = math.ceil(count * _spare_share(sizes[size]))
        buy = max(count + spare - stock.get(key, 0), 0)
        pack = packs.get(key)
        n_packs = None if pack is None else math.ceil(buy / pack.per)
        lines.append(
            ShoppingLine(
                size=size,
                colour=colour,
                finish=finish,
                count=count,
                spare=spare,
                gross=math.ceil(buy / GROSS),
                stock=stock.get(key, 0),
                packs=n_packs,
                cost=None if pack is None or n_packs is None else round(n_packs * pack.price, 2),
            )
        )
    needed = {_key(f"{line.size} {line.colour} {line.finish}") for line in lines}
    problems = tuple(
        Problem(
            "not-needed",
            Severity.NOTE,
            f'[{table}] names "{name}", which this job does not use',
            f"It uses: {', '.join(sorted(needed)) or 'no stones'}.",
            Source(job.drawing, element=table),
        )
        for table, names in (("stock", job.stock), ("prices", job.prices.packs))
        for name in names
        if _key(name) not in needed
    )
    return tuple(lines), problems


def _key(name: str) -> str:
    return " ".join(name.casefold().split())


def _spare_share(size: Size) -> float:
    return _SPARE_SMALL if size.length_mm < _SMALL_UP_TO_MM else _SPARE
