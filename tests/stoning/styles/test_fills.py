"""Every fill on awkward zones: nothing overlaps, nothing strays, and packed leaves no room."""

import itertools
import math
import os
import subprocess
import sys
from pathlib import Path

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry.polygon import orient

BENCHMARKS = Path(__file__).resolve().parents[2] / "benchmarks"
sys.path.insert(0, str(BENCHMARKS))

from packing_zones import (  # noqa: E402 (found beside the benchmarks)
    MIX,
    SS12,
    SS16,
    SS20,
    assert_sound,
    disc,
    field_of,
    on_fold,
    outline_row,
    polygon_of,
    rectangle,
    star,
    walls_of,
    zone_field,
)

from templater.geometry.bare import most_stones  # noqa: E402
from templater.geometry.rng import Rng  # noqa: E402
from templater.model.ground import Fold  # noqa: E402
from templater.model.problems import Severity  # noqa: E402
from templater.model.stones import LowArea, Obstacle, Wall  # noqa: E402
from templater.stoning.styles import STYLES, contour, faded, fill, packed, sprinkled, staggered  # noqa: E402  # noqa: E402

ONE = ((SS16, 1.0),)
REGULAR = staggered.Parameters(rim="regular")
QUICK = packed.Parameters(effort=0.1)
SLOW_TO_COMPILE = settings(deadline=None, max_examples=12, derandomize=True)


@st.composite
def awkward_zones(draw):
    """Two lobes joined by a neck of any width, with spikes and perhaps a hole."""
    number = st.floats(0.0, 1.0, allow_nan=False)
    neck = 0.3 + 14.0 * draw(number)
    left, right = 8.0 + 10.0 * draw(number), 8.0 + 10.0 * draw(number)
    apart = left + right + 20.0 * draw(number)
    shape = shapely.union_all(
        [
            shapely.Point(0.0, 0.0).buffer(left, quad_segs=40),
            shapely.Point(apart, 5.0 * draw(number)).buffer(right, quad_segs=40),
            shapely.box(0.0, -neck / 2.0, apart, neck / 2.0),
        ]
    )
    for _ in range(draw(st.integers(0, 3))):
        turn, wide = 2.0 * math.pi * draw(number), 0.05 + 0.4 * draw(number)
        tip = (1.8 * left * math.cos(turn), 1.8 * left * math.sin(turn))
        foot = [
            (left * math.cos(turn + side * wide), left * math.sin(turn + side * wide))
            for side in (-1.0, 1.0)
        ]
        shape = shape.union(shapely.Polygon([tip, foot[1], (0.0, 0.0), foot[0]]))
    if draw(st.booleans()):
        hole = shapely.Point(left * 0.3, 0.0).buffer(
            left * (0.1 + 0.5 * draw(number)), quad_segs=12
        )
        shape = shape.difference(hole)
    shape = max(shapely.get_parts(shape), key=lambda part: part.area)
    shape = shapely.affinity.rotate(shape, 360.0 * draw(number), origin=(0.0, 0.0))
    shape = orient(shape)
    return tuple(tuple(ring.coords[:-1]) for ring in (shape.exterior, *shape.interiors))


def room_left(field, result, sizes, gap, smallest):
    """Where a stone of the smallest size would still have a micron to spare, by shapely."""
    radius, spare = smallest.length_mm / 2.0, 1e-3
    region = polygon_of(field.rings)
    for wall in field.walls:
        line = shapely.LineString([wall[:2], wall[2:4]])
        region = region.difference(line.buffer(wall.clearance_mm + radius + spare, quad_segs=64))
    discs = [
        shapely.Point(x, y).buffer(
            sizes[s][0].length_mm / 2.0 + radius + gap + spare, quad_segs=256
        )
        for x, y, s in zip(result.x_mm, result.y_mm, result.size_index, strict=True)
    ]
    discs += [
        shapely.Point(o.corners[0]).buffer(
            o.radius_mm + radius + (gap + o.gap_mm) / 2.0 + spare, quad_segs=256
        )
        for o in field.obstacles
    ]
    return region.difference(shapely.union_all(discs))


