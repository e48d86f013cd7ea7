"""A part over both sides is its own mirror image, node for node."""

import itertools
import math

import pytest
from applique_grounds import ground, job, line, piece, region, zone

from templater.applique import make_parts
from templater.applique.even import evened
from templater.applique.unfold import rings_area, unfolded
from templater.geometry.moves import moved_area
from templater.geometry.offset import offset_region
from templater.geometry.polygons import to_polygon
from templater.model.curves import Cubic, Path
from templater.model.ground import Edge, EdgeKind, Fold, Make
from templater.model.parts import MarkKind

FOLD = Fold((150.0, 0.0), (150.0, 400.0))


def half_heart(allowance):
    outside = Path((Cubic((150, 120), (80, 20), (20, 240), (150, 260)),), closed=False)
    return (
        Edge(EdgeKind.FOLD, line((150, 260), (150, 120))),
        Edge(EdgeKind.FREE, outside, "", allowance),
    )


def clockwise(ring):
    from dataclasses import replace

    from templater.geometry.moves import reversed_path

    return tuple(replace(edge, path=reversed_path(edge.path)) for edge in reversed(ring))


def centre_part(allowance=5.0):
    ring = clockwise(half_heart(allowance))
    made = piece(Make.FOLD, FOLD, fold_half())
    parts, problems = make_parts(ground(made, zone("heart", region(ring))), job())
    assert problems == ()
    return next(part for part in parts if part.id == "applique-heart-centre"), ring


def fold_half():
    corners = [(0, 0), (150, 0), (150, 400), (0, 400), (0, 0)]
    kinds = (EdgeKind.FREE, EdgeKind.FOLD, EdgeKind.FREE, EdgeKind.FREE)
    return tuple(
        Edge(kind, line(a, b), allowance_mm=0.0 if kind is EdgeKind.FOLD else 10.0)
        for kind, (a, b) in zip(kinds, itertools.pairwise(corners), strict=True)
    )


def nodes(area):
    return sorted(
        (round(s.start[0], 6), round(s.start[1], 6)) for s in area.outline.segments
    )  # to a thousandth of a micrometre


@pytest.mark.parametrize("allowance", [0.0, 5.0, 12.0])
def test_both_halves_are_mirror_images_to_the_micrometre(allowance):
    part, _ = centre_part(allowance)
    for area in (part.cut, part.finished):
        assert nodes(area) == nodes(moved_area(area, FOLD.mirror))


def test_nothing_is_lost_by_making_it_even():
    import shapely

    part, ring = centre_part()
    (plain,) = offset_region(unfolded((ring,), FOLD))
    apart = shapely.hausdorff_distance(to_polygon(part.cut, 0.001), to_polygon(plain, 0.001), 0.05)
    assert apart < 0.03


def test_the_kept_half_is_the_drawn_one():
    _, ring = centre_part()
    whole = rings_area(unfolded((ring,), FOLD))
    again = evened(whole, FOLD, Path(tuple(s for e in ring for s in e.path.segments), closed=True))
    drawn = ring[0].path.segments[0] if ring[0].kind is EdgeKind.FREE else ring[1].path.segments[0]
    assert any(math.dist(segment.start, drawn.start) < 1e-9 for segment in again.outline.segments)


def test_marks_are_on_both_halves():
    part, _ = centre_part()
    for kind in (MarkKind.CLIP, MarkKind.NOTCH, MarkKind.MATCH):
        places = sorted(mark.at for mark in part.marks if mark.kind is kind)
        mirrored = sorted(FOLD.mirror.apply(at) for at in places)
        for a, b in zip(places, mirrored, strict=True):
            assert math.dist(a, b) < 0.5
