"""Path operators of a PDF content stream, drawn with the reading room's pen.

Source: ISO 32000-1, 8.5.2 "Path construction operators".
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from templater.model.curves import Box, Point
from templater.reading.pen import Pen, Subpath

PATH_OPERATORS = frozenset(("m", "l", "c", "v", "y", "h", "re"))


def draw(pen: Pen, operator: str, values: list[float]) -> None:
    """One path operator. A path that does not begin by a move begins where it is drawn to."""
    if not all(math.isfinite(value) for value in values):
        raise ValueError("a coordinate is no number")
    if operator == "re":
        x, y, width, height = values
        pen.move(x, y)
        pen.line(x + width, y)
        pen.line(x + width, y + height)
        pen.line(x, y + height)
        pen.close()
        return
    if operator == "h":
        if pen.subpaths:
            pen.close()
        return
    if operator == "m" or not pen.subpaths:
        pen.move(*values[-2:])
        return
    match operator:
        case "l":
            pen.line(*values)
        case "c":
            pen.cubic(*values)
        case "v":
            x, y = _here(pen)
            pen.cubic(x, y, *values)
        case _:  # y: the second handle lies on the end
            x1, y1, x, y = values
            pen.cubic(x1, y1, x, y, x, y)


def _here(pen: Pen) -> Point:
    """The pen's place in user units."""
    now = pen.subpaths[-1]
    at = now.segments[-1].end if now.segments and not now.closed else now.start
    t, determinant = pen.transform, pen.transform.determinant
    if determinant == 0.0:
        raise ValueError("a transform flattens everything")
    x, y = at[0] - t.e, at[1] - t.f
    return ((t.d * x - t.c * y) / determinant, (t.a * y - t.b * x) / determinant)


def lifted(pen: Pen, *, closes: bool) -> list[Subpath]:
    if closes and pen.subpaths and not pen.subpaths[-1].closed:
        pen.close()
    return pen.lift()


def clip_box(drawn: Sequence[Subpath]) -> tuple[Box, bool] | None:
    """The box of a clip, and whether the clip is that upright rectangle; None for no clip."""
    points = [p for s in drawn for p in (s.start, *(g.end for g in s.segments))]
    if not points:
        return None
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    box = (min(xs), min(ys), max(xs), max(ys))
    corners = {(x, y) for x in (box[0], box[2]) for y in (box[1], box[3])}
    upright = len(drawn) == 1 and all(
        any(math.dist(point, corner) < 1e-3 for corner in corners) for point in points
    )
    return box, upright
