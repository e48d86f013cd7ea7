"""Stones: where they may lie, outline rows, fills, rows along lines, finishes, figures, sides."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from templater.model.ground import Ground
from templater.model.problems import Problem, Problems
from templater.model.stones import Obstacle, Setting
from templater.stoning.assortment import find_sizes
from templater.stoning.placing import place
from templater.stoning.row_setting import row_obstacles, set_row
from templater.stoning.setting import set_zone

if TYPE_CHECKING:
    from templater.job.schema import Job

__all__ = [
    "place",
    "row_obstacles",
    "row_obstacles_by_piece",
    "set_all",
    "set_row",
    "set_rows",
    "set_zone",
]


def set_rows(
    ground: Ground, job: Job
) -> tuple[tuple[Setting, ...], dict[str, tuple[Obstacle, ...]], Problems]:
    """Every row's setting, and by piece what its zones keep away from. Later rows clear earlier."""
    from templater.job.schema import RowTable

    settings: list[Setting] = []
    problems: list[Problem] = []
    obstacles: dict[str, tuple[Obstacle, ...]] = {}
    for row in ground.rows:
        table = job.rows.get(row.name, RowTable())
        before = obstacles.get(row.piece, ())
        setting, found = set_row(row, ground, table, before, job.seed)
        settings.append(setting)
        problems += found
        sizes, _ = find_sizes((stone.size for stone in setting.stones), row.name)
        obstacles[row.piece] = (*before, *row_obstacles(setting, sizes))
    return tuple(settings), obstacles, tuple(problems)


def row_obstacles_by_piece(rows: Iterable[Setting]) -> dict[str, tuple[Obstacle, ...]]:
    """What the zones of each piece keep away from, from rows as they are."""
    obstacles: dict[str, tuple[Obstacle, ...]] = {}
    for setting in rows:
        sizes, _ = find_sizes((stone.size for stone in setting.stones), setting.zone)
        before = obstacles.get(setting.piece, ())
        obstacles[setting.piece] = (*before, *row_obstacles(setting, sizes))
    return obstacles


def set_all(ground: Ground, job: Job) -> tuple[tuple[Setting, ...], Problems]:
    """Every setting: zones in the ground's order, then rows. Zones without a stoning have none."""
    rows, obstacles, found = set_rows(ground, job)
    problems = list(found)
    settings: list[Setting] = []
    for zone in ground.zones:
        stoning = job.stoning_of(zone.name)
        if stoning is None:
            continue
        setting, more = set_zone(zone, ground, stoning, obstacles.get(zone.piece, ()), job.seed)
        settings.append(setting)
        problems += more
    return (*settings, *rows), tuple(problems)
