"""What joining found, as problems: counts, branches and gaps."""

from __future__ import annotations

import math
from collections.abc import Sequence

from templater.geometry.joining_ends import Joint, near_groups
from templater.geometry.measure import path_length
from templater.model.curves import Path, Point
from templater.model.problems import Problem, Problems, Severity, Source
from templater.model.words import counted

NEAR_MISS = 20.0
"""A gap up to this many tolerances is worth a message; a wider one is an open line."""
_MOST_MESSAGES = 20

Traced = tuple[Path, Source]


def end_point(path: Path, end: int) -> Point:
    """The start of a path for an even end number, its end for an odd one."""
    return path.end if end % 2 else path.start


def end_in(loose: Sequence[int], end: int) -> int:
    """An end numbered among the loose paths, numbered among all."""
    return 2 * loose[end // 2] + end % 2


def count_problems(
    kept: Sequence[Traced],
    joints: Sequence[Joint],
    repeats: Sequence[Traced],
    specks: int,
    closed: Sequence[Traced],
) -> Problems:
    found: list[Problem] = []
    if joints:
        source = kept[joints[0].one // 2][1]
        widest = max(joint.gap_mm for joint in joints)
        found.append(
            Problem(
                "lines-joined",
                Severity.NOTE,
                f"{counted(2 * len(joints), 'loose end')} on layer “{source.layer}” were joined; "
                f"the layer has {counted(len(closed), 'closed outline')}. The widest gap closed was {widest:.4f} mm.",
                source=Source(source.file, source.layer),
            )
        )
    if repeats:
        path, source = repeats[0]
        found.append(
            Problem(
                "repeats-dropped",
                Severity.NOTE,
                f"Left out on layer “{source.layer}”, as they lie exactly on others: "
                f"{counted(len(repeats), 'line')}.",
                "Nothing needs doing; delete the second copies in the drawing to be rid of this.",
                source,
                path.start,
            )
        )
    if specks:
        layer = kept[0][1].layer
        found.append(
            Problem(
                "specks-dropped",
                Severity.NOTE,
                f"Left out on layer “{layer}”, as shorter than the joining tolerance and lying "
                f"in a joint: {counted(specks, 'speck')}.",
                source=Source(kept[0][1].file, layer),
            )
        )
    return tuple(found)


def branch_problems(
    kept: Sequence[Traced], loose: Sequence[int], branches: Sequence[tuple[int, ...]]
) -> Problems:
    found = []
    for ends in branches[:_MOST_MESSAGES]:
        path, source = kept[loose[ends[0] // 2]]
        at = end_point(path, ends[0])
        found.append(
            Problem(
                "lines-branch",
                Severity.WARNING,
                f"{len(ends)} line ends meet at x {at[0]:.2f}, y {at[1]:.2f} mm on layer "
                f"“{source.layer}”, so it is not clear which of them go on into which.",
                "Draw each outline as one closed polyline, or put the outlines that share this "
                "point on layers of their own.",
                source,
                at,
            )
        )
    if len(branches) > _MOST_MESSAGES:
        source = kept[loose[branches[0][0] // 2]][1]
        found.append(
            Problem(
                "lines-branch",
                Severity.WARNING,
                f"Line ends meet by threes or more at {len(branches) - _MOST_MESSAGES} further "
                f"places on layer “{source.layer}”.",
                "Mend the places named before, then look again.",
                Source(source.file, source.layer),
            )
        )
    return tuple(found)


def gap_problems(
    kept: Sequence[Traced],
    loose: Sequence[int],
    partner: dict[int, int],
    dropped: set[int],
    branches: Sequence[tuple[int, ...]],
    tolerance_mm: float,
) -> Problems:
    """One message for each pair of free ends that nearly meet."""
    branched = {end_in(loose, end) for ends in branches for end in ends}
    free = [
        end
        for i in loose
        if i not in dropped
        for end in (2 * i, 2 * i + 1)
        if end not in partner and end not in branched
    ]
    points = [end_point(kept[end // 2][0], end) for end in free]
    found = []
    for group in near_groups(points, NEAR_MISS * tolerance_mm):
        if len(group) < 2:
            continue
        first, second = (
            group[0],
            min(group[1:], key=lambda m: math.dist(points[m], points[group[0]])),
        )
        path, source = kept[free[first] // 2]
        gap = math.dist(points[first], points[second])
        if free[first] // 2 == free[second] // 2 and path_length(path) <= 4.0 * gap:
            continue  # the two ends of one short stroke
        x, y = points[first]
        found.append(
            Problem(
                "gap-in-line",
                Severity.WARNING,
                f"Two line ends on layer “{source.layer}” nearly meet at x {x:.2f}, y {y:.2f} mm: "
                f"the gap is {gap:.3f} mm, more than the {tolerance_mm:g} mm that is closed.",
                "Close the gap in the drawing.",
                source,
                points[first],
            )
        )
    return tuple(found[:_MOST_MESSAGES])