@SLOW_TO_COMPILE
@given(awkward_zones(), st.sampled_from([0.0, 0.2, 0.6]), st.integers(0, 5))
def test_packed_is_sound_and_leaves_no_room(rings, gap, seed):
    field = field_of(rings, edge=0.1)
    result = fill(field, "packed", QUICK, MIX, gap, Rng(seed))
    assert_sound(field, result, MIX, gap)
    assert result.maximal
    assert room_left(field, result, MIX, gap, SS12).is_empty


@SLOW_TO_COMPILE
@given(awkward_zones(), st.sampled_from([0.0, 0.3]))
def test_packed_of_one_size_is_at_least_the_best_rows(rings, gap):
    field = field_of(rings, edge=0.1)
    one = fill(field, "packed", QUICK, ONE, gap, Rng(1))
    rows = fill(field, "staggered", REGULAR, ONE, gap, Rng(1))
    assert_sound(field, one, ONE, gap)
    assert_sound(field, rows, ONE, gap)
    assert len(one.x_mm) >= len(rows.x_mm)
    assert room_left(field, one, ONE, gap, SS16).is_empty


@SLOW_TO_COMPILE
@given(awkward_zones(), st.sampled_from(["staggered", "square", "contour", "sprinkled", "faded"]))
def test_other_fills_are_sound(rings, style):
    field = field_of(rings, edge=0.1)
    sizes = ONE if STYLES[style].one_size else MIX[1:]
    result = fill(field, style, None, sizes, 0.3, Rng(2))
    assert_sound(field, result, sizes, 0.3)


@SLOW_TO_COMPILE
@given(awkward_zones(), st.floats(0.0, 6.3), st.booleans())
def test_turning_and_mirroring_change_the_count_little(rings, turn, mirror):
    def turned(points):
        cosine, sine, flip = math.cos(turn), math.sin(turn), -1.0 if mirror else 1.0
        moved = tuple(
            (cosine * flip * x - sine * y + 31.7, sine * flip * x + cosine * y - 12.9)
            for x, y in points
        )
        return moved[::-1] if mirror else moved

    before = fill(field_of(rings), "packed", QUICK, MIX, 0.2, Rng(3))
    after = fill(field_of(tuple(map(turned, rings))), "packed", QUICK, MIX, 0.2, Rng(3))
    assert abs(len(before.x_mm) - len(after.x_mm)) <= max(2, 0.02 * len(before.x_mm))


def test_shares_that_geometry_moved_are_told():
    """A strip too narrow for the largest size."""
    field = field_of(rectangle(80.0, 4.5), flat=0.0)
    result = fill(field, "packed", QUICK, MIX, 0.2, Rng(1))
    assert 0 not in result.size_index
    assert [p.code for p in result.problems] == ["shares-shifted"]
    assert "ss20 0% (asked 25%)" in result.problems[0].message


@pytest.mark.parametrize("shares", [(0.25, 0.5, 0.25), (0.6, 0.2, 0.2), (0.15, 0.7, 0.15)])
def test_shares_asked_for_come_out(shares):
    field = field_of(star(), flat=0.0)
    mix = tuple(zip((SS20, SS16, SS12), shares, strict=True))
    fills = [fill(field, "packed", None, mix, 0.2, Rng(seed)).size_index for seed in (1, 2, 3)]
    for size, share in enumerate(shares):
        off = [abs(sizes.count(size) / len(sizes) - share) for sizes in fills]
        assert max(off) <= 0.05
        assert sum(off) / len(off) <= 0.035


def test_same_words_same_stones_other_seed_others():
    field = field_of(star(), flat=0.0)
    first, again, other = (
        fill(field, "packed", QUICK, MIX, 0.2, Rng(seed, "front", "star")) for seed in (1, 1, 2)
    )
    assert first == again
    assert first != other


PROGRAM = """
import sys
sys.path.insert(0, {benchmarks!r})
from packing_zones import MIX, SS16, field_of, star
from templater.geometry.kernels.compiled import COMPILED
from templater.geometry.rng import Rng
from templater.stoning.styles import fill, packed
print(COMPILED)
rings = [tuple((x * 0.3, y * 0.3) for x, y in ring) for ring in star()]
field = field_of(rings, flat=0.0)
for style in ("packed", "sprinkled", "faded"):
    given = packed.Parameters(effort=0.02) if style == "packed" else None
    print(fill(field, style, given, MIX, 0.2, Rng(4)))
for style in ("packed", "staggered", "square", "contour"):
    given = packed.Parameters(effort=0.02) if style == "packed" else None
    print(fill(field, style, given, MIX[1:2], 0.2, Rng(4)))
"""


