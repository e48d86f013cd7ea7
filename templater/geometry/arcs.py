"""Circular arcs cut into equal parts, and as cubic curves within a stated error."""

from __future__ import annotations

import math
from itertools import pairwise

from templater.geometry.flatten import arc_centre
from templater.model.curves import Arc, Cubic


def split_arc(arc: Arc, most_deg: float) -> tuple[Arc, ...]:
    """The arc in equal parts of at most `most_deg` degrees each; ends kept to the bit.

    A straight "arc" (bulge 0) comes back whole. Raises ValueError for a limit that is not positive.
    """
    if not most_deg > 0.0:
        raise ValueError("the largest sweep must be positive")
    if arc.bulge == 0.0 or arc.start == arc.end:
        return (arc,)
    (cx, cy), radius, sweep = arc_centre(arc)
    parts = max(1, math.ceil(math.degrees(abs(sweep)) / most_deg - 1e-9))
    if parts == 1:
        return (arc,)
    first = math.atan2(arc.start[1] - cy, arc.start[0] - cx)
    corners = [
        arc.start,
        *(
            (
                cx + radius * math.cos(first + sweep * i / parts),
                cy + radius * math.sin(first + sweep * i / parts),
            )
            for i in range(1, parts)
        ),
        arc.end,
    ]
    bulge = math.tan(sweep / parts / 4.0)
    return tuple(Arc(a, b, bulge) for a, b in pairwise(corners))


def arc_cubics(arc: Arc, most_deg: float = 22.5) -> tuple[Cubic, ...]:
    """The arc as cubic curves, one for each `most_deg` degrees.

    The handles are (4/3)·tan(sweep/4) of the radius; the largest error is about
    2.7e-4·(most_deg/90)⁶ of the radius: 7e-8 of it at 22.5° (0.00003 mm at a radius of 500 mm).
    Source: the usual approximation, e.g. Goldapp 1991, Computer Aided Geometric Design 8 (from memory).
    """
    cubics = []
    for part in split_arc(arc, most_deg):
        if part.bulge == 0.0 or part.start == part.end:
            cubics.append(Cubic(part.start, part.start, part.end, part.end))
            continue
        (cx, cy), _, _ = arc_centre(part)
        reach = 4.0 / 3.0 * part.bulge
        (x0, y0), (x1, y1) = part.start, part.end
        cubics.append(
            Cubic(
                part.start,
                (x0 - reach * (y0 - cy), y0 + reach * (x0 - cx)),
                (x1 + reach * (y1 - cy), y1 - reach * (x1 - cx)),
                part.end,
            )
        )
    return tuple(cubics)
