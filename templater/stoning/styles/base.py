"""What every fill style shares: its result, its place in the registry, the way to kernels."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from templater.geometry.rng import Rng
from templater.model.problems import Problem, Problems, Severity
from templater.model.stones import Field, Size

if TYPE_CHECKING:
    from templater.geometry.kernels.room import Space, Stones

Sizes = tuple[tuple[Size, float], ...]
"""Round sizes with their shares of the count, biggest first; shares need not add up to 1."""


@dataclass(frozen=True, slots=True)
class FillResult:
    """The stones a style set: centres snapped to 0.0001 mm, and for each its place in `sizes`.

    `maximal`: no stone of the smallest size fits anywhere with 1 µm to spare.
    """

    x_mm: tuple[float, ...] = ()
    y_mm: tuple[float, ...] = ()
    size_index: tuple[int, ...] = ()
    problems: Problems = ()
    maximal: bool = False


@dataclass(frozen=True, slots=True)
class FillStyle:
    """A fill style: its name in job files, what it does, its parameters' model, its function.

    `parameters` is a frozen dataclass with a default for every field; a field's
    `metadata["doc"]` says what it means. `one_size`: it takes exactly one size.
    `shades`: for a field and parameters that ask for it, a function of columns x, y that tells how far
    along the fill each place lies, 0 to 1, for colours to follow.
    """

    name: str
    summary: str
    parameters: type[Any]
    function: Callable[[Field, Any, Sizes, float, Rng], FillResult]
    one_size: bool = False
    shades: Callable[[Field, Any], Callable[[Any, Any], Any] | None] | None = None


def refused(field: Field, code: str, message: str, mend: str) -> FillResult:
    """No stones, and the error that says why."""
    where = f"zone {field.zone!r}: {message}"
    return FillResult(problems=(Problem(code, Severity.ERROR, where, mend),))


def prepared(
    field: Field, sizes: Sizes, gap_mm: float, reach_mm: float = 1.0
) -> tuple[Space, Stones]:
    """The field as kernels read it, obstacles in place. See `lay_out`."""
    from templater.geometry.kernels.space import Kind, lay_out

    kinds = [Kind(size.length_mm / 2.0, size.height_mm) for size, _ in sizes]
    fold = None if field.fold is None else (field.fold.start, field.fold.end)
    return lay_out(
        field.rings, field.walls, field.lows, field.obstacles, fold, kinds, gap_mm, reach_mm
    )


def gathered(stones: Stones, problems: Problems = (), *, maximal: bool = False) -> FillResult:
    """The stones that a style set, in a fixed order: by row upwards, then to the right."""
    fixed, held = int(stones.held[1]), int(stones.held[0])
    found = sorted(
        (float(stones.y[k]) + 0.0, float(stones.x[k]) + 0.0, int(stones.size[k]))
        for k in range(fixed, held)
        if stones.size[k] >= 0
    )
    return FillResult(
        tuple(x for _, x, _ in found),
        tuple(y for y, _, _ in found),
        tuple(size for _, _, size in found),
        problems,
        maximal,
    )