def test_plain_python_sets_the_very_same_stones():
    pytest.importorskip("numba")
    program = PROGRAM.format(benchmarks=str(BENCHMARKS))
    runs = []
    for plain in ("0", "1"):
        run = subprocess.run(
            [sys.executable, "-c", program],
            capture_output=True,
            text=True,
            check=True,
            env={**os.environ, "TEMPLATER_PLAIN": plain, "PYTHONHASHSEED": plain},
        )
        runs.append(run.stdout.split("\n", 1))
    assert [run[0] for run in runs] == ["True", "False"]
    assert len(runs[0][1]) > 1500
    assert runs[0][1] == runs[1][1]


def test_staggered_along_an_axis_keeps_the_exact_pitch():
    """Ten stones of 3.9 mm in 39 mm: not one tenth of a micron is lost to snapping."""
    field = field_of(rectangle(39.0, 3.9), flat=0.0)
    result = fill(field, "square", staggered.Parameters(angle=0.0), ONE, 0.0, Rng(1))
    assert len(result.x_mm) == 10
    assert_sound(field, result, ONE, 0.0)


@pytest.mark.parametrize("gap", [0.0, 0.1, 0.2, 0.25, 0.3, 0.5, 0.0301, 0.7777])
@pytest.mark.parametrize("angle", ["best", 0.0, 90.0, 30.0, 11.0])
def test_rows_are_whole_at_every_pitch(gap, angle):
    """Not one stone drops out for a rounding: N is near the bound at every gap and angle."""
    field = field_of(rectangle(160.0, 120.0), flat=0.0)
    result = fill(field, "staggered", staggered.Parameters(angle=angle), ONE, gap, Rng(1))
    assert_sound(field, result, ONE, gap)
    bound = most_stones(field.rings, field.walls, SS16.length_mm / 2.0, gap)
    assert len(result.x_mm) >= 0.93 * bound


def test_angles_are_kept():
    field = field_of(rectangle(60.0, 40.0), flat=0.0)
    given = staggered.Parameters(angle=20.0, rim="regular")
    result = fill(field, "staggered", given, ONE, 0.2, Rng(1))
    assert_sound(field, result, ONE, 0.2)
    points = list(zip(result.x_mm, result.y_mm, strict=True))
    turns = {
        round(math.degrees(math.atan2(b[1] - a[1], b[0] - a[0])) % 60.0, 1)
        for a in points
        for b in points
        if 0.0 < math.dist(a, b) < 4.2
    }
    assert turns == {20.0}


def folded(style, sizes, rng):
    """The right half of a 60 × 50 zone made on the fold at x = 0."""
    rings = (((0.0, 0.0), (30.0, 0.0), (30.0, 50.0), (0.0, 50.0)),)
    sides = [wall for wall in walls_of(rings, 0.1) if not (wall.x0 == 0.0 and wall.x1 == 0.0)]
    fold_wall = Wall(0.0, 50.0, 0.0, 0.0, 0.1, is_fold=True)
    field = field_of(rings, fold=Fold((0.0, 0.0), (0.0, 1.0)))
    field = type(field)(
        **{
            **{name: getattr(field, name) for name in field.__dataclass_fields__},
            "walls": (*sides, fold_wall),
        }
    )
    return field, fill(field, style, None, sizes, 0.2, rng)


def both_sides(field, result, sizes):
    """The stones on both sides of the fold, those centred on it once, as discs."""
    discs = []
    for x, y, s in zip(result.x_mm, result.y_mm, result.size_index, strict=True):
        radius = sizes[s][0].length_mm / 2.0
        discs.append(shapely.Point(x, y).buffer(radius))
        if not on_fold(field, (x, y)):
            assert x >= radius + 0.1 - 1e-7
            discs.append(shapely.Point(-x, y).buffer(radius))
    return shapely.union_all(discs)


