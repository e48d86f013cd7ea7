"""`staggered`: one size in offset rows, each stone in the dip between two of the row below."""

from __future__ import annotations

from dataclasses import dataclass
from dataclasses import field as parameter
from typing import Literal

from templater.geometry.rng import Rng
from templater.model.stones import Field
from templater.stoning.styles.base import FillResult, FillStyle, Sizes, gathered, prepared, refused
from templater.stoning.styles.posed import in_own_frame


@dataclass(frozen=True, slots=True)
class Parameters:
    """How rows run."""

    angle: float | Literal["best", "fold", "grain"] = parameter(
        default="best",
        metadata={
            "doc": "direction of the rows in degrees, or `best` (the one that takes most stones), "
            "`fold` or `grain` (along that line)"
        },
    )
    rim: Literal["eased", "regular"] = parameter(
        default="eased",
        metadata={
            "doc": "`eased`: the outermost stones give way to each other, so that the fill meets the "
            "outline row evenly; `regular`: every stone in its place of the lattice"
        },
    )
    grain_deg: float = parameter(
        default=0.0, metadata={"doc": "direction of the grain line, filled in from the piece"}
    )
    fold_deg: float | None = parameter(
        default=None, metadata={"doc": "direction of the fold line, filled in from the piece"}
    )


def fill(
    field: Field,
    params: Parameters,
    sizes: Sizes,
    gap_mm: float,
    rng: Rng,  # noqa: ARG001 (a style takes one; rows are the same for every seed)
) -> FillResult:
    """One size in offset rows."""
    return set_rows(field, params, sizes, gap_mm, staggered=True)


def set_rows(
    field: Field,
    params: Parameters,
    sizes: Sizes,
    gap_mm: float,
    *,
    staggered: bool,
) -> FillResult:
    """Rows of one size, offset by half a pitch from row to row or straight above each other."""
    from templater.geometry.kernels.lattice import lay_lattice
    from templater.geometry.kernels.space import copied, roomier
    from templater.stoning.styles.regular import best_rows, mirrored_turns
    from templater.stoning.styles.seam import eased

    if len(sizes) != 1:
        return refused(
            field,
            "one-size-style",
            f"rows take one size of stone, and {len(sizes)} are given",
            'name one size, or choose style = "packed" for a mix',
        )
    turns: tuple[float, ...] | None
    if params.angle == "best":
        turns = None
    elif params.angle == "grain":
        turns = (params.grain_deg,)
    elif params.angle == "fold":
        if field.fold is None and params.fold_deg is None:
            return refused(
                field,
                "no-fold",
                'angle = "fold", but the piece has no fold',
                'draw a `fold` layer, or give degrees or "best"',
            )
        # A zone away from the fold does not know of it but for its direction.
        along = params.fold_deg if field.fold is None else None
        turns = mirrored_turns(field, None)[:1] if along is None else (along,)
    else:
        turns = (float(params.angle),)

    def work(own: Field, gap: float) -> FillResult:
        space, start = prepared(own, sizes, gap)
        rows = best_rows(space, start, own, turns, staggered=staggered, size=0)
        count = lay_lattice(space, start, *rows, 0, False)
        stones = roomier(copied(start), int(start.held[0]) + count + 1)
        lay_lattice(space, stones, *rows, 0, True)
        if params.rim == "regular":
            return gathered(stones)
        rest = eased(own, space, start, stones, sizes, gap, staggered=staggered)
        return gathered(rest, maximal=True)

    return in_own_frame(field, gap_mm, work) if turns is None else work(field, gap_mm)


STYLE = FillStyle(
    "staggered",
    "one size in offset rows, as tight as equal stones go",
    Parameters,
    fill,
    one_size=True,
)
