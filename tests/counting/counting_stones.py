"""Stones on lattices of every outline, for the tests of counting."""

from __future__ import annotations

from templater.model.ground import Side
from templater.model.stones import PlacedStone, StoneKind


def stone(at, number=1, *, zone="frond", side=Side.LEFT, size="ss16", mm=3.9, **more):
    base = {"colour": "sea green", "finish": "plain", "length_mm": mm, "width_mm": mm}
    base |= {"kind": StoneKind.FILL, **more}
    return PlacedStone(
        id=f"{zone}-{number:04d}-{side.value}", zone=zone, piece="front", side=side,
        x_mm=at[0], y_mm=at[1], turn_deg=0.0, size=size, gap_mm=0.2, **base,
    )  # fmt: skip


def lattice(inside, across, up, pitch=4.0):
    """Offset rows of points for which `inside(x, y)` holds, in units of the pitch."""
    return [
        (round(pitch * (i + (j % 2) / 2), 4), round(pitch * 0.866 * j, 4))
        for j in range(up)
        for i in range(across)
        if inside(i, j)
    ]


def mirrored(stones):
    return [
        s._replace(id=s.id.replace("-left", "-right"), side=Side.RIGHT, x_mm=-s.x_mm)
        for s in stones
    ]
