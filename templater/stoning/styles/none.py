"""`none`: no fill; the outline row alone."""

from __future__ import annotations

from dataclasses import dataclass

from templater.geometry.rng import Rng
from templater.model.stones import Field
from templater.stoning.styles.base import FillResult, FillStyle, Sizes


@dataclass(frozen=True, slots=True)
class Parameters:
    """It has no keys of its own."""


def fill(
    _field: Field, _params: Parameters, _sizes: Sizes, _gap_mm: float, _rng: Rng
) -> FillResult:
    """Not a stone."""
    return FillResult()


STYLE = FillStyle("none", "no fill, the outline row alone", Parameters, fill)
