"""A bodice front with a dart, drawn by hand: tip at (150, 100), legs to (140, 0) and (160, 0)."""

from __future__ import annotations

import math

from templater.geometry.polygons import polyline
from templater.ground import build_ground
from templater.job import load_job
from templater.model.curves import Arc, Area, Line, Path
from templater.model.drawing import AreaShape, Drawing, DrawingLayer, LineShape
from templater.model.problems import Source

TIP, LEFT, RIGHT = (150.0, 100.0), (140.0, 0.0), (160.0, 0.0)
THETA = 2.0 * math.atan(0.1)
"""The dart's angle."""
LEG = math.sqrt(1.01)
"""Millimetres of leg to a millimetre of height."""
PLAIN = '[zones.band]\nweb = false\nallowance = 5\n[pieces.front]\nmake = "single"\n'


def area(*points) -> Area:
    return Area(polyline(points, closed=True))


def box(x0, y0, x1, y1) -> Area:
    return area((x0, y0), (x1, y0), (x1, y1), (x0, y1))


def legs(left=LEFT, tip=TIP, right=RIGHT) -> Path:
    return polyline([left, tip, right], closed=False)


def fan(tip, inner, outer, first, last) -> Area:
    """A band between two arcs about the tip, from one direction to another, in radians."""

    def at(radius, turn):
        return (tip[0] + radius * math.cos(turn), tip[1] + radius * math.sin(turn))

    bulge = math.tan((last - first) / 4.0)
    a, b, c, d = at(outer, first), at(outer, last), at(inner, last), at(inner, first)
    return Area(Path((Arc(a, b, bulge), Line(b, c), Arc(c, d, -bulge), Line(d, a)), closed=True))


def drawing(layers) -> Drawing:
    def shape(name, k, item):
        source = Source("bodice.svg", name, f"shape {k}")
        return AreaShape(item, source) if isinstance(item, Area) else LineShape(item, source)

    return Drawing(
        "bodice.svg",
        tuple(
            DrawingLayer(name, tuple(shape(name, k, item) for k, item in enumerate(items)))
            for name, items in layers.items()
        ),
        (300.0, 400.0),
        "mm",
    )


def with_dart(dart=None, piece=None, **zones):
    """Layers of a front with a dart "bust" and zones."""
    layers = {"piece front": [piece or box(0, 0, 300, 400)], "dart bust": [dart or legs()]}
    return {**layers, **{f"zone {name}": [shape] for name, shape in zones.items()}}


def grounded(layers, job=PLAIN):
    """The ground, the job, and what was found."""
    read, problems = load_job(f'drawing = "bodice.svg"\n{job}', "bodice.toml")
    assert read is not None, problems
    ground, problems = build_ground(drawing(layers), read)
    return ground, read, problems


def closed(at, tip=TIP, left=LEFT, right=RIGHT):
    """A place on the right of a dart, turned about its tip with its leg onto the left one."""
    turn = math.atan2(left[1] - tip[1], left[0] - tip[0]) - math.atan2(
        right[1] - tip[1], right[0] - tip[0]
    )
    dx, dy = at[0] - tip[0], at[1] - tip[1]
    c, s = math.cos(turn), math.sin(turn)
    return (tip[0] + c * dx - s * dy, tip[1] + s * dx + c * dy)
