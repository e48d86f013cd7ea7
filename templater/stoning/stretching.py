"""Cloth that stretches: how far its stones stand apart at rest, and how far they open when worn."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from templater.catalogue.sizes import find_size
from templater.geometry.pairs import close_pairs
from templater.model.curves import Point, Transform
from templater.model.ground import Ground, Piece
from templater.model.problems import Problem, Problems, Severity
from templater.model.stones import Opening, Setting, Size, StoneKind
from templater.stoning.bodies import Body

if TYPE_CHECKING:
    from templater.job.schema import Job, Stretch

OPEN_LIMIT = 0.5
"""Cloth shows between two stones when their gap opens past this share of the smaller one's width
(common practice, no source)."""
TOUCHING = 0.1
"""Two stones are neighbours if at rest their gap is at most what they keep and this share of the
smaller one's width more (our choice): an open setting may have none."""


def stretched(
    settings: Sequence[Setting], ground: Ground, job: Job
) -> tuple[tuple[Setting, ...], Problems]:
    """The settings with what their figures come to when the cloth of their piece is stretched.

    Every stone is carried along with the cloth and stays as it is, its turn too. Pieces that do not
    stretch are left out. A note for each setting, a warning where its neighbours open past OPEN_LIMIT.
    """
    made: list[Setting] = []
    problems: list[Problem] = []
    for setting in settings:
        stretch = job.piece_table(setting.piece).stretch
        if (stretch.across == 0.0 and stretch.along == 0.0) or len(setting.stones) < 2:
            made.append(setting)
            continue
        opened, problem = _opened(setting, ground.piece(setting.piece), stretch)
        made.append(opened)
        problems.append(problem)
    return tuple(made), tuple(problems)


def stretch_of(piece: Piece, across: float, along: float) -> Transform:
    """The move of the cloth about the origin: `along` the grain (upright, where none is drawn).

    x' = (1 + across)·x + (along − across)·(x·u)·u, u the grain's direction; the shares are of length.
    """
    ux, uy = 0.0, 1.0
    if piece.grain is not None:
        (x0, y0), (x1, y1) = piece.grain
        length = math.dist(*piece.grain)
        ux, uy = (x1 - x0) / length, (y1 - y0) / length
    more = along - across
    return Transform(
        1.0 + across + more * ux * ux,
        more * ux * uy,
        more * ux * uy,
        1.0 + across + more * uy * uy,
    )


def _opened(setting: Setting, piece: Piece, stretch: Stretch) -> tuple[Setting, Problem]:
    move = stretch_of(piece, stretch.across, stretch.along)
    sizes = {
        name: size
        for name in sorted({stone.size for stone in setting.stones})
        if (size := find_size(name)) is not None
    }
    by_row: dict[bool, list[tuple[float, float]]] = {True: [], False: []}
    widest: tuple[float, Point] | None = None
    for is_row, rest, open_mm, limit, at in _neighbours(setting, sizes, move):
        by_row[is_row].append((rest, open_mm))
        if open_mm > limit and (widest is None or open_mm > widest[0]):
            widest = (open_mm, at)
    row, fill = (_opening(by_row[is_row]) for is_row in (True, False))
    figures = replace(setting.figures, stretched_row=row, stretched_fill=fill)
    told = _told(setting, stretch, row, fill)
    if widest is None:
        problem = Problem("stretch-opens-little", Severity.NOTE, told)
    else:
        problem = Problem(
            "stretch-opens-far",
            Severity.WARNING,
            f"{told}. That is more than half a stone's width: cloth will show between them",
            "Take smaller stones or a smaller gap, or set the piece stretched as it is worn.",
            at_mm=widest[1],
        )
    return replace(setting, figures=figures), problem


def _neighbours(
    setting: Setting, sizes: Mapping[str, Size], move: Transform
) -> Iterator[tuple[bool, float, float, float, Point]]:
    """For each two neighbours: whether both are of a row, their gap at rest and stretched, the most
    that is well, and where they lie.
    """
    stones = [stone for stone in setting.stones if stone.size in sizes]
    bodies = [Body(stone.at, stone.turn_deg, sizes[stone.size]) for stone in stones]
    carried = [replace(body, at=move.apply(body.at)) for body in bodies]
    reach = max(
        b.size.length_mm * (1.0 + TOUCHING) + s.gap_mm for b, s in zip(bodies, stones, strict=True)
    )
    for i, j in close_pairs([stone.at for stone in stones], reach):
        narrow = min(sizes[stones[i].size].width_mm, sizes[stones[j].size].width_mm)
        rest = bodies[i].gap_to(bodies[j])
        if rest > (stones[i].gap_mm + stones[j].gap_mm) / 2.0 + TOUCHING * narrow:
            continue
        is_row = StoneKind.FILL not in (stones[i].kind, stones[j].kind)
        (x0, y0), (x1, y1) = stones[i].at, stones[j].at
        middle = ((x0 + x1) / 2.0, (y0 + y1) / 2.0)
        yield is_row, rest, carried[i].gap_to(carried[j]), OPEN_LIMIT * narrow, middle


def _opening(gaps: Sequence[tuple[float, float]]) -> Opening | None:
    if not gaps:
        return None
    return Opening(
        round(math.fsum(rest for rest, _ in gaps) / len(gaps), 4),
        round(math.fsum(wide for _, wide in gaps) / len(gaps), 4),
        round(max(wide for _, wide in gaps), 4),
    )


def _told(setting: Setting, stretch: Stretch, row: Opening | None, fill: Opening | None) -> str:
    least = setting.figures.smallest_gap_mm
    at_rest = "" if least is None else f"at rest its stones are {least:.2f} mm apart or more; "
    by = f"stretched by {stretch.across:.0%} across and {stretch.along:.0%} along"
    parts = [
        f"neighbours {where} open from {found.rest_mm:.2f} mm to {found.mean_mm:.2f} mm on average, "
        f"{found.largest_mm:.2f} mm at most"
        for where, found in (("in its row", row), ("in its fill", fill))
        if found is not None
    ]
    opened = ", ".join(parts) or "no two are near enough to look like neighbours"
    return f'"{setting.zone}": {at_rest}{by}, {opened}'
