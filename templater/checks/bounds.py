"""Stones lie inside their zones and off what is to be kept clear or low. Imported late: numpy."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from templater.checks.findings import EDITED, capped, error
from templater.checks.flat import Segments, area_segments, joined, path_segments
from templater.checks.made import SHAPED_TOL_MM, TOL_MM, Made
from templater.checks.nearby import Flags, Indices, Lines, Numbers, inside
from templater.checks.outlines import convex_distance
from templater.model.curves import Area, Path
from templater.model.ground import EdgeKind, Fold, Zone
from templater.model.problems import Problem, Problems

_CLOSE = {EdgeKind.NEIGHBOUR, EdgeKind.FOLD, EdgeKind.DART}
"""Beyond these edges lie other stones: another zone's, the other side's, the other leg's."""


@dataclass(frozen=True)
class Boundary:
    """A zone's edges as segments; `close` are those where a stone keeps at least half its gap."""

    segments: Segments
    close: Flags
    fold: Flags


def boundary_of(zone: Zone) -> Boundary:
    """Every edge of every ring of every region of a zone."""
    parts, close, fold = [], [], []
    for region in zone.regions:
        for ring in region.rings:
            for edge in ring:
                segments = path_segments(edge.path)
                parts.append(segments)
                close += [edge.kind in _CLOSE] * len(segments)
                fold += [edge.kind is EdgeKind.FOLD] * len(segments)
    return Boundary(joined(parts), np.array(close, np.bool_), np.array(fold, np.bool_))


def zone_area(zone: Zone) -> Segments:
    return joined(area_segments(region.area) for region in zone.regions)


def fold_of(made: Made, piece: str) -> Fold | None:
    """The line on which stones of a piece made `fold` may be centred."""
    for surface in made.plan.ground.surfaces:
        if surface.piece == piece and surface.joined_at_fold:
            return made.plan.ground.piece(piece).fold
    return None


def from_fold(at: Numbers, fold: Fold) -> Numbers:
    """Each point's distance from the fold line, signed."""
    (x0, y0), (x1, y1) = fold.start, fold.end
    length = float(np.hypot(x1 - x0, y1 - y0))
    found: Numbers = ((x1 - x0) * (at[:, 1] - y0) - (y1 - y0) * (at[:, 0] - x0)) / length
    return found


def stones_lie_inside(made: Made) -> Problems:
    """None outside its zone, each as far from its zone's boundary as its edge says."""
    return capped(_zones(made))


def _zones(made: Made) -> Iterator[Problem]:
    laid = made.laid
    names = np.array([row.zone for row in laid.rows], dtype=object)
    edges = {setting.zone: setting.edge_mm for setting in made.plan.settings}
    zones = {zone.name for zone in made.plan.ground.zones}
    rows = {row.name: row for row in made.plan.ground.rows}
    for name in sorted(set(names.tolist()) - zones - set(rows)):
        yield error("stone-zone-unknown", f"stones.csv names a zone {name!r} that is not there")
    for zone in made.plan.ground.zones:
        members = np.flatnonzero(laid.known & (names == zone.name))
        if len(members):
            yield from _in_zone(made, zone, members, edges.get(zone.name, 0.0))
    for piece in made.plan.ground.pieces:
        on_rows = [name for name, row in rows.items() if row.piece == piece.name and piece.area]
        members = np.flatnonzero(laid.known & np.isin(names, on_rows))
        if piece.area is None or not len(members):
            continue
        out = ~inside(laid.at[members], area_segments(piece.area))
        for index in members[out]:
            yield _outside(made, int(index), f"its piece {piece.name}")


def _in_zone(made: Made, zone: Zone, members: Indices, edge_mm: float) -> Iterator[Problem]:
    laid = made.laid
    out = ~inside(laid.at[members], zone_area(zone))
    fold = fold_of(made, zone.piece)
    centred = np.zeros(len(members), np.bool_)
    if fold is not None:
        centred = np.abs(from_fold(laid.at[members], fold)) <= 2 * TOL_MM
    for index in members[out & ~centred]:
        yield _outside(made, int(index), f"zone {zone.name}")
    kept = ~out | centred
    members, centred = members[kept], centred[kept]
    boundary = boundary_of(zone)
    half_gap = laid.gap[members] / 2
    for chosen, needed, asked, of_fold in (
        (~boundary.close, np.full(len(members), edge_mm), "its edge", False),
        (
            boundary.close & ~boundary.fold,
            np.maximum(edge_mm, half_gap),
            "another zone or a dart",
            False,
        ),
        # Joined cloth ends at no fold: what counts there is the mirror image, half a gap beyond it.
        (
            boundary.fold,
            half_gap if fold is not None else np.maximum(edge_mm, half_gap),
            "the fold it is not centred on",
            True,
        ),
    ):
        asked_of = np.flatnonzero(~centred) if of_fold else np.arange(len(members))
        short, gap = _short(made, members[asked_of], boundary.segments[chosen], needed[asked_of])
        for row, far in zip(short.tolist(), gap.tolist(), strict=True):
            index = int(members[asked_of[row]])
            yield error(
                "stone-too-near-boundary",
                f"{laid.name(index)} is {far:.3f} mm from the boundary of zone {zone.name}, "
                f"along {asked}; {needed[asked_of[row]]:.3f} mm are asked for",
                EDITED,
                at=(laid.rows[index].x_mm, laid.rows[index].y_mm),
            )


