"""SVG path data to points, by svgpathtools' parser. Imported only when an SVG is read."""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterator

from templater.readback.faults import Unreadable
from templater.readback.marks import cubic_points

Points = tuple[list[complex], bool, bool]
"""Points of a subpath, whether it closes, whether anything in it is curved."""


def path_points(data: str, flat: float) -> Iterator[Points]:
    """Each subpath of an SVG path as points within `flat` of it, in the path's own units.

    Raises Unreadable for data that the parser refuses. Arcs are flattened here, before any
    transform: the parser's own transformed arcs are wrong under mirroring.
    """
    from svgpathtools import Arc, CubicBezier, Line, QuadraticBezier, parse_path

    try:
        path = parse_path(data)
    except (ValueError, AssertionError, IndexError, TypeError, ZeroDivisionError) as error:
        raise Unreadable(f"holds path data that cannot be read ({data[:40]!r}: {error})") from error
    points: list[complex] = []
    curved = False
    for segment in path:
        if not points or segment.start != points[-1]:
            if points:
                yield _subpath(points, curved=curved)
            points, curved = [segment.start], False
        match segment:
            case Line():
                points.append(segment.end)
                continue
            case CubicBezier():
                points.extend(_cubic(segment.bpoints(), flat))
            case QuadraticBezier():
                start, middle, end = segment.bpoints()
                points.extend(
                    cubic_points(start, (start + 2 * middle) / 3, (end + 2 * middle) / 3, end, flat)
                )
            case Arc():
                points.extend(_arc(segment.start, segment, flat))
            case _:
                raise Unreadable(f"holds a path segment that is not read back ({segment!r})")
        curved = True
    if points:
        yield _subpath(points, curved=curved)


def _subpath(points: list[complex], *, curved: bool) -> Points:
    if not all(cmath.isfinite(point) for point in points):
        raise Unreadable("holds a path with a number that is not finite")
    return points, len(points) > 2 and abs(points[0] - points[-1]) < 1e-9, curved


def _cubic(corners: tuple[complex, ...], flat: float) -> list[complex]:
    start, control1, control2, end = corners
    return cubic_points(start, control1, control2, end, flat)


def _arc(start: complex, arc: object, flat: float) -> list[complex]:
    """Points after the start of an elliptical arc, from its end points.

    Source: SVG 2, appendix B.2.4 (conversion from endpoint to centre parameterization).
    """
    rx, ry = abs(arc.radius.real), abs(arc.radius.imag)  # type: ignore[attr-defined] # svgpathtools ships no types
    turn = cmath.exp(1j * math.radians(arc.rotation))  # type: ignore[attr-defined] # as above
    end: complex = arc.end  # type: ignore[attr-defined] # as above
    large, sweep = bool(arc.large_arc), bool(arc.sweep)  # type: ignore[attr-defined] # as above
    if rx == 0.0 or ry == 0.0 or start == end:
        return [end]
    half = (start - end) / 2 / turn
    unit = complex(half.real / rx, half.imag / ry)
    far = abs(unit)
    if far > 1.0:
        rx, ry, unit, far = rx * far, ry * far, unit / far, 1.0
    side = math.sqrt(max(0.0, 1.0 / (far * far) - 1.0))
    centre = unit * (1j if large != sweep else -1j) * -side
    first, last = cmath.phase(unit - centre), cmath.phase(-unit - centre)
    swept = (last - first) % (2 * math.pi) if sweep else -((first - last) % (2 * math.pi))
    steps = max(
        4, math.ceil(abs(swept) / (2 * math.acos(max(0.0, 1 - flat / max(rx, ry, flat))) or 1))
    )
    middle = (start + end) / 2
    points = []
    for index in range(1, steps):
        at = cmath.rect(1.0, first + swept * index / steps) + centre
        points.append(middle + complex(at.real * rx, at.imag * ry) * turn)
    return [*points, end]
