"""How large a hole each stone needs, and which of the maker's punches makes it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

from templater.model.problems import Problem, Problems, Severity
from templater.model.stones import Size

if TYPE_CHECKING:
    from templater.job.schema import Job, StencilTable

PRICK_MM = 1.0
"""Enough for chalk to pass, small enough to show the centre: common practice, no source."""
SMALLEST_HOLE_MM = 0.5
"""Below this neither knives nor lasers cut film cleanly: from memory, no source."""


class HoleSize(NamedTuple):
    """`width_mm` by `length_mm` (alike for round holes); `path_*`: the line the machine follows."""

    shape: str
    width_mm: float
    length_mm: float
    path_width_mm: float
    path_length_mm: float
    punch_mm: float | None = None


def stencil_hole(size: Size, clearance_mm: float, kerf_mm: float) -> HoleSize:
    """The largest stone of the size plus the clearance.

    The beam or blade takes away half the kerf on either side of its path, so the path is drawn a
    whole kerf narrower than the hole is to be; a negative kerf widens it.
    """
    width = round(size.largest_width_mm + clearance_mm, 4)
    length = round(size.largest_length_mm + clearance_mm, 4)
    return HoleSize(
        size.shape.value, width, length, round(width - kerf_mm, 4), round(length - kerf_mm, 4)
    )


def prick_hole(size: Size, clearance_mm: float) -> HoleSize:
    """A small round hole at the stone's centre, never larger than the stone's own."""
    largest = round(size.largest_width_mm + clearance_mm, 4)
    hole = min(PRICK_MM, largest)
    return HoleSize("round", hole, hole, hole, hole)


def punch_hole(size: Size, clearance_mm: float, punches: Sequence[float]) -> HoleSize:
    """The smallest owned punch not smaller than the planned stone plus clearance, nor than the
    largest stone of the size.

    Without one (or for a shaped stone) the hole as wanted, and no punch.
    """
    width = round(max(size.width_mm + clearance_mm, size.largest_width_mm), 4)
    length = round(max(size.length_mm + clearance_mm, size.largest_length_mm), 4)
    owned = [punch for punch in sorted(punches) if punch >= width - 1e-9]
    if size.is_round and owned:
        return HoleSize("round", owned[0], owned[0], owned[0], owned[0], owned[0])
    return HoleSize(size.shape.value, width, length, width, length)


def sizing_problems(sizes: Mapping[str, Size], job: Job) -> Problems:
    """Sizes whose holes are too small to cut, and those that no owned punch serves, as far as the
    job wants such templates.
    """
    templates = job.templates
    problems: list[Problem] = []
    if "stencil" in templates.kinds:
        problems += _too_small(sizes, templates.stencil)
    if "punch" in templates.kinds:
        problems += _unpunched(sizes, templates.stencil, sorted(templates.punches))
    return tuple(problems)


def _too_small(sizes: Mapping[str, Size], stencil: StencilTable) -> Iterator[Problem]:
    for name in sorted(sizes):
        cut = stencil_hole(sizes[name], stencil.clearance_of(name), stencil.kerf)
        if cut.path_width_mm < SMALLEST_HOLE_MM:
            yield Problem(
                "hole-too-small",
                Severity.ERROR,
                f"a stencil hole for {name} would be cut along a line {cut.path_width_mm:g} mm "
                f"wide; below {SMALLEST_HOLE_MM:g} mm no knife or laser cuts film cleanly",
                "lower kerf or raise clearance in [templates] stencil, or use a larger stone",
            )


def _unpunched(
    sizes: Mapping[str, Size], stencil: StencilTable, punches: Sequence[float]
) -> Iterator[Problem]:
    owned = ", ".join(f"{punch:g}" for punch in punches) or "none"
    shaped: list[str] = []
    for name in sorted(sizes):
        punched = punch_hole(sizes[name], stencil.clearance_of(name), punches)
        if punched.punch_mm is not None:
            continue
        if not sizes[name].is_round:
            shaped.append(name)
            continue
        yield Problem(
            "no-punch",
            Severity.WARNING,
            f"no owned punch serves {name}: it needs {punched.width_mm:g} mm or a little more, "
            f"and the job lists {owned} mm",
            f"add a punch of {punched.width_mm:g} mm or more to punches in [templates], or cut "
            f"these holes by machine; they are drawn {punched.width_mm:g} mm wide",
        )
    if shaped:
        yield Problem(
            "no-punch",
            Severity.WARNING,
            f"no punch makes the holes for {', '.join(shaped)}: they are not round",
            "cut these holes with a knife or by machine; they are drawn in the stones' shapes",
        )
