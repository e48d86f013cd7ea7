"""Loose lines and curves joined end to end into chains and closed outlines.

Ends that lie within the tolerance of each other, and of no third end, are one joint; the joint is
then made exact. Exact joints are made before hair-wide ones, so that a fine chain of segments
shorter than the tolerance does not collapse. Where three or more ends meet nothing is guessed:
the lines stay as they are and the place is reported.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from typing import NamedTuple

from templater.geometry.flatten import flatten
from templater.geometry.joining_ends import Joint, near_groups
from templater.geometry.joining_report import (
    Traced,
    branch_problems,
    count_problems,
    end_in,
    end_point,
    gap_problems,
)
from templater.geometry.measure import path_length
from templater.geometry.moves import reversed_path
from templater.model.curves import Arc, Cubic, Line, Path, Point, Segment
from templater.model.problems import Problems

__all__ = [
    "JOIN_TOLERANCE_MM",
    "SAME_MM",
    "Joined",
    "Traced",
    "ended_at",
    "join",
    "started_at",
]

JOIN_TOLERANCE_MM = 0.05
"""Ends this near are taken to meet. A pencil line is some ten times as wide (our own choice)."""
SAME_MM = 1e-4
"""The grid positions are snapped to: nearer points are the same point."""


class Joined(NamedTuple):
    """What `join` makes: outlines closed to the bit, lines left open, and what was found."""

    closed: tuple[Traced, ...]
    open: tuple[Traced, ...]
    problems: Problems


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
    joints = [Joint(end_in(loose, j.one), end_in(loose, j.other), j.gap_mm) for j in joints]
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
        *count_problems(kept, joints, repeats, len(dropped), closed),
        *branch_problems(kept, loose, branches),
        *gap_problems(kept, loose, partner, dropped, branches, tolerance_mm),
    )
    return Joined(tuple(closed), tuple(opened), problems)


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
    segments = list(path.segments)
    _move_end(segments, path.start)
    return Path(tuple(segments), closed=True)


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
) -> tuple[list[Joint], list[tuple[int, ...]], set[int]]:
    """Joints, groups of ends that meet three or more at a place, and specks to leave out."""
    points = [end_point(path, end) for path in paths for end in (0, 1)]
    free = list(range(len(points)))
    joints: list[Joint] = []
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
                joints.append(Joint(ends[0], ends[1], math.dist(points[ends[0]], points[ends[1]])))
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
            _move_end(segments, at)
            added = list(piece)
            _move_start(added, at)
            segments.extend(added)
        else:
            segments.extend(piece)
    if closes:
        at = _meeting(segments[-1], segments[0])
        _move_end(segments, at)
        _move_start(segments, at)
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


def _move_end(segments: list[Segment], at: Point) -> None:
    """The chain's end moved, no point of it by more than the end.

    An arc keeps its bulge, so it is scaled about its other end; one of more than a half circle
    reaches farther than its chord and is halved first.
    """
    last = segments[-1]
    if isinstance(last, Arc) and abs(last.bulge) > 1.0 and last.end != at:
        segments[-1:] = _halves(last)
    segments[-1] = ended_at(segments[-1], at)


def _move_start(segments: list[Segment], at: Point) -> None:
    first = segments[0]
    if isinstance(first, Arc) and abs(first.bulge) > 1.0 and first.start != at:
        segments[:1] = _halves(first)
    segments[0] = started_at(segments[0], at)


def _halves(arc: Arc) -> tuple[Arc, Arc]:
    (x0, y0), (x1, y1), bulge = arc.start, arc.end, arc.bulge
    middle = ((x0 + x1 + bulge * (y1 - y0)) / 2.0, (y0 + y1 - bulge * (x1 - x0)) / 2.0)
    half = math.tan(math.atan(bulge) / 2.0)
    return Arc(arc.start, middle, half), Arc(middle, arc.end, half)


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
