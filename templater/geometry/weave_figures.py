"""Figures of a weave: how full it is, how well sizes are mixed, how much it shows as stripes."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from templater.geometry.kernels.tightening import Cell

_LONG = 2.2
"""Waves of so many mean widths and more are seen as stripes or patches."""
_WAVES = range(-4, 5)
_NEAR_MM = 0.4


def fullness(cell: Cell, grown: Sequence[float]) -> float:
    """The part of the cloth that stones with half their gaps around them take; grown radii in mm."""
    return sum(math.pi * grown[size] ** 2 for size in cell.size) / cell.area_mm2


def kept_apart(cell: Cell, grown: Sequence[float]) -> float:
    """How much sizes keep to their own kind: see packing.assortativity. 1 for one size alone.

    Over pairs up to 0.4 mm from touching.
    """
    sizes, place = np.array(cell.size), np.array(cell.places)
    radius = np.array(grown)[sizes]
    ends = np.zeros((len(grown), len(grown)))
    for u, v in itertools.product(range(-3, 4), repeat=2):
        apart = place[None, :] - place[:, None] + (u, v)
        x = apart[..., 0] * cell.ax + apart[..., 1] * cell.bx
        far = np.hypot(x, apart[..., 1] * cell.by)
        near = (far <= radius[None, :] + radius[:, None] + _NEAR_MM) & (far > 1e-9)
        np.add.at(ends, (sizes[near.nonzero()[0]], sizes[near.nonzero()[1]]), 1.0)
    ends /= max(ends.sum(), 1.0)
    alike = float((ends.sum(axis=0) ** 2).sum())
    return 1.0 if alike > 1.0 - 1e-9 else (float(np.trace(ends)) - alike) / (1.0 - alike)


def striped(cell: Cell) -> float:
    """How much of all that tells sizes apart lies in one long wave: 1 for wide stripes by turns.

    The largest part that one wave of the cell, long enough to be seen, has of the spectrum of which
    stone has which size.
    """
    sizes, place = np.array(cell.size), np.array(cell.places)
    kinds = np.stack([(sizes == s) - (sizes == s).mean() for s in sorted(set(cell.size))])
    whole = len(sizes) * float((kinds**2).sum())
    width, most = math.sqrt(cell.area_mm2 / len(sizes)), 0.0
    for p, q in itertools.product(_WAVES, repeat=2):
        waves_a_mm = math.hypot(p / cell.ax, (q - p * cell.bx / cell.ax) / cell.by)
        if whole > 0.0 and 0.0 < waves_a_mm <= 1.0 / (_LONG * width):
            wave = np.exp(-2j * math.pi * (place @ (p, q)))
            most = max(most, 2.0 * float((np.abs(kinds @ wave) ** 2).sum()) / whole)
    return most
