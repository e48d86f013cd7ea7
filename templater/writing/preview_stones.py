"""What a stone looks like: polygons about its centre, cut and lit, each finish with a mark of its own.

Light comes from the upper left. Finishes differ in shape, not only in colour: the first shows a
plain table, the second a glint of four rays, the third a ring, the fourth a bar, then again.
"""

from __future__ import annotations

import math

from templater.catalogue.colours import colour_or_neutral, mixed
from templater.geometry.flatten import flatten
from templater.geometry.stone_shapes import stone_path
from templater.model.curves import Point, Ring
from templater.model.stones import StoneShape

Facets = tuple[tuple[Ring, str], ...]
_TABLE = 0.52
_LIGHT = (-0.6, 0.8)
_TINTS = ("#ff9ecb", "#8fd8ff", "#c8ff9e", "#ffd27f")


def stone_facets(
    shape: StoneShape, length_mm: float, width_mm: float, turn_deg: float, colour: str, mark: int
) -> Facets:
    """Polygons in mm about the stone's centre, to be painted in order. `colour` is the stone's by
    name, `mark` the finish's number from 0.
    """
    base = colour_or_neutral(colour)
    outline = _turned(
        flatten(stone_path(shape, length_mm, width_mm), max(width_mm, 0.1) / 60.0), turn_deg
    )
    corners = _girdle(shape, outline)
    table = tuple((x * _TABLE, y * _TABLE) for x, y in corners)
    facets: list[tuple[Ring, str]] = [(outline, mixed(base, "#000000", 0.35))]
    for i, (outer, inner) in enumerate(zip(corners, table, strict=True)):
        j = (i + 1) % len(corners)
        facets.append(
            ((outer, corners[j], table[j], inner), _lit(base, outer, corners[j], i, mark))
        )
    facets.append((table, mixed(base, "#ffffff", 0.3)))
    facets.extend(_finish_mark(mark, base, width_mm, turn_deg))
    return tuple(facets)


def _turned(ring: Ring, turn_deg: float) -> Ring:
    c, s = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
    return tuple((c * x - s * y, s * x + c * y) for x, y in ring)


def _girdle(shape: StoneShape, outline: Ring) -> Ring:
    """The corners the facets spring from: eight of a round one, else every sharp one and some between."""
    if shape is StoneShape.ROUND:
        step = len(outline) / 8.0
        return tuple(outline[int(i * step)] for i in range(8))
    step = max(1, len(outline) // 8)
    return outline[::step]


def _lit(base: str, start: Point, end: Point, number: int, mark: int) -> str:
    """A facet's colour by the way it faces; a coated finish tints every other facet."""
    x, y = (start[0] + end[0]) / 2.0, (start[1] + end[1]) / 2.0
    facing = (x * _LIGHT[0] + y * _LIGHT[1]) / (math.hypot(x, y) or 1.0)
    colour = (
        mixed(base, "#ffffff", 0.55 * facing)
        if facing > 0.0
        else mixed(base, "#000000", 0.3 * -facing)
    )
    if mark and number % 2:
        colour = mixed(colour, _TINTS[(number // 2 + mark) % len(_TINTS)], 0.45)
    return colour


def _finish_mark(mark: int, base: str, width_mm: float, turn_deg: float) -> list[tuple[Ring, str]]:
    r = width_mm / 2.0
    match mark % 4:
        case 1:
            rays = [
                (r * (0.62 if i % 2 == 0 else 0.13), math.radians(45.0 * i + 90.0))
                for i in range(8)
            ]
            return [(tuple((d * math.cos(a), d * math.sin(a)) for d, a in rays), "#ffffff")]
        case 2:
            circles = ((0.36, mixed(base, "#000000", 0.55)), (0.22, mixed(base, "#ffffff", 0.3)))
            return [(_round(r * share), colour) for share, colour in circles]
        case 3:
            bar = (
                (-0.4 * r, -0.12 * r),
                (0.4 * r, -0.12 * r),
                (0.4 * r, 0.12 * r),
                (-0.4 * r, 0.12 * r),
            )
            return [(_turned(bar, turn_deg), mixed(base, "#000000", 0.6))]
        case _:
            return []


def _round(radius: float) -> Ring:
    return tuple(
        (radius * math.cos(math.tau * i / 12), radius * math.sin(math.tau * i / 12))
        for i in range(12)
    )
