"""Stones keep apart: half the sum of their gaps between their edges. Imported late: numpy."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from templater.checks.findings import EDITED, capped, error
from templater.checks.made import SHAPED_TOL_MM, TOL_MM, Made
from templater.checks.nearby import Indices, Numbers, near_pairs
from templater.checks.outlines import convex_distance
from templater.model.problems import Problem, Problems


def stones_keep_apart(made: Made) -> Problems:
    """Every two stones of one cloth, zones and rows together."""
    return capped(problem for stones in made.cloths() for problem in _too_near(made, stones))


def _too_near(made: Made, members: Indices) -> Iterator[Problem]:
    laid = made.laid
    if len(members) < 2:
        return
    at = np.array([(laid.rows[index].x_mm, laid.rows[index].y_mm) for index in members])
    radius, gap = laid.radius[members], laid.gap[members]
    reach = 2 * float(radius.max()) + float(gap.max())
    i, j = near_pairs(at, at, reach)
    once = i < j
    i, j = i[once], j[once]
    needed = (gap[i] + gap[j]) / 2
    far = np.hypot(*(at[i] - at[j]).T) - radius[i] - radius[j]
    allowed = np.full(len(i), TOL_MM)
    shaped = ~(laid.is_round[members][i] & laid.is_round[members][j])
    allowed[shaped] = SHAPED_TOL_MM
    close = np.flatnonzero(shaped & (far < needed))
    far[close] = _shaped_distances(made, members[i[close]], members[j[close]])
    for pair in np.flatnonzero(far < needed - allowed):
        one, other = int(members[i[pair]]), int(members[j[pair]])
        yield error(
            "stones-too-near",
            f"{laid.name(one)} and {laid.name(other)} are {far[pair]:.3f} mm apart; "
            f"their gaps ask for {needed[pair]:.3f} mm",
            EDITED,
            at=(laid.rows[one].x_mm, laid.rows[one].y_mm),
        )


def _shaped_distances(made: Made, ones: Indices, others: Indices) -> Numbers:
    """The distance between the true outlines of pairs of which at least one is shaped."""
    laid = made.laid
    found = np.empty(len(ones))
    for row, (a, b) in enumerate(zip(ones.tolist(), others.tolist(), strict=True)):
        first, second = (b, a) if laid.is_round[a] else (a, b)
        if laid.is_round[second]:
            point = np.array([[[laid.rows[second].x_mm, laid.rows[second].y_mm]]])
            far = convex_distance(made.outline(first, on_garment=True), point)
            found[row] = far[0] - laid.radius[second]
        else:
            found[row] = convex_distance(
                made.outline(first, on_garment=True), made.outline(second, on_garment=True)
            )[0]
    return found
