"""Where two stoned zones meet: each its own row, half a gap from the line, in step where they can be."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import pytest
from stoning_grounds import from_line, ground, polygon, zone

from templater.job.schema import Job
from templater.model.ground import Edge, EdgeKind, Region
from templater.stoning import set_all

D, GAP = 3.9, 0.3


def beside(outline, name, other, shared):
    """A zone whose segment number `shared` runs along another zone."""
    kinds = [(EdgeKind.NEIGHBOUR if k == shared else EdgeKind.FREE, True) for k in range(4)]
    made = zone(outline, name=name, kinds=kinds)
    (region,) = made.regions
    ring = tuple(
        Edge(EdgeKind.NEIGHBOUR, edge.path, other) if edge.kind is EdgeKind.NEIGHBOUR else edge
        for edge in region.rings[0]
    )
    return replace(made, regions=(Region(region.area, (ring,)),))


def rows(left, right):
    stoning = {"outline": {"size": "ss16", "gap": GAP}, "fill": {"style": "none"}}
    job = Job.model_validate({"drawing": "x.svg", "stoning": {"left": stoning, "right": stoning}})
    (one, other), _ = set_all(ground(left, right), job)
    return [s.at for s in one.stones], [s.at for s in other.stones]


def along(stones, a, b):
    """The stones of a row along a line, from its beginning."""
    near = [at for at in stones if from_line(at, a, b) <= D / 2.0 + GAP / 2.0 + 0.01]
    return sorted(near, key=lambda at: math.dist(at, a))


@pytest.mark.parametrize("height", [40.0, 57.3, 91.0])
def test_rows_of_like_zones_face_each_other_stone_for_stone(height):
    left = polygon([(0.0, 0.0), (60.0, 0.0), (60.0, height), (0.0, height)])
    right = polygon([(60.0, 0.0), (110.0, 0.0), (110.0, height), (60.0, height)])
    one, other = rows(beside(left, "left", "right", 1), beside(right, "right", "left", 3))
    ours, theirs = (along(r, (60.0, 0.0), (60.0, height)) for r in (one, other))
    assert len(ours) == len(theirs) == math.floor((height - D - GAP) / (D + GAP)) + 1
    for (x0, y0), (x1, y1) in zip(ours, theirs, strict=True):
        assert y0 == pytest.approx(y1, abs=1e-3)
        assert x1 - x0 == pytest.approx(D + GAP, abs=2e-3)


def test_rows_of_unlike_zones_keep_one_pitch_to_a_part_in_n():
    left = polygon([(0.0, 0.0), (60.0, 0.0), (60.0, 80.0), (0.0, 80.0)])
    slanted = polygon([(60.0, 0.0), (130.0, -40.0), (110.0, 140.0), (60.0, 80.0)])
    one, other = rows(beside(left, "left", "right", 1), beside(slanted, "right", "left", 3))
    ours, theirs = (along(r, (60.0, 0.0), (60.0, 80.0)) for r in (one, other))
    pitches = [math.dist(a, b) for row in (ours, theirs) for a, b in itertools.pairwise(row)]
    assert abs(len(ours) - len(theirs)) <= 1
    assert min(pitches) >= D + GAP - 1e-6
    assert max(pitches) <= (D + GAP) * (1.0 + 1.0 / (min(len(ours), len(theirs)) - 2))


def parted(points, shared, other):
    """A zone of a ring of points, the stretches of it numbered in `shared` along another zone."""
    outline = polygon(points)
    kinds = [
        (EdgeKind.NEIGHBOUR if k in shared else EdgeKind.FREE, True) for k in range(len(points))
    ]
    name = "left" if other == "right" else "right"
    made = zone(outline, name=name, kinds=kinds)
    (region,) = made.regions
    ring = tuple(
        Edge(EdgeKind.NEIGHBOUR, edge.path, other) if edge.kind is EdgeKind.NEIGHBOUR else edge
        for edge in region.rings[0]
    )
    return replace(made, regions=(Region(region.area, (ring,)),))


@pytest.mark.parametrize(
    ("low", "high"), [(30.0, 95.0), (41.3, 87.9), (22.0, 60.5)], ids=lambda mm: f"{mm:g}"
)
@pytest.mark.parametrize("lean", [0.0, 8.0, -8.0], ids=["square", "obtuse", "acute"])
def test_where_the_line_ends_amid_an_edge_the_rows_face_each_other_all_the_same(low, high, lean):
    """The right zone is shorter than the left one's edge: its corners lie in the middle of that."""
    left = parted(
        [(0.0, 0.0), (60.0, 0.0), (60.0, low), (60.0, high), (60.0, 120.0), (0.0, 120.0)],
        {2},
        "right",
    )
    right = parted(
        [(60.0, low), (110.0, low - lean), (110.0, high + lean), (60.0, high)], {3}, "left"
    )
    one, other = rows(left, right)
    theirs = along(other, (60.0, low), (60.0, high))
    ours = [at for at in along(one, (60.0, 0.0), (60.0, 120.0)) if theirs[0][1] - 0.01 <= at[1]]
    ours = [at for at in ours if at[1] <= theirs[-1][1] + 0.01]
    assert len(ours) == len(theirs) >= 8
    for (x0, y0), (x1, y1) in zip(ours, theirs, strict=True):
        assert y0 == pytest.approx(y1, abs=1e-3)
        assert x1 - x0 == pytest.approx(D + GAP, abs=2e-3)
    every = along(one, (60.0, 0.0), (60.0, 120.0))
    pitches = [math.dist(a, b) for a, b in itertools.pairwise(every)]
    assert min(pitches) >= D + GAP - 1e-6
    assert max(pitches) <= 1.2 * (D + GAP)


