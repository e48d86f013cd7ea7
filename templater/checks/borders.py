"""A border that zones share lies within them, though on the line between. Imported late: numpy."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from templater.checks.bounds import distances, fold_of, from_fold, zone_area
from templater.checks.findings import EDITED, capped, error
from templater.checks.flat import joined, path_segments
from templater.checks.made import TOL_MM, Made
from templater.checks.nearby import inside
from templater.model.ground import EdgeKind, Row
from templater.model.problems import Problem, Problems


def borders_lie_within(made: Made) -> Problems:
    """Their stones lie in zones, as far from every edge that is no border as the zones' stones."""
    return capped(
        problem for row in made.plan.ground.rows if row.between for problem in _border(made, row)
    )


def _border(made: Made, row: Row) -> Iterator[Problem]:
    laid, ground = made.laid, made.plan.ground
    names = np.array([stone.zone for stone in laid.rows], dtype=object)
    members = np.flatnonzero(laid.known & (names == row.name))
    fold = fold_of(made, row.piece)
    if fold is not None:
        members = members[np.abs(from_fold(laid.at[members], fold)) > 2 * TOL_MM]
    if not len(members):
        return
    every = joined(zone_area(zone) for zone in ground.zones if zone.piece == row.piece)
    # A stone of the border lies on the line itself: either side of it will do.
    out = np.ones(len(members), np.bool_)
    for aside in ((1e-3, 0.0), (-1e-3, 0.0), (0.0, 1e-3), (0.0, -1e-3)):
        out &= ~inside(laid.at[members] + np.array(aside), every)
    edges = joined(
        path_segments(edge.path)
        for zone in ground.zones
        if zone.name in row.between
        for region in zone.regions
        for ring in region.rings
        for edge in ring
        if not edge.border and not (fold is not None and edge.kind is EdgeKind.FOLD)
    )
    kept = min(
        (each.edge_mm for each in made.plan.settings if each.zone in row.between), default=0.0
    )
    near = distances(made, members, edges, kept) < kept - TOL_MM
    for index in members[out | near]:
        yield error(
            "border-outside",
            f"{laid.name(int(index))} lies beyond the zones {' and '.join(row.between)}, or nearer "
            f"than {kept:.3f} mm to an edge of theirs that is not their common line",
            EDITED,
            at=(laid.rows[index].x_mm, laid.rows[index].y_mm),
        )
