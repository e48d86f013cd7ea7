"""Stones across a dart: none in its wedge, and one surface when it is closed."""

import math

import pytest
from dart_drawings import LEFT, PLAIN, RIGHT, TIP, box, closed, grounded, with_dart

from templater.geometry.polygons import polyline
from templater.stoning import set_all

GAP = 0.3
STONING = """
[stoning.band]
colour = "navy"
outline = {{ size = "ss16", gap = 0.3 }}
fill = {{ style = "{style}", sizes = {{ ss12 = 1 }}, gap = 0.3 }}
"""


def stones_of(layers, job):
    ground, read, _ = grounded(layers, job)
    settings, problems = set_all(ground, read)
    assert not [p for p in problems if p.severity.value == "error"]
    return [stone for setting in settings for stone in setting.stones]


def from_leg(at, end):
    """Signed distance from a leg's line, and how far along it from the tip."""
    dx, dy = end[0] - TIP[0], end[1] - TIP[1]
    length = math.hypot(dx, dy)
    px, py = at[0] - TIP[0], at[1] - TIP[1]
    return (dx * py - dy * px) / length, (dx * px + dy * py) / length


def sides(stones):
    """The stones on the left and on the right of the dart; none lies between."""
    left, right = [], []
    for stone in stones:
        radius = stone.width_mm / 2
        off_left, along = from_leg(stone.at, LEFT)
        off_right, _ = from_leg(stone.at, RIGHT)
        # Seen from the tip towards the mouth the wedge lies left of the left leg's line.
        if off_left < 0.0:
            assert along < 0 or -off_left >= radius + GAP / 2 - 0.001
            left.append(stone)
        else:
            assert along < 0 or off_right >= radius + GAP / 2 - 0.001
            right.append(stone)
    return left, right


@pytest.mark.parametrize("style", ["packed", "staggered", "sprinkled"])
def test_stones_of_both_halves_clear_each_other_when_the_dart_is_closed(style):
    job = PLAIN + STONING.format(style=style)
    stones = stones_of(with_dart(band=box(110, 40, 190, 80)), job)
    left, right = sides(stones)
    assert min(len(left), len(right)) > 20
    discs = [(*closed(stone.at), stone.width_mm / 2) for stone in right]
    nearest = min(
        math.dist(stone.at, disc[:2]) - stone.width_mm / 2 - disc[2]
        for stone in left
        for disc in discs
    )
    assert nearest >= GAP - 0.001


def test_no_stripe_as_wide_as_two_stones_is_bare_along_the_closed_dart():
    """A full fill leaves beside each leg less than its smallest stone and its gaps take."""
    job = PLAIN + STONING.format(style="packed")
    stones = stones_of(with_dart(band=box(110, 40, 190, 80)), job)
    left, right = sides(stones)
    all_closed = [(*stone.at, stone.width_mm / 2) for stone in left]
    all_closed += [(*closed(stone.at), stone.width_mm / 2) for stone in right]
    ss12 = 3.05
    for k in range(200):
        height = 44.0 + 32.0 * k / 199.0  # within the outline rows above and below
        share = (100.0 - height) / 100.0
        at = (TIP[0] - 10.0 * share, height)
        bare = min(math.dist(at, disc[:2]) - disc[2] for disc in all_closed)
        assert bare < ss12 + 1.5 * GAP


def test_no_outline_row_runs_along_the_joined_line():
    job = PLAIN + STONING.format(style="none")
    stones = stones_of(with_dart(band=box(110, 40, 190, 80)), job)
    # Halfway up the band only the two outer sides have stones.
    level = [stone for stone in stones if 48.0 < stone.y_mm < 72.0]
    assert level
    assert all(min(stone.x_mm - 110.0, 190.0 - stone.x_mm) < 4.0 for stone in level)


def test_a_row_across_a_dart_leaves_its_wedge_out():
    layers = with_dart(band=box(50, 140, 250, 180))
    layers["row spine"] = [polyline([(100, 30), (200, 30)], closed=False)]
    job = PLAIN + '[rows.spine]\nstone = "ss16"\ncolour = "navy"\ngap = 0.3\n'
    stones = stones_of(layers, job)
    left, right = sides([stone for stone in stones if stone.y_mm < 100.0])
    assert min(len(left), len(right)) > 5


def test_round_the_tip_stones_keep_half_a_gap_from_the_line_where_the_parts_meet():
    job = PLAIN + STONING.format(style="packed")
    stones = stones_of(with_dart(band=box(120, 40, 180, 140)), job)
    above = [stone for stone in stones if stone.y_mm > TIP[1] + 3.0]
    assert len(above) > 20
    assert all(abs(s.x_mm - 150.0) >= s.width_mm / 2 + GAP / 2 - 0.001 for s in above)
