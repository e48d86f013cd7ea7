"""Bringing a repeating pattern of a few sizes to its tightest for the sizes at hand. Import late.

A weave is a cell of a few stones that repeats along two directions. Stones push each other apart
with a force in line with how much they overlap, while a pressure that dies away draws the cell
together; both the stones and the cell give way, until the stones just touch.
Source: E. Bitzek and others, Structural relaxation made simple, Physical Review Letters 97, 170201,
2006 (the way of moving; from memory).
"""

from __future__ import annotations

import math
from typing import NamedTuple

from templater.geometry.kernels.compiled import (
    Reals,
    Wholes,
    column,
    counters,
    kernel,
    zeros,
)

_PRESSURES = ((0.1, 400), (0.01, 500), (0.001, 700), (0.0001, 900))
"""Pressures (the strain, in mm², that a mm² of cell is worth), and moves under each."""
_STIRRED = 15
"""Moves after which neighbours are listed anew."""
_SKIN_MM = 0.6
_FAR_CELLS = 4
_PAIRS_EACH = 40
_FIRST_STEP, _LONGEST_STEP, _MIX = 0.1, 0.5, 0.1
_STILL = 1e-13
_NARROWEST = 1.0
"""Cells that have become narrower than this many mean radii have collapsed."""
_SETTLED = 1.02
"""A cell that must grow more than this to be free of overlaps has not come to rest."""
_MEAN_MM = 2.0
"""Patterns are drawn together at this mean radius, so that pressures mean the same for every size."""


class Cell(NamedTuple):
    """A cell: each stone's size, its place as parts of the two sides, the sides (`ax`, 0), (`bx`, `by`) in mm."""

    size: tuple[int, ...]
    places: tuple[tuple[float, float], ...]
    ax: float
    bx: float
    by: float

    @property
    def area_mm2(self) -> float:
        """What the cell takes up."""
        return self.ax * self.by


@kernel
def list_pairs(at: Reals, grown: Reals, pairs: Wholes, skin: float) -> int:
    """Lists which stones are near which repeats of which: two stones and two shifts each; how many."""
    count = len(grown)
    ax = at[2 * count]
    bx = at[2 * count + 1]
    by = at[2 * count + 2]
    held = 0
    for i in range(count):
        for j in range(i, count):
            for v in range(-_FAR_CELLS, _FAR_CELLS + 1):
                for u in range(-_FAR_CELLS, _FAR_CELLS + 1):
                    if i == j and (v < 0 or (v == 0 and u <= 0)):
                        continue
                    p = at[2 * j] - at[2 * i] + u
                    q = at[2 * j + 1] - at[2 * i + 1] + v
                    x = p * ax + q * bx
                    y = q * by
                    far = grown[i] + grown[j] + skin
                    if x * x + y * y < far * far and 4 * held + 4 <= len(pairs):
                        pairs[4 * held] = i
                        pairs[4 * held + 1] = j
                        pairs[4 * held + 2] = u
                        pairs[4 * held + 3] = v
                        held += 1
    return held


@kernel
def slopes(at: Reals, grown: Reals, pairs: Wholes, held: int, pressure: float, out: Reals) -> None:
    """How the strain of all pairs and the pressed cell grow with each number that places are told by."""
    count = len(grown)
    ax = at[2 * count]
    bx = at[2 * count + 1]
    by = at[2 * count + 2]
    for k in range(2 * count):
        out[k] = 0.0
    out[2 * count] = pressure * by
    out[2 * count + 1] = 0.0
    out[2 * count + 2] = pressure * ax
    for k in range(held):
        i = int(pairs[4 * k])
        j = int(pairs[4 * k + 1])
        p = at[2 * j] - at[2 * i] + pairs[4 * k + 2]
        q = at[2 * j + 1] - at[2 * i + 1] + pairs[4 * k + 3]
        x = p * ax + q * bx
        y = q * by
        want = grown[i] + grown[j]
        squared = x * x + y * y
        if squared < want * want:
            far = squared**0.5 + 1e-12
            push = -2.0 * (want - far) / far
            out[2 * j] += push * x * ax
            out[2 * i] -= push * x * ax
            out[2 * j + 1] += push * (x * bx + y * by)
            out[2 * i + 1] -= push * (x * bx + y * by)
            out[2 * count] += push * x * p
            out[2 * count + 1] += push * x * q
            out[2 * count + 2] += push * y * q


