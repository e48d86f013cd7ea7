"""A public packer on the rectangle beside ours, in the same run. Run with -s to see the figures.

The peer grows moving discs until they jam (Lubachevsky and Stillinger, Journal of Statistical Physics
60, 1990), as spheropack has it: general-purpose, of physics. It is given the same sizes in the same
shares, as many as it can place at the density asked; discs are half a gap larger, and so is the box.
"""

import math
import time

import numpy as np
import pytest
from packing_zones import MIX, ZONES, assert_sound, coverage, zone_field
from scipy.spatial import cKDTree

from templater.geometry.rng import Rng
from templater.stoning.styles import fill, packed

GAP = 0.2
DENSITY = 0.83
"""Of discs with half their gap: as dense as the peer comes to without jamming first (0.84 jams)."""
(_, _), _, (WIDE, HIGH), _ = ZONES["rectangle"][0]


def peer_stones():
    """Centres and radii of what the peer sets, and its seconds."""
    spheropack = pytest.importorskip("spheropack", reason="no public packer is installed")
    radii = np.array([size.width_mm / 2.0 + GAP / 2.0 for size, _ in MIX])
    shares = np.array([share for _, share in MIX])
    area = float((shares * math.pi * radii**2).sum())
    count = DENSITY * (WIDE + GAP) * (HIGH + GAP) / area
    grown = np.repeat(radii, np.round(shares * count).astype(int))
    box = spheropack.Box((WIDE + GAP, HIGH + GAP), periodic=False)
    start = time.process_time()
    packed = spheropack.pack(radii=grown, container=box, growth_rate=0.02, seed=1)
    seconds = time.process_time() - start
    assert packed.status == "target"
    return np.asarray(packed.positions)[:, :2] - GAP / 2.0, grown - GAP / 2.0, seconds


def test_tighter_and_quicker_than_a_public_packer():
    from templater.geometry.kernels.compiled import COMPILED

    at, radii, their_seconds = peer_stones()
    for i, j in cKDTree(at).query_pairs(2.0 * radii.max() + GAP):
        assert math.dist(at[i], at[j]) >= radii[i] + radii[j] + GAP - 1e-6
    assert (at >= radii[:, None] - 1e-6).all()
    assert (at <= np.array([WIDE, HIGH]) - radii[:, None] + 1e-6).all()
    theirs = float((math.pi * radii**2).sum()) / (WIDE * HIGH)

    field = zone_field("rectangle")
    fill(field, "packed", None, MIX, GAP, Rng(1, "warm"))
    told = [("event-driven growth", theirs, len(at), their_seconds)]
    for effort in (0.0, 1.0):
        given = packed.Parameters(effort=effort)
        start = time.process_time()
        result = fill(field, "packed", given, MIX, GAP, Rng(1, "rectangle"))
        seconds = time.process_time() - start
        assert_sound(field, result, MIX, GAP)
        covered = coverage(field, result, MIX)
        told.append((f"packed, effort {effort:g}", covered, len(result.x_mm), seconds))
    for who, covered, count, seconds in told:
        print(f"{who:20} {covered:.4f} covered, {count} stones, {count / seconds:,.0f} a second")
    peer, first, best = told
    assert best[1] > peer[1]
    if COMPILED:
        # The first fill is at once there; what more is looked for in a small zone takes its time.
        assert first[2] / first[3] > 5.0 * peer[2] / peer[3]
