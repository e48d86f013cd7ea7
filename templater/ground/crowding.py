"""Pieces that lie over each other: what is drawn there belongs to neither for certain."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

from templater.geometry.polygons import overlap, polygons_in, to_polygon
from templater.model.ground import Piece, Zone
from templater.model.problems import Problem, Problems, Severity

_FLAT_MM = 0.02
_SLIVER_MM = 1.0
"""Pieces traced edge to edge overlap by a pencil line's width: that is nobody's mistake."""
_SAME_SHARE = 0.999


def overlapping_pieces(pieces: Sequence[Piece], zones: Sequence[Zone]) -> Problems:
    """Each two pieces that share more than a sliver, told at a place in what they share: an error
    where a zone lies there too, which could belong to either, else a warning.

    Imports shapely when there are two pieces to compare.
    """
    drawn = [(piece, to_polygon(piece.area, _FLAT_MM)) for piece in pieces if piece.area]
    regions = [to_polygon(region.area, _FLAT_MM) for zone in zones for region in zone.regions]
    problems = []
    for (a, one), (b, other) in combinations(drawn, 2):
        if not one.intersects(other):
            continue
        shared = overlap(one, other)
        core = shared.buffer(-_SLIVER_MM / 2.0)
        if core.is_empty:
            continue
        doubtful = any(core.intersects(region) for region in regions)
        largest = polygons_in(shared)[0]
        at = largest.representative_point()
        twice = shared.area >= _SAME_SHARE * max(one.area, other.area)
        problems.append(
            Problem(
                "pieces-overlap",
                Severity.ERROR if doubtful else Severity.WARNING,
                f'the pieces "{a.name}" and "{b.name}" are the same outline, drawn twice'
                if twice
                else f'the pieces "{a.name}" and "{b.name}" lie over each other on '
                f"{shared.area / 100.0:.1f} cm²: what is drawn there could belong to either",
                'Delete one of the two, or give its layer another role than "piece".'
                if twice
                else "Move the pieces apart in the drawing, with everything drawn on them.",
                b.source,
                (round(at.x, 4), round(at.y, 4)),
            )
        )
    return tuple(problems)