@pytest.mark.parametrize("style", ["packed", "staggered", "sprinkled", "faded"])
def test_no_bare_stripe_at_the_fold(style):
    sizes = ONE if style == "staggered" else MIX
    at_fold = away = 0.0
    for seed in range(10):
        field, result = folded(style, sizes, Rng(seed))
        assert_sound(field, result, sizes, 0.2)
        discs = both_sides(field, result, sizes)
        at_fold += shapely.box(-3.0, 4.0, 3.0, 46.0).intersection(discs).area / (6.0 * 42.0)
        away += shapely.box(10.0, 4.0, 26.0, 46.0).intersection(discs).area / (16.0 * 42.0)
        if style in {"packed", "staggered"}:
            points = zip(result.x_mm, result.y_mm, strict=True)
            assert any(on_fold(field, point) for point in points)
    print(f"{style}: {at_fold / away:.3f} of the coverage elsewhere")
    assert at_fold >= 0.8 * away


def test_low_areas_take_low_stones_only():
    ring = ((20.0, 10.0), (40.0, 10.0), (40.0, 30.0), (20.0, 30.0))
    limit = SS16.height_mm
    sides = tuple(w._replace(limit_mm=limit) for w in walls_of((ring,), 0.0))
    field = field_of(rectangle(60.0, 40.0), flat=0.0, walls=sides, lows=(LowArea(limit, (ring,)),))
    result = fill(field, "packed", QUICK, MIX, 0.2, Rng(6))
    assert_sound(field, result, MIX, 0.2)
    low = shapely.Polygon(ring)
    touching = [
        MIX[s][0].name
        for x, y, s in zip(result.x_mm, result.y_mm, result.size_index, strict=True)
        if low.distance(shapely.Point(x, y)) < MIX[s][0].length_mm / 2.0
    ]
    assert len(touching) > 15
    assert "ss20" not in touching


def test_shaped_stones_are_flowed_around():
    corners = ((20.0, 18.0), (30.0, 15.0), (40.0, 18.0), (30.0, 22.0))
    field = field_of(rectangle(60.0, 40.0), (Obstacle(corners, 0.0, 0.6),), flat=0.0)
    result = fill(field, "packed", QUICK, MIX, 0.2, Rng(7))
    assert_sound(field, result, MIX, 0.2)
    body = shapely.Polygon(corners)
    gaps = [
        body.distance(shapely.Point(x, y)) - MIX[s][0].length_mm / 2.0
        for x, y, s in zip(result.x_mm, result.y_mm, result.size_index, strict=True)
    ]
    assert min(gaps) >= 0.4 - 1e-7
    assert sum(gap < 0.45 for gap in gaps) >= 4


@pytest.mark.parametrize(
    ("style", "given", "code"),
    [
        ("sprinkled", sprinkled.Parameters(coverage=0.9), "more-than-fits"),
        ("sprinkled", sprinkled.Parameters(count=100_000), "more-than-fits"),
        ("sprinkled", sprinkled.Parameters(spacing=4.0), "spacing-too-small"),
        ("sprinkled", sprinkled.Parameters(spacing=8.0, count=3), "density-twice"),
        ("faded", faded.Parameters(start=0.95), "more-than-fits"),
        ("faded", faded.Parameters(along="line"), "fade-without-line"),
        ("staggered", staggered.Parameters(angle="fold"), "no-fold"),
    ],
)
def test_impossible_askings_are_refused(style, given, code):
    result = fill(field_of(rectangle(60.0, 40.0)), style, given, ONE, 0.3, Rng(1))
    assert [(p.code, p.severity) for p in result.problems] == [(code, Severity.ERROR)]
    assert not result.x_mm
    assert result.problems[0].mend


def test_the_ceiling_is_named():
    result = fill(
        field_of(rectangle(60.0, 40.0)),
        "sprinkled",
        sprinkled.Parameters(coverage=0.9),
        ONE,
        0.2,
        Rng(1),
    )
    # 0.9069·(3.9/4.1)² = 0.8206
    assert "82.1%" in result.problems[0].message


