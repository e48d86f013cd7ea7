"""Loose lines joined: the right loops within the tolerance, one message for a gap above it."""

import itertools
import math
import random
import time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from templater.geometry.flatten import arc_centre, flatten
from templater.geometry.joining import JOIN_TOLERANCE_MM, join
from templater.geometry.joining_ends import near_groups
from templater.geometry.measure import path_length, signed_path_area
from templater.geometry.moves import reversed_path
from templater.model.curves import Arc, Cubic, Line, Path
from templater.model.problems import Severity, Source

SOURCE = Source("made.dxf", "zone frond", "LINE #1")
TOLERANCE = JOIN_TOLERANCE_MM


def traced(*segments):
    return [(Path((segment,), closed=False), SOURCE) for segment in segments]


def ring(count, radius=60.0, centre=(0.0, 0.0)):
    return [
        (
            centre[0] + radius * math.cos(math.tau * k / count),
            centre[1] + radius * math.sin(math.tau * k / count),
        )
        for k in range(count)
    ]


def loose(points, rng, gap_mm):
    """Segments of a ring, each end off by up to half the gap, shuffled and turned at random."""
    found = []
    for a, b in zip(points, [*points[1:], points[0]], strict=True):
        ends = []
        for x, y in (a, b):
            angle, off = rng.random() * math.tau, rng.random() * gap_mm / 2.0
            ends.append((x + off * math.cos(angle), y + off * math.sin(angle)))
        found.append(Line(*(ends if rng.random() < 0.5 else reversed(ends))))
    rng.shuffle(found)
    return found


def meets_exactly(path):
    return all(a.end == b.start for a, b in itertools.pairwise(path.segments)) and (
        not path.closed or path.segments[-1].end == path.segments[0].start
    )


@pytest.mark.parametrize("seed", range(5))
def test_three_hundred_loose_segments_become_their_three_loops(seed):
    rng = random.Random(seed)
    rings = [ring(100, 60.0), ring(150, 80.0, (200.0, 0.0)), ring(50, 20.0)]
    segments = [s for points in rings for s in loose(points, rng, TOLERANCE)]
    rng.shuffle(segments)
    joined = join(traced(*segments), TOLERANCE)
    assert sorted(len(path.segments) for path, _ in joined.closed) == [50, 100, 150]
    assert joined.open == ()
    assert all(path.closed and meets_exactly(path) for path, _ in joined.closed)
    expected = sorted(abs(area_of(points)) for points in rings)
    found = sorted(abs(signed_path_area(path)) for path, _ in joined.closed)
    for want, got, points in zip(expected, found, sorted(rings, key=len), strict=True):
        assert got == pytest.approx(want, abs=TOLERANCE * len(points) * math.dist(*points[:2]))
    assert [p.severity for p in joined.problems] == [Severity.NOTE]


def area_of(points):
    return (
        sum(
            a[0] * b[1] - a[1] * b[0] for a, b in zip(points, [*points[1:], points[0]], strict=True)
        )
        / 2
    )


def test_one_gap_above_the_tolerance_is_one_message_with_its_place():
    rng = random.Random(7)
    points = ring(300)
    segments = [Line(a, b) for a, b in zip(points, [*points[1:], points[0]], strict=True)]
    x, y = segments[120].end
    segments[120] = Line(segments[120].start, (x + 1.2 * TOLERANCE, y))
    rng.shuffle(segments)
    joined = join(traced(*segments), TOLERANCE)
    assert joined.closed == ()
    assert len(joined.open) == 1
    [warning] = [p for p in joined.problems if p.severity is Severity.WARNING]
    assert warning.code == "gap-in-line"
    assert warning.at_mm is not None
    assert math.dist(warning.at_mm, (x, y)) <= 1.3 * TOLERANCE
    assert f"{x:.1f}"[:-1] in warning.message
    assert warning.mend


