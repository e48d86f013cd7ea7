"""Sharp tips are cut off bluntly at the same angle and length however their allowances are shared.

The limit of four allowances is common practice in vector graphics; that their mean counts where they
differ is worked out here: the mitre of a sharp tip is about the mean by sin(θ/2) long.
"""

import math

import pytest
import shapely
from applique_grounds import ground, job, line, piece, region, zone
from hypothesis import given, settings
from hypothesis import strategies as st

from templater.applique import make_parts
from templater.geometry.offset import MITRE_LIMIT
from templater.geometry.polygons import to_polygon
from templater.model.curves import Area
from templater.model.ground import Edge, EdgeKind

LONG = 300.0


def tip_ring(tip_deg, below_mm, above_mm):
    """A triangle whose tip at the origin points left, with allowances below and above it."""
    half = math.radians(tip_deg / 2)
    x, y = LONG * math.cos(half), LONG * math.sin(half)
    return (
        Edge(EdgeKind.SEAM, line((0, 0), (x, -y)), "low", below_mm),
        Edge(EdgeKind.FREE, line((x, -y), (x, y))),
        Edge(EdgeKind.FREE, line((x, y), (0, 0)), "", above_mm),
    )


def cut_of(ring):
    made = zone("needle", region(ring))
    parts, _ = make_parts(ground(piece(), made), job(zones={"needle": {"web": False}}))
    return next(part for part in parts if part.zone).cut


def mitre(tip_deg, below_mm, above_mm):
    """Where the two cut lines cross: at these distances from both edges, beyond both."""
    half = math.radians(tip_deg / 2)
    # -x·sin + y·cos = above the upper edge, -x·sin - y·cos = below the lower one.
    return (
        -(below_mm + above_mm) / 2 / math.sin(half),
        (above_mm - below_mm) / 2 / math.cos(half),
    )


def corners(area):
    return [segment.start for segment in area.outline.segments]


@pytest.mark.parametrize("tip_deg", [8.0, 15.0, 22.6, 28.0])
@pytest.mark.parametrize("widths", [(12.0, 0.0), (0.0, 12.0), (12.0, 3.0), (6.0, 6.0)])
def test_a_sharp_tip_ends_square_four_mean_allowances_from_its_corner(tip_deg, widths):
    cut = cut_of(tip_ring(tip_deg, *widths))
    tip = mitre(tip_deg, *widths)
    far = math.hypot(*tip)
    along = [(x * tip[0] + y * tip[1]) / far for x, y in corners(cut)]
    reach = MITRE_LIMIT * sum(widths) / 2
    assert far > reach
    assert max(along) == pytest.approx(reach, abs=1e-6)
    assert sum(abs(each - reach) < 1e-6 for each in along) == 2, "the end is square to its length"


@pytest.mark.parametrize("widths", [(12.0, 0.0), (12.0, 3.0), (6.0, 6.0), (0.0, 5.0)])
@pytest.mark.parametrize("tip_deg", [30.1, 45.0, 60.0, 90.0])
def test_a_blunter_tip_keeps_its_mitre(tip_deg, widths):
    cut = cut_of(tip_ring(tip_deg, *widths))
    tip = mitre(tip_deg, *widths)
    assert min(math.dist(corner, tip) for corner in corners(cut)) < 1e-6


WIDTHS = st.sampled_from([0.0, 1.0, 3.0, 5.0, 8.0, 12.0, 20.0])


@settings(deadline=None, max_examples=150)
@given(st.floats(4.0, 29.9), WIDTHS, WIDTHS)
def test_no_tip_is_left_sharper_than_cloth_can_be_cut(tip_deg, below_mm, above_mm):
    """Of a tip below 29° nothing stays sharper than 60° but the drawn tip without any allowance."""
    cut = cut_of(tip_ring(tip_deg, below_mm, above_mm))
    polygon = to_polygon(cut, 0.001)
    assert polygon.is_valid
    drawn = to_polygon(region(tip_ring(tip_deg, 0.0, 0.0)).area, 0.001)
    assert polygon.buffer(1e-6).covers(drawn)
    if math.hypot(*mitre(tip_deg, below_mm, above_mm)) <= MITRE_LIMIT * (below_mm + above_mm) / 2:
        return  # 0 and 0, or the last tenth of a degree below the limit
    points = corners(cut)
    for before, at, after in zip(
        points[-1:] + points, points, points[1:] + points[:1], strict=False
    ):
        if at[0] > 20.0:
            continue
        a = math.atan2(before[1] - at[1], before[0] - at[0])
        b = math.atan2(after[1] - at[1], after[0] - at[0])
        assert math.degrees((a - b) % math.tau) >= 60.0


def test_the_spike_beside_a_raw_edge_is_gone():
    """Seam allowance 12 and a raw edge at 22.6°: the mitre was 31 mm long and ended in a point."""
    area = to_polygon(Area(cut_of(tip_ring(22.6, 12.0, 0.0)).outline), 0.001)
    beyond = shapely.distance(shapely.Point(0, 0), shapely.points(area.exterior.coords))
    near = [c for c in area.exterior.coords if c[0] < 0.0]
    assert max(shapely.distance(shapely.Point(0, 0), shapely.points(near))) < 24.5
    assert beyond.min() >= 0.0