def test_spacing_is_kept():
    field = field_of(rectangle(120.0, 80.0), flat=0.0)
    result = fill(field, "sprinkled", sprinkled.Parameters(spacing=9.0), ONE, 0.2, Rng(1))
    points = shapely.points(list(zip(result.x_mm, result.y_mm, strict=True)))
    tree = shapely.STRtree(points)
    nearest = min(
        points[i].distance(points[j]) for i, j in tree.query(points, "dwithin", 12.0).T if i != j
    )
    assert 9.0 <= nearest <= 10.0


def test_contour_rows_follow_the_outline():
    field = field_of(rectangle(60.0, 40.0), flat=0.0)
    given = contour.Parameters(row_gap=0.2, fill_rest=False)
    result = fill(field, "contour", given, ONE, 0.2, Rng(1))
    depths = [min(x, y, 60.0 - x, 40.0 - y) for x, y in zip(result.x_mm, result.y_mm, strict=True)]
    rows = sorted({round((depth - 1.95) / 4.1, 1) for depth in depths})
    assert rows[:5] == [0.0, 1.0, 2.0, 3.0, 4.0]


def test_contour_rows_meet_in_the_middle():
    field = field_of(rectangle(60.0, 40.0), flat=0.0)
    given = contour.Parameters(fill_rest=False)
    result = fill(field, "contour", given, ONE, 0.2, Rng(1))
    # 36.1 mm from one outer row to the other hold 8 steps of 4.1 mm and more: 4.51 mm each.
    up = sorted({round(y, 1) for x, y in zip(result.x_mm, result.y_mm, strict=True) if 25 < x < 35})
    steps = [b - a for a, b in itertools.pairwise(up)]
    assert len(up) == 9
    assert max(steps) - min(steps) <= 0.21
    assert sum(steps) / 8 == pytest.approx(36.1 / 8, abs=0.03)


def test_no_stone_is_dropped_from_a_row_behind_another():
    rings = disc()
    row = outline_row(rings, 0.2)
    given = contour.Parameters(fill_rest=False)
    result = fill(zone_field("disc", row), "contour", given, ONE, 0.2, Rng(1))
    depths = [math.hypot(x, y) for x, y in zip(result.x_mm, result.y_mm, strict=True)]
    outermost = max(depths)
    turns = sorted(
        math.degrees(math.atan2(y, x))
        for x, y, depth in zip(result.x_mm, result.y_mm, depths, strict=True)
        if depth > outermost - 1.0
    )
    gaps = [b - a for a, b in itertools.pairwise(turns)] + [turns[0] + 360.0 - turns[-1]]
    assert len(turns) > 70
    assert max(gaps) <= 1.2 * min(gaps)


def test_faded_thins_where_it_should():
    field = field_of(rectangle(200.0, 60.0), flat=0.0)
    given = faded.Parameters(start=0.5, end=0.1, direction=0.0)
    result = fill(field, "faded", given, ONE, 0.3, Rng(1))
    counts = [sum(low <= x < low + 50.0 for x in result.x_mm) for low in (0, 50, 100, 150)]
    area = math.pi * 1.95**2
    wanted = [0.45, 0.35, 0.25, 0.15]
    for count, share in zip(counts, wanted, strict=True):
        assert count * area / 3000.0 == pytest.approx(share, abs=0.035)


def test_graded_sizes_run_from_first_to_last():
    field = field_of(rectangle(200.0, 60.0), flat=0.0)
    given = faded.Parameters(start=0.3, end=0.3, direction=0.0, grade=True)
    result = fill(field, "faded", given, MIX, 0.3, Rng(1))
    mean = [
        sum(x for x, s in zip(result.x_mm, result.size_index, strict=True) if s == size)
        / result.size_index.count(size)
        for size in range(3)
    ]
    assert mean[0] < 70.0 < mean[1] < 130.0 < mean[2]


def test_zones_too_small_for_a_stone_stay_bare():
    field = field_of(rectangle(2.0, 2.0), flat=0.0)
    for style in STYLES:
        sizes = ONE if STYLES[style].one_size else ((SS20, 1.0), (SS16, 1.0))
        result = fill(field, style, None, sizes, 0.2, Rng(1))
        assert not result.x_mm
