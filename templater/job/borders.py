"""What a border that two zones share is set with: the upper zone's outline, unless a row says more."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from templater.model.ground import Row
from templater.model.names import plain_name

if TYPE_CHECKING:
    from templater.job.schema import Job, RowTable


def with_borders(job: Job, rows: Iterable[Row]) -> Job:
    """The job with a table for every border among the rows, so that it is set like any other row."""
    tables = {row.name: border_table(job, row.name, row.between[-1]) for row in rows if row.between}
    others = {name: table for name, table in job.rows.items() if plain_name(name) not in tables}
    return job.model_copy(update={"rows": {**others, **tables}}) if tables else job


def border_table(job: Job, name: str, upper: str) -> RowTable:
    """The border's table: stone, gap, colours, finishes and method from the upper zone's stoning,
    each unless `[rows.NAME]` gives it. Raises ValueError if that zone has no outline row.
    """
    from templater.job.schema import RowTable

    stoning = job.stoning_of(upper)
    if stoning is None or not stoning.outline:
        raise ValueError(f'zone "{upper}" has no outline row to share')
    own = job.row_table(name)
    return RowTable.model_validate(
        {
            "stone": stoning.outline.size,
            "gap": stoning.outline.gap,
            "colour": stoning.colour,
            "finish": stoning.finish,
            "method": stoning.method,
            **{key: getattr(own, key) for key in own.model_fields_set},
        }
    )