def test_a_row_does_not_open_for_the_sake_of_facing():
    """Too near its own corner for an even pitch, the facing stone is left out."""
    left = parted(
        [(0.0, 0.0), (60.0, 0.0), (60.0, 7.0), (60.0, 90.0), (60.0, 120.0), (0.0, 120.0)],
        {2},
        "right",
    )
    right = parted([(60.0, 7.0), (110.0, 7.0), (110.0, 90.0), (60.0, 90.0)], {3}, "left")
    one, other = rows(left, right)
    every = along(one, (60.0, 0.0), (60.0, 120.0))
    pitches = [math.dist(a, b) for a, b in itertools.pairwise(every)]
    assert max(pitches) <= 1.2 * (D + GAP)
    last = along(other, (60.0, 7.0), (60.0, 90.0))[-1]
    assert min(abs(last[1] - y) for _, y in every) <= 1e-3


def test_three_zones_at_one_edge_face_it_each_with_both_ends():
    low = parted([(60.0, 0.0), (110.0, 0.0), (110.0, 50.0), (60.0, 50.0)], {3}, "left")
    high = parted([(60.0, 50.0), (110.0, 50.0), (110.0, 120.0), (60.0, 120.0)], {3}, "left")
    high = replace(high, name="high")
    left = parted(
        [(0.0, 0.0), (60.0, 0.0), (60.0, 50.0), (60.0, 120.0), (0.0, 120.0)], {1}, "right"
    )
    (region,) = left.regions
    ring = list(region.rings[0])
    ring[2] = Edge(EdgeKind.NEIGHBOUR, ring[2].path, "high")
    left = replace(left, regions=(Region(region.area, (tuple(ring),)),))
    stoning = {"outline": {"size": "ss16", "gap": GAP}, "fill": {"style": "none"}}
    named = dict.fromkeys(("left", "right", "high"), stoning)
    job = Job.model_validate({"drawing": "x.svg", "stoning": named})
    (one, *others), _ = set_all(ground(left, low, high), job)
    ours = along([s.at for s in one.stones], (60.0, 0.0), (60.0, 120.0))
    theirs = sorted(
        at
        for other in others
        for at in along([s.at for s in other.stones], (60.0, 0.0), (60.0, 120.0))
    )
    assert [y for _, y in ours] == pytest.approx([y for _, y in theirs], abs=1e-3)
