"""Every point of a cut line lies its edge's allowance away from the exact drawn curve."""

import math

import numpy as np
from hypothesis import assume, event, example, given, settings
from hypothesis import strategies as st
from offset_truth import distance_and_place, lies_outside

from templater.geometry.flatten import flatten
from templater.geometry.offset import offset_bands
from templater.geometry.polygons import to_polygon
from templater.geometry.smooth import end_direction, start_direction
from templater.model.curves import Arc, Area, Cubic, Line, Path

BUDGET_MM = 0.02


@st.composite
def outlines(draw):
    """Simple closed outlines of lines, arcs and Béziers, about 60 to 250 mm across."""
    count = draw(st.integers(3, 9))
    kind = draw(st.sampled_from(["polygon", "smooth", "arcs", "mixed"]))
    numbers = st.integers(40, 120)
    radii = [draw(numbers) for _ in range(count)]
    spread = [draw(st.integers(6, 14)) for _ in range(count)]
    turns = np.cumsum(spread) / sum(spread) * math.tau
    points = [
        (r * math.cos(a), r * math.sin(a)) for r, a in zip(radii, turns.tolist(), strict=True)
    ]
    segments = []
    for i, (start, end) in enumerate(zip(points, points[1:] + points[:1], strict=True)):
        before, after = points[i - 1], points[(i + 2) % count]
        which = kind if kind != "mixed" else draw(st.sampled_from(["polygon", "smooth", "arcs"]))
        if which == "polygon":
            segments.append(Line(start, end))
        elif which == "arcs":
            segments.append(Arc(start, end, draw(st.integers(-30, 40)) / 100 or 0.1))
        else:
            lead = ((end[0] - before[0]) / 6, (end[1] - before[1]) / 6)
            trail = ((after[0] - start[0]) / 6, (after[1] - start[1]) / 6)
            segments.append(
                Cubic(
                    start,
                    (start[0] + lead[0], start[1] + lead[1]),
                    (end[0] - trail[0], end[1] - trail[1]),
                    end,
                )
            )
    widths = [draw(st.sampled_from([0.0, 3.0, 5.0, 12.0])) for _ in segments]
    if draw(st.booleans()):
        widths = [widths[0]] * len(widths)
    path = Path(tuple(segments), closed=True)
    polygon = to_polygon(Area(path), 0.01)
    assume(polygon.is_valid and polygon.exterior.is_ccw)
    return path, widths


def sampled(path):
    """Points of a path itself, some one to three millimetres apart, and the middles of its lines."""
    middles = [
        ((s.start[0] + s.end[0]) / 2, (s.start[1] + s.end[1]) / 2)
        for s in path.segments
        if isinstance(s, Line)
    ]
    return np.asarray([*flatten(path, 0.005), *middles])


def in_unequal_corners(points, path, widths):
    """Where a corner of two widths is: a raw edge there runs on below the other's allowance."""
    inside = np.zeros(len(points), dtype=bool)
    for i, segment in enumerate(path.segments):
        if widths[i - 1] == widths[i]:
            continue
        (ax, ay), (bx, by) = end_direction(path.segments[i - 1]), start_direction(segment)
        sine = ax * by - ay * bx
        if ax * bx + ay * by > 0.0:
            sine = 1.0
        reach = 2.5 * max(widths[i - 1], widths[i]) / max(abs(sine), 0.25)
        inside |= np.hypot(*(points - np.asarray(segment.start)).T) < reach
    return inside


TIP = (-12.360679774997894, 38.042260651806146)
FOOT = (-12.360679774997902, -38.04226065180614)
NOSE = (40.0, -9.797174393178826e-15)
BULGING = Path((Arc(TIP, FOOT, -0.26), Arc(FOOT, NOSE, 0.01), Arc(NOSE, TIP, -0.02)), closed=True)
"""Of the first arc's allowance a patch was left lying by itself, its surroundings folded away."""


@settings(max_examples=1000, deadline=None)
@given(outlines(), st.sampled_from(["mitre", "square", "bevel", "round", "folded"]))
@example((BULGING, [12.0, 3.0, 5.0]), "folded")
def test_a_cut_line_keeps_its_allowances(outline, corner):
    path, widths = outline
    ring = [
        (Path((segment,), closed=False), width)
        for segment, width in zip(path.segments, widths, strict=True)
    ]
    (area,) = offset_bands([ring], corner, 4.0, BUDGET_MM)
    drawn = {segment.start for segment in path.segments}
    for ring_path in (area.outline, *area.holes):
        segments = ring_path.segments
        for before, after in zip(segments, (*segments[1:], segments[0]), strict=True):
            (ax, ay), (bx, by) = end_direction(before), start_direction(after)
            assert before.end == after.start
            if before.end not in drawn:  # a needle may have been drawn
                assert ax * bx + ay * by > -0.9998, "the cut line runs back on itself"
    points = np.concatenate([sampled(p) for p in (area.outline, *area.holes)])
    apart = [distance_and_place(points, segment) for segment in path.segments]
    # Seen through the cloth, from behind, an edge has no allowance.
    beyond = np.stack(
        [
            np.where(lies_outside(points, s, t) | (d <= BUDGET_MM), d - w, math.inf)
            for s, (d, t), w in zip(path.segments, apart, widths, strict=True)
        ]
    )
    edge = beyond.argmin(axis=0)
    least = beyond[edge, np.arange(len(points))]
    foot = np.stack([t for _, t in apart])[edge, np.arange(len(points))]
    # A foot at an edge's very end: the point lies beyond a corner, where its shape is chosen.
    inner = (foot > 1e-4) & (foot < 1 - 1e-4)
    inner &= ~in_unequal_corners(points, path, widths)
    if corner == "folded":  # its ends slant back into the allowance itself
        nodes = np.asarray([segment.start for segment in path.segments])
        near = np.hypot(*(points[:, None] - nodes[None]).transpose(2, 0, 1)).min(axis=1)
        inner &= near > 4.2 * max(widths)
    worst = np.abs(least[inner]).max(initial=0.0)
    event(f"worst {math.ceil(worst * 1000) / 1000:.3f} mm")
    assert worst <= BUDGET_MM


@settings(max_examples=60, deadline=None)
@given(outlines())
def test_no_cloth_of_any_allowance_is_missing(outline):
    """Just inside every edge's allowance the part is there."""
    import shapely

    path, widths = outline
    ring = [
        (Path((segment,), closed=False), width)
        for segment, width in zip(path.segments, widths, strict=True)
    ]
    (area,) = offset_bands([ring], "mitre", 4.0, BUDGET_MM)
    part = to_polygon(area, 0.0005)
    for segment, width in zip(path.segments, widths, strict=True):
        points = np.asarray(flatten(Path((segment,), closed=False), 0.01))
        along = np.diff(points, axis=0)
        middles = (points[1:] + points[:-1]) / 2
        right = np.stack([along[:, 1], -along[:, 0]], axis=1) / np.hypot(*along.T)[:, None]
        probes = middles + max(width - 0.03, -0.03) * right
        # A narrower cut line runs on through the end of a wider allowance beside it.
        probes = probes[~in_unequal_corners(probes, path, widths)]
        assert shapely.contains_xy(part, probes[:, 0], probes[:, 1]).all()
