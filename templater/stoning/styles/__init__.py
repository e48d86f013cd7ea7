"""Fill styles: one file each. The job file's keys, the docs and `start` derive from STYLES.

Importing this is cheap: kernels and numpy come in when a style first fills.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

from templater.geometry.rng import Rng
from templater.model.stones import Field
from templater.stoning.styles import contour, faded, none, packed, sprinkled, square, staggered
from templater.stoning.styles.base import FillResult, FillStyle, Sizes, refused

STYLES: Mapping[str, FillStyle] = MappingProxyType(
    {
        module.STYLE.name: module.STYLE
        for module in (packed, staggered, square, contour, sprinkled, faded, none)
    }
)


def fill(
    field: Field, style_name: str, params: Any, sizes: Sizes, gap_mm: float, rng: Rng
) -> FillResult:
    """The stones of one fill. `params` is an instance of the style's model, or None for defaults.

    Sizes must be round; bigger first is not required here, `size_index` counts as given.
    Raises KeyError for a style that is not in STYLES.
    """
    style = STYLES[style_name]
    shaped = [size.name for size, _ in sizes if not size.is_round]
    if shaped or not sizes:
        return refused(
            field,
            "fill-takes-rounds",
            f"fills take round sizes, not {', '.join(shaped) or 'none'}",
            "give round sizes (ss or pp); set shaped stones along a `row` line",
        )
    if not field.rings:
        return FillResult(maximal=True)
    given = style.parameters() if params is None else params
    return style.function(field, given, sizes, gap_mm, rng)


__all__ = ["STYLES", "FillResult", "FillStyle", "Sizes", "fill"]
