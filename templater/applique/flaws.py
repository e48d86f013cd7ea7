"""What about an outline would spoil the cutting: said with its place, before cloth is spent.

Imports shapely inside functions.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence

from templater.applique.unfold import EdgeRing
from templater.applique.words import length_words
from templater.geometry.measure import path_length
from templater.geometry.moves import reversed_path
from templater.geometry.polygons import overlap, sound, to_polygon
from templater.geometry.smooth import end_direction, start_direction
from templater.geometry.walk import tape_along
from templater.model.curves import Area, Point
from templater.model.ground import EdgeKind
from templater.model.problems import Problem, Severity, Source

SHORT_EDGE_MM = 0.05
SPIKE_RAD = math.radians(8.0)
"""A tip sharper than this has no width for a stone or a thread (common practice, no source)."""
TOUCH_MM = 0.05
_LAP_SPARE_MM = 0.5
_LAP_STEP_MM = 4.0

_FLAT_MM = 0.02


def outline_flaws(
    where: str,
    rings: Sequence[EdgeRing],
    finished: Area,
    cut: Area,
    source: Source | None,
    display: str,
) -> Iterator[Problem]:
    """Short edges, spikes, holes that touch or close, and allowances wider than what they turn."""
    for ring in rings:
        yield from _short_edges(where, ring, source)
        yield from _spikes(where, ring, source)
    yield from _holes(where, finished, cut, source)
    yield from _too_wide(where, rings, finished, source, display)


def _short_edges(where: str, ring: EdgeRing, source: Source | None) -> Iterator[Problem]:
    for edge in ring:
        for segment in edge.path.segments:
            length = math.dist(segment.start, segment.end)
            if length < SHORT_EDGE_MM and path_length(edge.path) < 2.0 * SHORT_EDGE_MM:
                yield Problem(
                    "edge-without-length",
                    Severity.NOTE,
                    f"{where} has an edge of {length:.4f} mm, too short to be cut",
                    "nothing need be done: it is passed over; remove the doubled point to be rid "
                    "of this note",
                    source,
                    segment.start,
                )
                break


def _spikes(where: str, ring: EdgeRing, source: Source | None) -> Iterator[Problem]:
    segments = [
        segment
        for edge in ring
        for segment in edge.path.segments
        if math.dist(segment.start, segment.end) > SHORT_EDGE_MM
    ]
    for before, after in zip(segments, (*segments[1:], *segments[:1]), strict=True):
        (ax, ay), (bx, by) = end_direction(before), start_direction(after)
        turn = math.atan2(ax * by - ay * bx, ax * bx + ay * by)
        if math.pi - abs(turn) < SPIKE_RAD:
            yield Problem(
                "spike",
                Severity.WARNING,
                f"{where} has a spike of {math.degrees(math.pi - abs(turn)):.0f}° that can "
                "neither be cut clean nor turned under",
                "blunt the tip in the drawing, or leave it to the stones and cut the cloth short",
                source,
                after.start,
            )


def _holes(where: str, finished: Area, cut: Area, source: Source | None) -> Iterator[Problem]:
    import shapely

    touching = False
    outline = shapely.LinearRing(to_polygon(Area(finished.outline), _FLAT_MM).exterior.coords)
    for hole in finished.holes:
        ring = shapely.LinearRing(to_polygon(Area(hole), _FLAT_MM).exterior.coords)
        if shapely.distance(outline, ring) <= TOUCH_MM:
            touching = True
            x, y = shapely.shortest_line(outline, ring).coords[0]
            yield Problem(
                "hole-touches-outline",
                Severity.ERROR,
                f"{where} has a hole that touches its outline: the cloth would part there",
                "move the hole inwards, or join it to the outline as one line",
                source,
                (float(x), float(y)),
            )
    if touching:
        return
    left = [to_polygon(Area(reversed_path(hole)), _FLAT_MM) for hole in cut.holes]
    for hole in finished.holes:
        drawn = to_polygon(Area(reversed_path(hole)), _FLAT_MM)
        if not any(overlap(sound(drawn), sound(each)).area > 0.0 for each in left):
            yield Problem(
                "hole-closed",
                Severity.WARNING,
                f"{where}: the allowance leaves no room to cut in a hole, which is not cut out",
                "slash the hole and turn its edge by hand, or give the zone no allowance",
                source,
                hole.start,
            )
            return


def _too_wide(
    where: str, rings: Sequence[EdgeRing], finished: Area, source: Source | None, display: str
) -> Iterator[Problem]:
    """An allowance turned under must find room beneath the part."""
    import shapely

    turned = max(_turned(rings), default=(0.0, (0.0, 0.0)))
    if turned[0] <= 0.0:
        return
    polygon = to_polygon(finished, _FLAT_MM)
    radius = shapely.maximum_inscribed_circle(polygon, tolerance=0.1).length
    if turned[0] > radius:
        yield Problem(
            "allowance-too-wide",
            Severity.WARNING,
            f"{where} is {length_words(2.0 * radius, display)} at its widest: an allowance of "
            f"{length_words(turned[0], display)} cannot be turned under it",
            f"lower the allowance below {length_words(radius, display)}, or leave the edge raw (0)",
            source,
            turned[1],
        )


def _turned(rings: Iterable[EdgeRing]) -> Iterator[tuple[float, Point]]:
    for ring in rings:
        for edge in ring:
            if edge.kind in {EdgeKind.FREE, EdgeKind.EDGE}:
                yield edge.allowance_mm, edge.path.start


def in_pieces(where: str, areas: Sequence[Area], source: Source | None) -> Iterator[Problem]:
    """A part that came apart into several: only the largest is cut."""
    for area in areas[1:]:
        x, y = area.outline.start
        yield Problem(
            "part-falls-apart",
            Severity.ERROR,
            f"{where} falls apart into {len(areas)} pieces when it is cut",
            "widen the narrow place, or draw the pieces as outlines of their own",
            source,
            (round(x, 2), round(y, 2)),
        )


def underlap_trimmed(
    where: str, rings: Sequence[EdgeRing], cut: Area, source: Source | None, display: str
) -> Iterator[Problem]:
    """An underlap that the zone above is too narrow to cover is cut back; a long stretch is told."""
    import shapely

    polygon = to_polygon(cut, _FLAT_MM)
    for ring in rings:
        for edge in ring:
            if edge.kind is not EdgeKind.NEIGHBOUR or edge.allowance_mm <= _LAP_SPARE_MM:
                continue
            tape = tape_along(edge.path)
            out = edge.allowance_mm - _LAP_SPARE_MM
            count = max(4, round(tape.length_mm / _LAP_STEP_MM))
            missing = []
            for i in range(count):
                (x, y), (dx, dy) = tape.at(tape.length_mm * (i + 0.5) / count)
                if not shapely.contains_xy(polygon, x + out * dy, y - out * dx):
                    missing.append((x, y))
            lost_mm = tape.length_mm * len(missing) / count
            if lost_mm > max(4.0 * edge.allowance_mm, tape.length_mm / 4.0):
                yield Problem(
                    "underlap-trimmed",
                    Severity.WARNING,
                    f"{where}: the zone above is too narrow for an underlap of "
                    f"{length_words(edge.allowance_mm, display)} along "
                    f"{length_words(lost_mm, display)} of their shared edge; it was cut back there",
                    "lower the underlap of this zone, or fix that edge with web or stitches",
                    source,
                    missing[len(missing) // 2],
                )
