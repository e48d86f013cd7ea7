"""Loose lines and curves joined end to end into chains and closed outlines.

Ends that lie within the tolerance of each other, and of no third end, are one joint; the joint is
then made exact. Exact joints are made before hair-wide ones, so that a fine chain of segments
shorter than the tolerance does not collapse. Where three or more ends meet nothing is guessed:
the lines stay as they are and the place is reported.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import NamedTuple

from templater.geometry.flatten import flatten
from templater.geometry.measure import path_length
from templater.geometry.moves import reversed_path
from templater.model.curves import Arc, Cubic, Line, Path, Point, Segment
from templater.model.problems import Problem, Problems, Severity, Source
from templater.reading.joining_ends import near_groups

JOIN_TOLERANCE_MM = 0.05
"""Ends this near are taken to meet. A pencil line is some ten times as wide (our own choice)."""
SAME_MM = 1e-4
"""The grid positions are snapped to: nearer points are the same point."""
_NEAR_MISS = 20.0
"""A gap up to this many tolerances is worth a message; a wider one is an open line."""
_MOST_MESSAGES = 20

Traced = tuple[Path, Source]


class Joined(NamedTuple):
    """What `join` makes: outlines closed to the bit, lines left open, and what was found."""

    closed: tuple[Traced, ...]
    open: tuple[Traced, ...]
    problems: Problems


@dataclass(frozen=True, slots=True)
class _Joint:
    """Two ends that meet; an end is 2·i for the start of path i and 2·i + 1 for its end."""

    one: int
    other: int
    gap_mm: float


def join(paths: Sequence[Traced], tolerance_mm: float = JOIN_TOLERANCE_MM) -> Joined:
    """Paths of one layer joined where their ends meet within `tolerance_mm`.

    Closed paths pass through; lines drawn twice are dropped and counted; a line no longer than the
    tolerance that only bridges a joint is dropped and counted. The order follows the first path of
    each chain, and a chain runs the way its first path does. Raises ValueError for a tolerance
    that is not positive.
    """
    if not tolerance_mm > 0.0:
        raise ValueError("the joining tolerance must be positive")
    kept, repeats = _without_repeats(paths)
    whole = {i for i, (path, _) in enumerate(kept) if path.closed or _returns(path)}
    loose = [i for i in range(len(kept)) if i not in whole]
    joints, branches, specks = _joints([kept[i][0] for i in loose], tolerance_mm)
    joints = [_Joint(_of(loose, j.one), _of(loose, j.other), j.gap_mm) for j in joints]
    dropped = {loose[i] for i in specks}
    partner = {j.one: j.other for j in joints} | {j.other: j.one for j in joints}

    closed: list[Traced] = []
    opened: list[Traced] = []
    used = set(dropped)
    starts = _chain_starts(len(kept), partner, whole | dropped)
    for first, closes in starts:
        if first // 2 in whole:
            path, source = kept[first // 2]
            closed.append((_shut(path), source))
            continue
        if first // 2 in used:
            continue
        chain = _walk(first, partner)
        used.update(end // 2 for end in chain)
        path, source = _assembled(kept, chain, closes=closes)
        (closed if path.closed else opened).append((path, source))
    problems = (
        *_counts(kept, joints, repeats, len(dropped), closed),
        *_branch_problems(kept, loose, branches),
        *_gap_problems(kept, loose, partner, dropped, branches, tolerance_mm),
    )
    return Joined(tuple(closed), tuple(opened), problems)


def _of(loose: Sequence[int], end: int) -> int:
    return 2 * loose[end // 2] + end % 2


def end_point(path: Path, end: int) -> Point:
    """The start of a path for an even end number, its end for an odd one."""
    return path.end if end % 2 else path.start


def _returns(path: Path) -> bool:
    return (
        math.dist(path.start, path.end) <= SAME_MM
        and (len(path.segments) > 1 or not isinstance(path.segments[0], Line))
        and path_length(path) > 10.0 * SAME_MM
    )


def _shut(path: Path) -> Path:
    """A path whose end is its start, to the bit."""
    if path.start == path.end:
        return replace(path, closed=True)
    last = ended_at(path.segments[-1], path.start)
    return Path((*path.segments[:-1], last), closed=True)


def _without_repeats(paths: Sequence[Traced]) -> tuple[list[Traced], list[Traced]]:
    """Open paths that lie on an earlier one, in either direction, are dropped."""
    points = [end_point(path, end) for path, _ in paths for end in (0, 1)]
    group_of: dict[int, int] = {}
    for number, group in enumerate(near_groups(points, 10.0 * SAME_MM)):
        group_of.update(dict.fromkeys(group, number))
    kept: list[Traced] = []
    repeats: list[Traced] = []
    seen: dict[tuple[int, int], list[tuple[Point, ...]]] = {}
    for i, traced in enumerate(paths):
        path = traced[0]
        if path.closed:
            kept.append(traced)
            continue
        one, other = sorted((group_of[2 * i], group_of[2 * i + 1]))
        earlier = seen.setdefault((one, other), [])
        probes = _probes(path)
        if any(_same_line(probes, before) for before in earlier):
            repeats.append(traced)
        else:
            earlier.append(probes)
            kept.append(traced)
    return kept, repeats


def _probes(path: Path) -> tuple[Point, ...]:
    """Points that tell a path from another with the same ends: its joints, and some between."""
    segments = [part for segment in path.segments for part in _quartered(segment)]
    return (path.start, *(segment.end for segment in segments))


def _quartered(segment: Segment) -> tuple[Segment, ...]:
    match segment:
        case Line():
            return (segment,)
        case Arc() | Cubic():
            ring = flatten(Path((segment,), closed=False), 0.01)
            steps = len(ring) - 1
            # symmetric picks, so that a curve run backwards gives the same points
            middle = (ring[steps // 3], ring[steps - steps // 3])
            points = (segment.start, *(middle if steps > 1 else ()), segment.end)
            return tuple(Line(a, b) for a, b in pairwise(points))


def _same_line(one: tuple[Point, ...], other: tuple[Point, ...]) -> bool:
    """From either end."""
    return len(one) == len(other) and any(
        all(math.dist(a, b) <= 10.0 * SAME_MM for a, b in zip(one, turned, strict=True))
        for turned in (other, tuple(reversed(other)))
    )


def _joints(
    paths: Sequence[Path], tolerance_mm: float
) -> tuple[list[_Joint], list[tuple[int, ...]], set[int]]:
    """Joints, groups of ends that meet three or more at a place, and specks to leave out."""
    points = [end_point(path, end) for path in paths for end in (0, 1)]
    free = list(range(len(points)))
    joints: list[_Joint] = []
    branches: list[tuple[int, ...]] = []
    specks: set[int] = set()
    steps = [step for step in (SAME_MM, 10.0 * SAME_MM, 100.0 * SAME_MM) if step < tolerance_mm]
    for step in (*steps, tolerance_mm):
        spent: set[int] = set()
        for members in near_groups([points[end] for end in free], step):
            ends = [free[m] for m in members]
            if len(ends) > 2:
                specks_here = _specks(ends, paths, step)
                specks.update(specks_here)
                spent.update(end for end in ends if end // 2 in specks_here)
                ends = [end for end in ends if end // 2 not in specks_here]
            if len(ends) == 2:
                if ends[0] // 2 == ends[1] // 2 and path_length(paths[ends[0] // 2]) <= 4.0 * step:
                    continue
                joints.append(_Joint(ends[0], ends[1], math.dist(points[ends[0]], points[ends[1]])))
                spent.update(ends)
            elif len(ends) > 2:
                branches.append(tuple(ends))
                spent.update(ends)
        free = [end for end in free if end not in spent]
    at_joints = [(points[j.one], (j.one, j.other)) for j in joints]
    branches.extend(_late_branches(points, free, at_joints, tolerance_mm))
    return joints, branches, specks


def _specks(ends: Sequence[int], paths: Sequence[Path], step: float) -> set[int]:
    both = {end // 2 for end in ends if end % 2 == 0} & {end // 2 for end in ends if end % 2}
    return {i for i in both if path_length(paths[i]) <= step}


def _late_branches(
    points: Sequence[Point],
    free: Sequence[int],
    at_joints: Sequence[tuple[Point, tuple[int, int]]],
    tolerance_mm: float,
) -> list[tuple[int, ...]]:
    """Ends left over that come near a joint already made: a third line meets there."""
    if not free or not at_joints:
        return []
    found = []
    together = [*(points[end] for end in free), *(point for point, _ in at_joints)]
    for group in near_groups(together, tolerance_mm):
        ends = [free[m] for m in group if m < len(free)]
        made = [at_joints[m - len(free)][1] for m in group if m >= len(free)]
        if ends and made:
            found.append((*ends, *made[0]))
    return found


def _chain_starts(count: int, partner: dict[int, int], alone: set[int]) -> list[tuple[int, bool]]:
    """An end to walk from for each path in turn, and whether its chain closes on itself."""
    starts: list[tuple[int, bool]] = []
    seen: set[int] = set()
    for i in range(count):
        if i in seen:
            continue
        if i in alone:
            starts.append((2 * i, False))
            continue
        end, closes = 2 * i, False
        while True:  # back along the chain to where it begins
            seen.add(end // 2)
            if end not in partner:
                break
            before = partner[end] ^ 1
            if before == 2 * i:
                closes = True
                break
            end = before
        start = 2 * i if closes else end
        seen.update(e // 2 for e in _walk(start, partner))
        starts.append((start, closes))
    return starts


def _walk(first: int, partner: dict[int, int]) -> list[int]:
    """The ends at which each path of a chain is entered, from `first` on."""
    chain = [first]
    while True:
        leaving = chain[-1] ^ 1
        if leaving not in partner or partner[leaving] == first:
            return chain
        chain.append(partner[leaving])


def _assembled(kept: Sequence[Traced], chain: Sequence[int], *, closes: bool) -> Traced:
    pieces = [
        (kept[end // 2][0] if end % 2 == 0 else reversed_path(kept[end // 2][0])).segments
        for end in chain
    ]
    segments: list[Segment] = []
    for piece in pieces:
        if segments:
            at = _meeting(segments[-1], piece[0])
            segments[-1] = ended_at(segments[-1], at)
            segments.append(started_at(piece[0], at))
            segments.extend(piece[1:])
        else:
            segments.extend(piece)
    if closes:
        at = _meeting(segments[-1], segments[0])
        segments[-1] = ended_at(segments[-1], at)
        segments[0] = started_at(segments[0], at)
    solid = [s for s in segments if s.start != s.end or isinstance(s, Cubic)] or segments
    source = kept[chain[0] // 2][1]
    if len(chain) > 1:
        source = replace(source, element=f"{source.element} and {len(chain) - 1} more")
    return Path(tuple(solid), closed=closes), source


def _meeting(before: Segment, after: Segment) -> Point:
    """Where two ends meet: a drawn end rather than a computed one, else halfway."""
    one, other = before.end, after.start
    if math.dist(one, other) <= SAME_MM:
        return other if isinstance(after, Line) and not isinstance(before, Line) else one
    return ((one[0] + other[0]) / 2.0, (one[1] + other[1]) / 2.0)


def ended_at(segment: Segment, at: Point) -> Segment:
    """The segment with its end moved; a Bézier's handle moves along, an arc keeps its bulge."""
    match segment:
        case Line() | Arc():
            return replace(segment, end=at)
        case Cubic():
            dx, dy = at[0] - segment.end[0], at[1] - segment.end[1]
            x, y = segment.control2
            return replace(segment, end=at, control2=(x + dx, y + dy))


