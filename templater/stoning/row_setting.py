"""One drawn row set with stones, and its stones as what zones and later rows keep away from."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from templater.geometry.rng import Rng
from templater.model.ground import Ground, Row
from templater.model.problems import Problem, Problems, Severity
from templater.model.stones import Figures, Obstacle, Setting, Size, Stone, StoneKind
from templater.stoning.assortment import find_sizes
from templater.stoning.finishes import mixed

if TYPE_CHECKING:
    from templater.job.schema import RowTable


def set_row(
    row: Row,
    ground: Ground,
    table: RowTable,
    obstacles: Sequence[Obstacle],
    seed: int,
) -> tuple[Setting, Problems]:
    """The stones of one drawn row. `obstacles`: the stones of rows set before it."""
    from templater.stoning.bodies import Body
    from templater.stoning.figures import counted, smallest_gap
    from templater.stoning.row_ground import RowGround
    from templater.stoning.rows import mirrors_itself, set_bodies

    names = (table.stone,) if isinstance(table.stone, str) else table.stone
    sizes, problems = find_sizes(names, f'row "{row.name}"')
    bodies: tuple[Body, ...] = ()
    gaps = table.gap if isinstance(table.gap, tuple) else (table.gap, table.gap)
    least = min(gaps)
    if not problems:
        place = RowGround(row.piece, ground, obstacles, least)
        found = set_bodies(row, [sizes[name] for name in names], table.turn, gaps, place)
        bodies = found.bodies
        if found.on_fold and not all(mirrors_itself(body, place) for body in bodies):
            bodies = ()
            problems = (
                Problem(
                    "row-on-fold-turned",
                    Severity.ERROR,
                    f'row "{row.name}" lies on the fold, but its stones, turned as they are, are '
                    "not their own mirror image",
                    'Set them with turn = "along", or draw the row beside the fold.',
                    row.source,
                ),
            )
        elif not bodies:
            problems = (
                Problem(
                    "row-without-stones",
                    Severity.WARNING,
                    f'row "{row.name}": no stone fits along it',
                    "Draw it longer or farther from what is kept clear, or name a smaller stone.",
                    row.source,
                ),
            )
    rng = Rng(seed, row.piece, row.name, "row")
    colours, finishes = mixed(table.colour, table.finish, len(bodies), rng)
    stones = tuple(
        Stone(
            *body.at,
            body.turn_deg,
            body.size.name,
            body.size.length_mm,
            body.size.width_mm,
            colour,
            finish,
            StoneKind.ROW,
            least,
        )
        for body, colour, finish in zip(bodies, colours, finishes, strict=True)
    )
    gap = smallest_gap(stones, {size.name: size for size in sizes.values()})
    figures = Figures(0.0, 0.0, counted(stones), gap, None)
    return Setting(row.name, row.piece, stones, figures), problems


def row_obstacles(setting: Setting, sizes: Mapping[str, Size]) -> tuple[Obstacle, ...]:
    """A row's stones as what zones and later rows keep away from."""
    from templater.stoning.bodies import Body

    return tuple(
        Body(stone.at, stone.turn_deg, sizes[stone.size]).obstacle(stone.gap_mm)
        for stone in setting.stones
    )