@pytest.mark.parametrize("gap", [0.0, 1e-7, 1e-4, 0.001, 0.02, 0.0499])
def test_a_gap_up_to_the_tolerance_is_closed_exactly(gap):
    joined = join(traced(Line((0, 0), (10, 0)), Arc((10 + gap, 0), (0, 0), 1.0)), TOLERANCE)
    [(path, _)] = joined.closed
    assert meets_exactly(path)
    assert isinstance(path.segments[1], Arc)
    assert path.segments[1].bulge == 1.0


def test_where_three_lines_meet_nothing_is_guessed():
    legs = [Line((0, 0), (10, 0)), Line((0, 0), (0, 10)), Line((0, 0), (-10, -10))]
    joined = join(traced(*legs), TOLERANCE)
    assert joined.closed == ()
    assert len(joined.open) == 3
    [problem] = joined.problems
    assert (problem.code, problem.at_mm) == ("lines-branch", (0, 0))
    assert "3 line ends" in problem.message


def test_a_third_line_ending_near_a_joint_is_reported():
    legs = [Line((0, 0), (10, 0)), Line((10, 0), (10, 10)), Line((10.03, 0), (20, 0))]
    joined = join(traced(*legs), TOLERANCE)
    assert [p.code for p in joined.problems if p.severity is Severity.WARNING] == ["lines-branch"]
    assert len(joined.open) == 2


def test_a_chain_of_segments_shorter_than_the_tolerance_is_kept():
    """A finely traced curve must not collapse into one point."""
    points = ring(4000, 20.0)  # steps of 0.031 mm, below the tolerance
    assert math.dist(*points[:2]) < TOLERANCE
    segments = [Line(a, b) for a, b in zip(points, [*points[1:], points[0]], strict=True)]
    random.Random(3).shuffle(segments)
    joined = join(traced(*segments), TOLERANCE)
    [(path, _)] = joined.closed
    assert len(path.segments) == 4000
    assert abs(signed_path_area(path)) == pytest.approx(math.pi * 400, rel=1e-5)


def test_a_speck_in_a_joint_is_dropped_and_counted():
    parts = [Line((0, 0), (10, 0)), Line((10, 0), (10.02, 0.0)), Line((10.01, 0.01), (0, 5))]
    joined = join(traced(*parts, Line((0, 5), (0, 0))), TOLERANCE)
    [(path, _)] = joined.closed
    assert meets_exactly(path)


def test_lines_drawn_twice_are_dropped_and_counted():
    square = [(0, 0), (10, 0), (10, 10), (0, 10)]
    sides = [Line(a, b) for a, b in zip(square, [*square[1:], square[0]], strict=True)]
    twice = [*sides, *(Line(s.end, s.start) for s in sides[:2])]
    joined = join(traced(*twice), TOLERANCE)
    [(path, _)] = joined.closed
    assert len(path.segments) == 4
    [note] = [p for p in joined.problems if p.code == "repeats-dropped"]
    assert "2 lines" in note.message


def test_two_arcs_over_one_chord_are_no_repeats():
    lens = [Arc((0, 0), (10, 0), 0.3), Arc((0, 0), (10, 0), -0.3)]
    joined = join(traced(*lens), TOLERANCE)
    [(path, _)] = joined.closed
    assert len(path.segments) == 2
    double = join(traced(lens[0], Arc((10, 0), (0, 0), -0.3)), TOLERANCE)
    assert len(double.open) == 1


def test_a_loop_that_ends_where_it_began_is_closed_even_where_others_touch_it():
    loop = Path((Line((0, 0), (10, 0)), Line((10, 0), (5, 8)), Line((5, 8), (0, 0))), closed=False)
    joined = join([(loop, SOURCE), *traced(Line((0, 0), (-5, 0)))], TOLERANCE)
    assert [path.closed for path, _ in joined.closed] == [True]
    assert len(joined.open) == 1


