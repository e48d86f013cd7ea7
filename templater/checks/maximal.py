"""A fill that promises to be maximal leaves no room for one more stone. Imported late: numpy.

Proved by halving: the room a disc would have at a point (its least distance from anything, less the
distance asked for) changes by no more than the point moves. A square whose middle has so little
room that no point of it could have 1 µm to spare is settled; a middle with more room is a place for
a stone; anything else is cut in four. It ends when squares are smaller than `SETTLED_MM`, so that a
place with up to `SPARE_MM` + `SETTLED_MM` of room may pass.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from templater.checks.bounds import boundary_of, fold_of, shape_segments, zone_area
from templater.checks.findings import capped, error
from templater.checks.flat import FLAT_MM, Points, Segments, area_segments, joined, path_segments
from templater.checks.made import SHAPED_TOL_MM, SNAP_MM, Made
from templater.checks.nearby import Indices, Lines, Numbers, inside, near_pairs
from templater.model.curves import Area
from templater.model.ground import EdgeKind, Zone
from templater.model.problems import Problem, Problems, Severity
from templater.model.stones import Setting

SPARE_MM = 0.001 + 2 * SNAP_MM + FLAT_MM
"""Room that counts as room: 1 µm, the rounding of the written stones, the checks' flattening."""
SETTLED_MM = 0.0002
EFFORT = 4_000_000
"""The most squares looked at for one zone; then the proof is given up, and says so."""

Half = tuple[float, float]
"""Half of a square's width and height, or of a stretch of line's run in x and y."""


@dataclass(frozen=True)
class _Room:
    """All that a further stone must keep from. `lines`: with the distance its centre keeps."""

    lines: tuple[tuple[Lines, float], ...]
    stones: Points
    keep: Numbers
    barred: tuple[Segments, ...]
    within: Segments | None

    def slack(self, at: Points, corner: float) -> Numbers:
        """The room at each point, up to `SPARE_MM`; beyond that infinite, in barred places −∞.

        Whether a place is barred is not asked where its room settles a square of this `corner`.
        """
        room = np.full(len(at), np.inf)
        for lines, keep in self.lines:
            i, _, far = lines.near(at, keep + SPARE_MM)
            np.minimum.at(room, i, far - keep)
        if len(self.stones):
            i, j = near_pairs(at, self.stones, float(self.keep.max()) + SPARE_MM)
            far = np.hypot(*(at[i] - self.stones[j]).T) - self.keep[j]
            np.minimum.at(room, i, far)
        room[room > SPARE_MM] = np.inf
        open_yet = np.flatnonzero(room + corner > SPARE_MM)
        for barred in self.barred:
            room[open_yet[inside(at[open_yet], barred)]] = -np.inf
        if self.within is not None:
            room[open_yet[~inside(at[open_yet], self.within)]] = -np.inf
        return room


def fills_are_maximal(made: Made) -> Problems:
    """No stone of a maximal fill's smallest size fits anywhere in its zone, or centred on its fold."""
    return capped(_fills(made))


def _fills(made: Made) -> Iterator[Problem]:
    halves = made.halves()
    zones = {zone.name: zone for zone in made.plan.ground.zones}
    for setting in made.plan.settings:
        size = made.sizes.get(setting.maximal_size or "")
        zone = zones.get(setting.zone)
        if setting.maximal_size is None or zone is None:
            continue
        if size is None or not size.is_round:
            yield error(
                "maximal-size-wrong",
                f"zone {zone.name} is said to be maximal in {setting.maximal_size!r}, which is no "
                "round size of the plan",
            )
            continue
        sides = [side for piece, side in halves if piece == setting.piece]
        drawn = made.plan.ground.piece(setting.piece).drawn
        side = str(drawn) if str(drawn) in sides else next(iter(sides), "")
        stones = halves.get((setting.piece, side), np.empty(0, np.intp))
        yield from _places(made, setting, zone, stones)


def _places(made: Made, setting: Setting, zone: Zone, stones: Indices) -> Iterator[Problem]:
    radius = made.sizes[setting.maximal_size or ""].width_mm / 2
    room = _room(made, setting, zone, stones, on_fold=False)
    low, high = _box(zone_area(zone))
    across = np.arange(low[0] + radius / 2, high[0] + radius, radius)
    up = np.arange(low[1] + radius / 2, high[1] + radius, radius)
    squares = np.stack(np.meshgrid(across, up), axis=-1).reshape(-1, 2)
    yield from _searched(room, squares, (radius / 2, radius / 2), setting, radius, line=False)
    fold = fold_of(made, setting.piece)
    if fold is not None:
        room = _room(made, setting, zone, stones, on_fold=True)
        for start, half in _fold_stretches(zone, radius):
            yield from _searched(room, start, half, setting, radius, line=True)


