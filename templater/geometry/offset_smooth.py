"""The traced offset with every smooth run of Bézier origin as few cubics."""

from __future__ import annotations

import math
from collections.abc import Sequence

from templater.geometry.offset_curves import Bend
from templater.geometry.offset_trace import Traced
from templater.geometry.smooth import end_direction, start_direction
from templater.geometry.smooth_fit import cubics_along
from templater.model.curves import Arc, Cubic, Line, Path, Segment

_CORNER_RAD = math.radians(0.5)
_SAME_MM = 1e-3


def smoothed(traced: Sequence[Traced], bends: Sequence[Bend], tolerance_mm: float) -> Path:
    """A closed path of the traced segments.

    Lines and arcs of the source stay as they are. Béziers without an allowance come back as they
    were drawn where nothing cut into them. The other runs become cubics within `tolerance_mm`.
    """
    count = len(traced)
    first = next((i for i in range(count) if not _together(traced[i - 1], traced[i], bends)), 0)
    segments: list[Segment] = []
    run: list[Traced] = []
    for i in range(count):
        each = traced[(first + i) % count]
        if run and not _together(run[-1], each, bends):
            segments.extend(_drawn(run, bends, tolerance_mm))
            run = []
        run.append(each)
    segments.extend(_drawn(run, bends, tolerance_mm))
    return Path(tuple(segments), closed=True)


def _together(first: Traced, second: Traced, bends: Sequence[Bend]) -> bool:
    """Whether two neighbours belong to one smooth run."""
    if first.bend < 0 or second.bend < 0:
        return False
    if bends[first.bend].width_mm == 0.0 or bends[second.bend].width_mm == 0.0:
        return first.bend == second.bend
    (ax, ay), (bx, by) = end_direction(first.segment), start_direction(second.segment)
    return abs(math.atan2(ax * by - ay * bx, ax * bx + ay * by)) < _CORNER_RAD


def _drawn(
    run: Sequence[Traced], bends: Sequence[Bend], tolerance_mm: float
) -> Sequence[Line | Arc | Cubic]:
    if run[0].bend < 0:
        return [each.segment for each in run]
    bend = bends[run[0].bend]
    start, end = run[0].segment.start, run[-1].segment.end
    if (
        bend.width_mm == 0.0
        and math.dist(start, bend.cubic.start) < _SAME_MM
        and math.dist(end, bend.cubic.end) < _SAME_MM
    ):
        return [Cubic(start, bend.cubic.control1, bend.cubic.control2, end)]
    return cubics_along([each.segment for each in run], tolerance_mm)
