"""`square`: one size on a straight grid."""

from __future__ import annotations

from templater.geometry.rng import Rng
from templater.model.stones import Field
from templater.stoning.styles.base import FillResult, FillStyle, Sizes
from templater.stoning.styles.staggered import Parameters, set_rows


def fill(
    field: Field,
    params: Parameters,
    sizes: Sizes,
    gap_mm: float,
    rng: Rng,  # noqa: ARG001 (a style takes one; rows are the same for every seed)
) -> FillResult:
    """One size on a straight grid."""
    return set_rows(field, params, sizes, gap_mm, staggered=False)


STYLE = FillStyle("square", "one size on a straight grid", Parameters, fill, one_size=True)
