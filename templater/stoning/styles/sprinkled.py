"""`sprinkled`: open, even and random, by spacing, count or coverage."""

from __future__ import annotations

import math
from dataclasses import dataclass
from dataclasses import field as parameter

from templater.geometry.rng import Rng
from templater.model.stones import Field
from templater.stoning.styles.base import FillResult, FillStyle, Sizes, refused
from templater.stoning.styles.open_setting import ceiling, mean_area, set_open

_DEFAULT_COVERAGE = 0.25
_REACHED = 0.75
"""Relative radius that a setting by spacing is reckoned with; what comes out is a little more."""


@dataclass(frozen=True, slots=True)
class Parameters:
    """How open: give one of the three; with none, a quarter of the zone is covered."""

    spacing: float | None = parameter(
        default=None, metadata={"doc": "least distance between neighbours' centres, mm"}
    )
    count: int | None = parameter(default=None, metadata={"doc": "how many stones"})
    coverage: float | None = parameter(
        default=None, metadata={"doc": "share of the zone that stones cover, 0 to 1"}
    )


def fill(field: Field, params: Parameters, sizes: Sizes, gap_mm: float, rng: Rng) -> FillResult:
    """Open, even and random."""
    given = [
        name
        for name, value in (
            ("spacing", params.spacing),
            ("count", params.count),
            ("coverage", params.coverage),
        )
        if value is not None
    ]
    if len(given) > 1:
        return refused(
            field,
            "density-twice",
            f"{' and '.join(given)} are both given",
            "give one of spacing, count and coverage",
        )
    stone, most = mean_area(sizes), ceiling(sizes, gap_mm)
    if params.spacing is not None:
        least = max(size.length_mm for size, _ in sizes) + gap_mm
        if params.spacing < least:
            return refused(
                field,
                "spacing-too-small",
                f"a spacing of {params.spacing:g} mm is asked for, but the largest stones and the "
                f"gap of {gap_mm:g} mm need {least:.2f} mm from centre to centre",
                f"ask for a spacing of {least:.2f} mm or more, or for smaller stones",
            )
        apart = params.spacing / _REACHED
        count = round(2.0 / math.sqrt(3.0) * field.area_mm2 / (apart * apart))
    elif params.count is not None:
        count = params.count
    else:
        share = _DEFAULT_COVERAGE if params.coverage is None else params.coverage
        count = round(share * field.area_mm2 / stone)
    # The edge of a small zone takes a few more than the ceiling says of the plane: the bound of
    # Groemer, Oler, Folkman and Graham has them, coverage has not.
    if field.area_mm2 > 0.0 and (count * stone / field.area_mm2 > most):
        return refused(
            field,
            "more-than-fits",
            f"{_asked(params, count)} would cover {count * stone / field.area_mm2:.1%} of the zone; "
            f"with these stones and a gap of {gap_mm:g} mm no setting covers more than {most:.1%}",
            f"ask for a coverage below {most:.2f} (a random one reaches about {0.8 * most:.2f}), a "
            "smaller gap, or fewer stones",
        )
    return set_open(field, sizes, gap_mm, rng, count, by_area=params.count is None)


def _asked(params: Parameters, count: int) -> str:
    if params.coverage is not None:
        return f"coverage = {params.coverage:g}"
    return f"{count} stones"


STYLE = FillStyle("sprinkled", "open, even and random", Parameters, fill)