def _outside(made: Made, index: int, what: str) -> Problem:
    row = made.laid.rows[index]
    return error(
        "stone-outside",
        f"{made.laid.name(index)} lies outside {what}",
        EDITED,
        at=(row.x_mm, row.y_mm),
    )


def _short(
    made: Made, members: Indices, segments: Segments, needed: Numbers
) -> tuple[Indices, Numbers]:
    """Which stones come nearer to the segments than needed, and how near (0: they cross)."""
    none = np.empty(0, np.intp), np.empty(0)
    if not len(members) or not len(segments):
        return none
    nearest = distances(made, members, segments, needed)
    allowed = np.where(made.laid.is_round[members], TOL_MM, SHAPED_TOL_MM)
    short = np.flatnonzero(nearest < needed - allowed)
    return short, np.maximum(nearest[short], 0.0)


def distances(made: Made, members: Indices, segments: Segments, within: Numbers | float) -> Numbers:
    """How far the edge of each stone is from the segments; infinite where farther than `within`."""
    laid = made.laid
    radius = laid.radius[members]
    needed = np.broadcast_to(np.asarray(within, dtype=np.float64), (len(members),))
    lines = Lines(segments)
    i, j, far = lines.near(laid.at[members], float((radius + needed).max()))
    far = far - radius[i]
    is_round = laid.is_round[members]
    for pair in np.flatnonzero(~is_round[i] & (far < needed[i])):
        segment = lines.segments[j[pair]].reshape(1, 2, 2)
        far[pair] = convex_distance(made.outline(int(members[i[pair]])), segment)[0]
    nearest: Numbers = np.full(len(members), np.inf)
    np.minimum.at(nearest, i, far)
    return nearest


def shape_segments(shape: Area | Path) -> Segments:
    return area_segments(shape) if isinstance(shape, Area) else path_segments(shape)


def stones_keep_clear(made: Made) -> Problems:
    """None nearer to a clear area, a crease or an unsewn seam than its reach."""
    return capped(_clear(made))


def _clear(made: Made) -> Iterator[Problem]:
    laid = made.laid
    for keep in made.plan.ground.keep_clear:
        members = stones_on_piece(made, keep.piece)
        if not len(members):
            continue
        segments = shape_segments(keep.shape)
        what = f"{keep.role} on layer {keep.source.layer!r}"
        on = np.zeros(len(members), np.bool_)
        if isinstance(keep.shape, Area):
            on = inside(laid.at[members], segments)
        needed = np.full(len(members), keep.reach_mm)
        short, far = _short(made, members, segments, needed)
        distance = dict(zip(short.tolist(), far.tolist(), strict=True))
        for row in sorted(set(short.tolist()) | set(np.flatnonzero(on).tolist())):
            index = int(members[row])
            near = "on it" if on[row] else f"{distance[row]:.3f} mm away"
            yield error(
                "stone-not-clear",
                f"{laid.name(index)} must keep {keep.reach_mm:.3f} mm from the {what}, and lies {near}",
                EDITED,
                at=(laid.rows[index].x_mm, laid.rows[index].y_mm),
            )


def stones_are_low_enough(made: Made) -> Problems:
    """None that touches a `low` area is higher than it allows."""
    return capped(_low(made))


def _low(made: Made) -> Iterator[Problem]:
    laid = made.laid
    for low in made.plan.ground.lows:
        members = stones_on_piece(made, low.piece)
        members = members[laid.height[members] > low.height_mm + 1e-9]
        if not len(members):
            continue
        segments = area_segments(low.area)
        short, _ = _short(made, members, segments, np.zeros(len(members)))
        on = set(short.tolist()) | set(np.flatnonzero(inside(laid.at[members], segments)).tolist())
        for row in sorted(on):
            index = int(members[row])
            yield error(
                "stone-too-high",
                f"{laid.name(index)} is {laid.height[index]:.2f} mm high on the low area of layer "
                f"{low.source.layer!r}, which allows {low.height_mm:.2f} mm",
                EDITED,
                at=(laid.rows[index].x_mm, laid.rows[index].y_mm),
            )


def stones_on_piece(made: Made, piece: str) -> Indices:
    """The stones of a piece; ground that names no piece is everyone's."""
    laid = made.laid
    return np.flatnonzero(
        laid.known & np.array([not piece or row.piece == piece for row in laid.rows], np.bool_)
    )