def _searched(
    room: _Room, at: Points, half: Half, setting: Setting, radius: float, *, line: bool
) -> Iterator[Problem]:
    looked = 0
    places: dict[tuple[float, float], tuple[float, float]] = {}
    while len(at):
        looked += len(at)
        if looked > EFFORT:
            yield Problem(
                "maximal-not-proved",
                Severity.WARNING,
                f"zone {setting.zone}: whether one more {setting.maximal_size} fits could not be "
                f"settled within {EFFORT} steps",
                "nothing needs doing: the fill is sound, only the proof that it is full was too long",
            )
            break
        corner = math.hypot(*half)
        slack = room.slack(at, corner)
        for x, y in at[np.isposinf(slack)].tolist():
            places.setdefault((x // (2 * radius), y // (2 * radius)), (x, y))
        unsettled = np.isfinite(slack) & (slack + corner > SPARE_MM)
        if corner < SETTLED_MM:
            break
        at, half = _parted(at[unsettled], half, line=line)
    kept: list[tuple[float, float]] = []
    for place in places.values():
        if all(math.dist(place, other) > 2 * radius for other in kept):
            kept.append(place)
            yield error(
                "fill-not-maximal",
                f"zone {setting.zone}: one more {setting.maximal_size} would fit here",
                at=place,
            )


def _parted(at: Points, half: Half, *, line: bool) -> tuple[Points, Half]:
    """Each square's four quarters, or each stretch of line's two halves."""
    across, up = half[0] / 2, half[1] / 2
    signs = [(-1, -1), (1, 1)] if line else [(-1, -1), (-1, 1), (1, -1), (1, 1)]
    steps = [np.array([x * across, y * up]) for x, y in signs]
    return np.concatenate([at + step for step in steps]), (across, up)


def _box(segments: Segments) -> tuple[Numbers, Numbers]:
    points = segments.reshape(-1, 2)
    return points.min(axis=0), points.max(axis=0)


def _fold_stretches(zone: Zone, radius: float) -> Iterator[tuple[Points, Half]]:
    """Each stretch of fold, as points at even steps, and the half step, as x and y."""
    for region in zone.regions:
        for edge in (edge for ring in region.rings for edge in ring):
            if edge.kind is not EdgeKind.FOLD:
                continue
            for x0, y0, x1, y1 in path_segments(edge.path):
                count = max(1, math.ceil(math.hypot(x1 - x0, y1 - y0) / radius))
                part = (np.arange(count)[:, None] + 0.5) / count
                half = ((x1 - x0) / count / 2, (y1 - y0) / count / 2)
                yield np.array([x0, y0]) + part * np.array([x1 - x0, y1 - y0]), half


def _room(made: Made, setting: Setting, zone: Zone, stones: Indices, *, on_fold: bool) -> _Room:
    laid, ground = made.laid, made.plan.ground
    size = made.sizes[setting.maximal_size or ""]
    radius, gap, edge = size.width_mm / 2, setting.fill_gap_mm, setting.edge_mm
    boundary = boundary_of(zone)
    free = setting.fill_edge_mm
    if free is None:  # it may be half the fill's gap, or `edge`: the larger never finds too much
        free = max(edge, gap / 2)
    close = boundary.close & ~(boundary.fold & on_fold)
    lines = [
        (boundary.segments[~boundary.close], radius + free),
        (boundary.segments[close], radius + max(edge, gap / 2)),
    ]
    barred = []
    for keep in ground.keep_clear:
        if keep.piece in {"", setting.piece}:
            segments = shape_segments(keep.shape)
            lines.append((segments, radius + keep.reach_mm))
            if isinstance(keep.shape, Area):
                barred.append(segments)
    for low in ground.lows:
        if low.piece in {"", setting.piece} and size.height_mm > low.height_mm:
            lines.append((area_segments(low.area), radius))
            barred.append(area_segments(low.area))
    shaped = [int(index) for index in stones if not laid.is_round[index]]
    for index in shaped:
        corners = made.outline(index)[0]
        sides = np.hstack([corners, np.roll(corners, -1, axis=0)])
        keep_mm = radius + (gap + float(laid.gap[index])) / 2 + SHAPED_TOL_MM
        lines.append((sides, keep_mm))
        barred.append(sides)
    rounds = stones[laid.is_round[stones]]
    return _Room(
        tuple((Lines(each, 1.0), keep) for each, keep in _merged(lines)),
        laid.at[rounds],
        radius + laid.radius[rounds] + (gap + laid.gap[rounds]) / 2,
        tuple(barred),
        None if on_fold else zone_area(zone),
    )


def _merged(lines: list[tuple[Segments, float]]) -> Iterator[tuple[Segments, float]]:
    """Lines that keep the same distance, together."""
    for keep in sorted({keep for _, keep in lines}):
        segments = joined(each for each, own in lines if own == keep)
        if len(segments):
            yield segments, keep