def test_a_moved_bezier_end_takes_its_handle_along():
    curve = Cubic((0, 0), (0, 5), (10, 5), (10, 0.02))
    [(path, _)] = join(traced(curve, Line((10, 0), (0, 0))), TOLERANCE).closed
    moved = path.segments[0]
    assert moved.end == (10, 0.01)
    assert moved.control2 == pytest.approx((10, 4.99))


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 10**6), st.integers(3, 40), st.booleans())
def test_order_and_direction_of_the_lines_do_not_matter(seed, count, closed):
    rng = random.Random(seed)
    points = ring(count)
    ends = [*points[1:], points[0]]
    segments = [Line(a, b) for a, b in zip(points, ends, strict=True)]
    if not closed:
        segments = segments[:-1]
    mixed = traced(*segments)
    rng.shuffle(mixed)
    mixed = [(reversed_path(p) if rng.random() < 0.5 else p, s) for p, s in mixed]
    joined = join(mixed, TOLERANCE)
    [(path, _)] = joined.closed if closed else joined.open
    assert path.closed is closed
    assert path_length(path) == pytest.approx(sum(math.dist(s.start, s.end) for s in segments))


def test_a_tolerance_that_is_not_positive_is_refused():
    with pytest.raises(ValueError, match="positive"):
        join([], 0.0)


def test_a_nearly_whole_circle_is_closed_without_growing():
    """Its chord is shorter than the gap's moves: kept whole, it would grow by a fifth."""
    sweep = math.radians(359.5)
    start = (5.0, 0.0)
    end = (5.0 * math.cos(sweep), 5.0 * math.sin(sweep))
    assert math.dist(start, end) < TOLERANCE
    arc = Arc(start, end, math.tan(sweep / 4.0))
    [(path, _)] = join(traced(arc), TOLERANCE).closed
    assert meets_exactly(path)
    assert signed_path_area(path) == pytest.approx(math.pi * 25.0, abs=TOLERANCE * 10 * math.pi)
    long = Arc((0, 0), (0.5, 0), 20.0)
    [(path, _)] = join(traced(long, Line((0.54, 0), (0, -0.01))), TOLERANCE).closed
    before = path_length(Path((long,), closed=False))
    assert path_length(path) - 0.54 == pytest.approx(before, abs=0.2)
    points = flatten(Path(path.segments[:-1], closed=False), 0.001)
    centre, radius, _ = arc_centre(long)
    assert max(abs(math.dist(p, centre) - radius) for p in points) <= TOLERANCE


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 10**6), st.integers(0, 40), st.sampled_from([0.05, 0.3, 1.0, 3.0]))
def test_near_groups_are_those_found_by_comparing_all_with_all(seed, count, reach):
    rng = random.Random(seed)
    points = [(rng.uniform(-4, 4), rng.uniform(-4, 4)) for _ in range(count)]
    points += points[::3]
    label = list(range(len(points)))
    for _ in points:  # spread the smallest label until nothing changes
        for i, j in itertools.combinations(range(len(points)), 2):
            if math.dist(points[i], points[j]) <= reach:
                label[i] = label[j] = min(label[i], label[j])
    groups = {}
    for i, one in enumerate(label):
        groups.setdefault(one, []).append(i)
    assert near_groups(points, reach) == sorted(groups.values())


def test_a_crowd_of_short_strokes_is_looked_at_in_bounded_time():
    """8,000 loose strokes within a square centimetre: shading, as some tracers leave it."""
    rng = random.Random(5)
    strokes = []
    for _ in range(8_000):
        x, y = rng.uniform(0, 10), rng.uniform(0, 10)
        strokes.append(Line((x, y), (x + rng.uniform(-2, 2), y + rng.uniform(-2, 2))))
    start = time.process_time()
    joined = join(traced(*strokes), TOLERANCE)
    assert time.process_time() - start < 10.0
    drawn = [path for path, _ in (*joined.open, *joined.closed)]
    assert sum(len(path.segments) for path in drawn) >= 7_950  # the rest are specks, counted
    assert len(joined.problems) < 60
