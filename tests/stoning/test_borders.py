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
