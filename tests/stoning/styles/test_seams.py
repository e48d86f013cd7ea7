"""Staggered and square: a lattice inside, eased into its outline row."""

import math
import sys
from pathlib import Path

import numpy as np
import pytest
import shapely
from scipy.spatial import cKDTree

BENCHMARKS = Path(__file__).resolve().parents[2] / "benchmarks"
sys.path.insert(0, str(BENCHMARKS))

from packing_zones import (  # noqa: E402 (found beside the benchmarks)
    SS16,
    assert_sound,
    field_of,
    polygon_of,
    rectangle,
    with_row,
)

from templater.geometry.bare import largest_bare_mm  # noqa: E402
from templater.geometry.rng import Rng  # noqa: E402
from templater.stoning.styles import fill, staggered  # noqa: E402

ONE = ((SS16, 1.0),)
REGULAR = staggered.Parameters(rim="regular")
SEAMS = ["disc", "leaf", "ring", "star", "stripe"]


def discs_of(field, result):
    discs = [(*o.corners[0], o.radius_mm) for o in field.obstacles]
    return discs + [
        (x, y, SS16.width_mm / 2.0) for x, y in zip(result.x_mm, result.y_mm, strict=True)
    ]


def bareness(field, result, hole_mm):
    """Beyond what the lattice's own holes leave bare, summed over places half a mm apart: the cube of
    how much farther each is from every stone and from the outline.
    """
    zone = polygon_of(field.rings).simplify(0.01)
    x0, y0, x1, y1 = zone.bounds
    xs, ys = np.meshgrid(np.arange(x0, x1, 0.5), np.arange(y0, y1, 0.5))
    at = np.column_stack([xs.ravel(), ys.ravel()])
    at = at[shapely.contains_xy(zone, *at.T)]
    discs = discs_of(field, result)
    tree = cKDTree([disc[:2] for disc in discs])
    far, which = tree.query(at, 6)
    from_stones = (far - np.array([disc[2] for disc in discs])[which]).min(axis=1)
    room = np.minimum(from_stones, shapely.distance(shapely.points(at), zone.boundary)) - hole_mm
    return float((np.maximum(room, 0.0) ** 3).sum())


@pytest.mark.parametrize("style", ["staggered", "square"])
@pytest.mark.parametrize("name", SEAMS)
def test_a_lattice_meets_its_row_evenly_and_stays_regular_inside(name, style):
    """Against the same lattice left regular: no fewer stones, less bare at the seam, inside the same."""
    gap, pitch = 0.2, SS16.width_mm + 0.2
    field = with_row(name)
    plain = fill(field, style, REGULAR, ONE, gap, Rng(1))
    eased = fill(field, style, None, ONE, gap, Rng(1))
    assert_sound(field, eased, ONE, gap)
    assert eased.maximal
    rings = [
        tuple(ring.simplify(0.01).coords[:-1]) for ring in map(shapely.LinearRing, field.rings)
    ]
    assert largest_bare_mm(rings, discs_of(field, eased)) < SS16.width_mm + 2.0 * gap + 0.03
    assert len(eased.x_mm) >= len(plain.x_mm)
    hole = pitch / math.sqrt(3.0 if style == "staggered" else 2.0) - SS16.width_mm / 2.0
    was, now = (bareness(field, result, hole) for result in (plain, eased))
    print(
        f"{style} {name}: {len(plain.x_mm)} to {len(eased.x_mm)} stones, bareness {now / was:.2f}"
    )
    assert now <= 0.3 * was
    rim = polygon_of(field.rings).simplify(0.01).boundary
    at = np.column_stack([plain.x_mm, plain.y_mm])
    deep = at[shapely.distance(shapely.points(at), rim) > SS16.width_mm + 3.5 * pitch]
    assert {tuple(each) for each in deep.tolist()} <= set(zip(eased.x_mm, eased.y_mm, strict=True))


def test_a_lattice_that_fits_its_zone_is_left_as_it_is():
    field = field_of(rectangle(39.02, 39.02), flat=0.0)
    plain, eased = (fill(field, "square", given, ONE, 0.0, Rng(1)) for given in (REGULAR, None))
    assert len(eased.x_mm) == 100
    assert (eased.x_mm, eased.y_mm) == (plain.x_mm, plain.y_mm)


def test_a_lattice_leaves_as_much_at_one_side_as_at_the_other():
    """46 mm for ten stones and a gap: what is over is shared between both ends."""
    field = field_of(rectangle(46.0, 42.5), flat=0.0)
    given = staggered.Parameters(angle=0.0, rim="regular")
    result = fill(field, "square", given, ONE, 0.2, Rng(1))
    assert len(result.x_mm) == 110
    assert min(result.x_mm) == pytest.approx(46.0 - max(result.x_mm), abs=0.02)
    assert min(result.y_mm) == pytest.approx(42.5 - max(result.y_mm), abs=0.02)


@pytest.mark.parametrize("name", ["leaf", "ring", "star", "stripe"])
def test_rows_that_follow_the_outline_close_the_slits_between_them(name, monkeypatch):
    """Against the same rows left as they run: no fewer stones, and less bare along the middle."""
    from templater.stoning.styles import seam

    gap, pitch = 0.2, SS16.width_mm + 0.2
    field = with_row(name)
    eased = fill(field, "contour", None, ONE, gap, Rng(1))
    monkeypatch.setattr(seam, "slits_eased", lambda _f, _space, _start, stones, *_rest: stones)
    plain = fill(field, "contour", None, ONE, gap, Rng(1))
    assert_sound(field, eased, ONE, gap)
    assert len(eased.x_mm) >= len(plain.x_mm)
    hole = pitch / math.sqrt(2.0) - SS16.width_mm / 2.0
    was, now = (bareness(field, result, hole) for result in (plain, eased))
    print(
        f"contour {name}: {len(plain.x_mm)} to {len(eased.x_mm)} stones, bareness {now / was:.2f}"
    )
    assert now <= 0.8 * was


def test_rows_that_close_by_themselves_are_left_as_they_are(monkeypatch):
    from templater.stoning.styles import seam

    field = with_row("disc")
    eased = fill(field, "contour", None, ONE, 0.2, Rng(1))
    monkeypatch.setattr(seam, "slits_eased", lambda _f, _space, _start, stones, *_rest: stones)
    assert fill(field, "contour", None, ONE, 0.2, Rng(1)) == eased