def started_at(segment: Segment, at: Point) -> Segment:
    """The segment with its start moved, as `ended_at`."""
    match segment:
        case Line() | Arc():
            return replace(segment, start=at)
        case Cubic():
            dx, dy = at[0] - segment.start[0], at[1] - segment.start[1]
            x, y = segment.control1
            return replace(segment, start=at, control1=(x + dx, y + dy))


def _counts(
    kept: Sequence[Traced],
    joints: Sequence[_Joint],
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
                f"{2 * len(joints)} loose ends on layer “{source.layer}” were joined; the layer "
                f"has {len(closed)} closed outlines. The widest gap closed was {widest:.4f} mm.",
                source=Source(source.file, source.layer),
            )
        )
    if repeats:
        path, source = repeats[0]
        found.append(
            Problem(
                "repeats-dropped",
                Severity.NOTE,
                f"{len(repeats)} lines on layer “{source.layer}” lie exactly on another one and "
                "were left out.",
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
                f"{specks} specks on layer “{layer}”, shorter than the joining tolerance and "
                "lying in a joint, were left out.",
                source=Source(kept[0][1].file, layer),
            )
        )
    return tuple(found)


def _branch_problems(
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


def _gap_problems(
    kept: Sequence[Traced],
    loose: Sequence[int],
    partner: dict[int, int],
    dropped: set[int],
    branches: Sequence[tuple[int, ...]],
    tolerance_mm: float,
) -> Problems:
    """One message for each pair of free ends that nearly meet."""
    branched = {_of(loose, end) for ends in branches for end in ends}
    free = [
        end
        for i in loose
        if i not in dropped
        for end in (2 * i, 2 * i + 1)
        if end not in partner and end not in branched
    ]
    points = [end_point(kept[end // 2][0], end) for end in free]
    found = []
    for group in near_groups(points, _NEAR_MISS * tolerance_mm):
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
