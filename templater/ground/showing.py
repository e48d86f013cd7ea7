"""Dark cloth that would lie beneath light cloth: its edge shows through."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from templater.catalogue.colours import find_colour
from templater.model.ground import EdgeKind, Zone
from templater.model.problems import Problem, Problems, Severity

if TYPE_CHECKING:
    from templater.job.schema import Job

_DARKER_BY = 0.15
"""Difference in relative luminance from which an edge is likely to show (from memory)."""


def shows_through(zones: Sequence[Zone], job: Job) -> Problems:
    """A warning for each underlap of a darker fabric beneath a lighter one.

    Told from the colour words in `fabric`; where they name no known colour nothing is said.
    """
    fabrics = {zone.name: job.zone_table(zone.name).fabric for zone in zones}
    light = {name: luminance(fabric) for name, fabric in fabrics.items()}
    problems: list[Problem] = []
    for zone in zones:
        above = {
            edge.name: edge.allowance_mm
            for region in zone.regions
            for ring in region.rings
            for edge in ring
            if edge.kind is EdgeKind.NEIGHBOUR and edge.allowance_mm > 0.0
        }
        for name, underlap_mm in above.items():
            lower, upper = light[zone.name], light[name]
            beneath = next(other.level for other in zones if other.name == name) > zone.level
            if beneath and lower is not None and upper is not None and lower < upper - _DARKER_BY:
                problems.append(
                    Problem(
                        "dark-beneath-light",
                        Severity.WARNING,
                        f'the zone "{zone.name}" ({fabrics[zone.name]}) goes {underlap_mm:g} mm beneath'
                        f' "{name}" ({fabrics[name]}), which is lighter: its edge may show through',
                        "Turn their order round, line the lighter cloth, or lessen the underlap.",
                        zone.source,
                    )
                )
    return tuple(problems)


def luminance(fabric: str) -> float | None:
    """Relative luminance, 0 black to 1 white, of the colour a fabric's words name (WCAG 2)."""
    colour = find_colour(fabric)
    if colour is None:
        return None
    red, green, blue = (_linear(int(colour[k : k + 2], 16) / 255.0) for k in (1, 3, 5))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def _linear(value: float) -> float:
    return value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4