@kernel
def draw_together(
    at: Reals,
    grown: Reals,
    pairs: Wholes,
    slope: Reals,
    speed: Reals,
    light: Reals,
    pressure: float,
    moves: int,
) -> None:
    """Moves stones and cell downhill under a pressure, faster as long as it goes down."""
    count = len(grown)
    numbers = 2 * count + 3
    for k in range(numbers):
        speed[k] = 0.0
    step = _FIRST_STEP
    mix = _MIX
    downhill = 0
    held = 0
    for move in range(moves):
        if move % _STIRRED == 0:
            held = list_pairs(at, grown, pairs, _SKIN_MM)
            side = at[2 * count + 1] * at[2 * count + 1] + at[2 * count + 2] * at[2 * count + 2]
            for k in range(count):
                light[2 * k] = 1.0 / (at[2 * count] * at[2 * count])
                light[2 * k + 1] = 1.0 / side
            for k in range(2 * count, numbers):
                light[k] = 1.0 / count
        slopes(at, grown, pairs, held, pressure, slope)
        power = 0.0
        fast = 0.0
        steep = 0.0
        for k in range(numbers):
            power -= slope[k] * speed[k]
            fast += speed[k] * speed[k] / light[k]
            steep += slope[k] * slope[k] * light[k]
        if steep < _STILL * pressure:
            return
        if power > 0.0:
            turn = mix * (fast / steep) ** 0.5
            for k in range(numbers):
                speed[k] = (1.0 - mix) * speed[k] - turn * slope[k] * light[k]
            downhill += 1
            if downhill > 5:
                step = min(step * 1.1, _LONGEST_STEP)
                mix *= 0.99
        else:
            downhill = 0
            step *= 0.5
            mix = _MIX
            for k in range(numbers):
                speed[k] = 0.0
        for k in range(numbers):
            speed[k] -= step * slope[k] * light[k]
            at[k] += step * speed[k]
        if at[2 * count] < _NARROWEST or at[2 * count + 2] < _NARROWEST:
            return


@kernel
def widening(at: Reals, grown: Reals, pairs: Wholes) -> float:
    """By how much the cell must be scaled so that no two stones overlap."""
    held = list_pairs(at, grown, pairs, _SKIN_MM)
    count = len(grown)
    most = 0.0
    for k in range(held):
        i = int(pairs[4 * k])
        j = int(pairs[4 * k + 1])
        p = at[2 * j] - at[2 * i] + pairs[4 * k + 2]
        q = at[2 * j + 1] - at[2 * i + 1] + pairs[4 * k + 3]
        x = p * at[2 * count] + q * at[2 * count + 1]
        y = q * at[2 * count + 2]
        most = max(most, (grown[i] + grown[j]) / ((x * x + y * y) ** 0.5 + 1e-12))
    return most


def tightened(cell: Cell, grown: tuple[float, ...]) -> Cell | None:
    """The cell for stones of these grown radii (mm): as tight as it goes without an overlap.

    The pattern is kept only as far as the sizes allow; None where it collapses or finds no rest.
    """
    count = len(cell.size)
    scale = _MEAN_MM * count / sum(grown[size] for size in cell.size)
    radii = column([grown[size] * scale for size in cell.size])
    # A cell as wide as its stones need, with a little room to turn in.
    wide = math.sqrt(sum(4.0 * radius * radius for radius in radii) / cell.area_mm2)
    cell = cell._replace(ax=cell.ax * wide, bx=cell.bx * wide, by=cell.by * wide)
    pairs, numbers = counters(4 * _PAIRS_EACH * count), 2 * count + 3
    slope, speed, light = zeros(numbers), zeros(numbers), zeros(numbers)
    for pressure, moves in _PRESSURES:
        cell = squared_up(cell)
        at = _numbers(cell)
        draw_together(at, radii, pairs, slope, speed, light, pressure, moves)
        ax, bx, by = (float(at[2 * count + k]) for k in range(3))
        if ax < _NARROWEST or by < _NARROWEST:
            return None
        places = tuple((float(at[2 * k]), float(at[2 * k + 1])) for k in range(count))
        cell = Cell(cell.size, places, ax, bx, by)
    cell = squared_up(cell)
    grow = float(widening(_numbers(cell), radii, pairs))
    if grow > _SETTLED:
        return None
    grow /= scale
    return cell._replace(ax=cell.ax * grow, bx=cell.bx * grow, by=cell.by * grow)


def squared_up(cell: Cell) -> Cell:
    """The same pattern told by the shortest sides it has, each stone within the cell.

    Source: J. L. Lagrange, Recherches d'arithmétique, 1773: reducing a form of two variables (from
    memory).
    """
    places, ax, bx, by = cell.places, cell.ax, cell.bx, cell.by
    while True:
        over = math.floor(bx / ax + 0.5)
        bx -= over * ax
        places = tuple((p + over * q, q) for p, q in places)
        length = math.hypot(bx, by)
        if length >= ax * (1.0 - 1e-9):
            break
        # The second side becomes the first, the first one turned about the second.
        ax, bx, by = length, -ax * bx / length, ax * by / length
        places = tuple((q, -p) for p, q in places)
    places = tuple((p - math.floor(p), q - math.floor(q)) for p, q in places)
    return Cell(cell.size, places, ax, bx, by)


def _numbers(cell: Cell) -> Reals:
    """All numbers that tell a cell, in the order in which kernels take them."""
    places = [part for place in cell.places for part in place]
    return column([*places, cell.ax, cell.bx, cell.by])
