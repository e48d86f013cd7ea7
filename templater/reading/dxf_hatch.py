"""HATCH and MPOLYGON outlines as closed paths. Imported late: what it handles are ezdxf's."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from ezdxf.entities.boundary_paths import (
    ArcEdge,
    EdgePath,
    EllipseEdge,
    LineEdge,
    PolylinePath,
    SplineEdge,
)
from ezdxf.math import arc_angle_span_deg, fit_points_to_cad_cv

from templater.geometry.joining import JOIN_TOLERANCE_MM, join
from templater.model.curves import Line, Path, Transform
from templater.model.problems import Problem, Problems, Severity, Source
from templater.reading.dxf_areas import Islands, Loop
from templater.reading.dxf_conics import Conic, circle_conic
from templater.reading.dxf_curves import bulged_path, conic_path, nurbs_path
from templater.reading.dxf_frame import Frame

if TYPE_CHECKING:
    from ezdxf.entities import DXFEntity, Hatch
    from ezdxf.entities.boundary_paths import AbstractEdge

_ISLANDS = {0: Islands.EVEN_ODD, 1: Islands.OUTER, 2: Islands.IGNORED}
_TEXT_BOX = 8
"""Boundary flag of a box around a text: no outline of the hatch (DXF reference, HATCH, code 92)."""


def hatch_loops(
    entity: DXFEntity, frame: Frame, source: Source, group: int
) -> tuple[list[Loop], Problems]:
    """The outlines of a hatch as the loops of one group. Raises Unreadable."""
    hatch: Hatch = entity  # type: ignore[assignment]  # told by its type name
    plane = frame.plane_of(hatch)
    islands = _ISLANDS.get(hatch.dxf.get("hatch_style", 0), Islands.EVEN_ODD)
    loops: list[Loop] = []
    problems: list[Problem] = []
    for boundary in hatch.paths:
        if boundary.path_type_flags & _TEXT_BOX:
            continue
        paths: tuple[Path, ...] = ()
        if isinstance(boundary, PolylinePath):
            vertices = [(float(x), float(y), float(b)) for x, y, b in boundary.vertices]
            paths = bulged_path(vertices, plane, closed=True)
        elif isinstance(boundary, EdgePath):
            edges = [path for edge in boundary.edges for path in _edge(edge, plane)]
            joined = join([(path, source) for path in edges], JOIN_TOLERANCE_MM)
            paths = tuple(path for path, _ in joined.closed)
            if joined.open or not paths:
                at = joined.open[0][0].end if joined.open else None
                problems.append(
                    Problem(
                        "hatch-open",
                        Severity.WARNING,
                        f"An outline of {source.element} on layer “{source.layer}” does not close; "
                        "it was left out.",
                        "Hatch the area again from a closed outline.",
                        source,
                        at,
                    )
                )
        loops.extend(Loop(path, source, group, islands) for path in paths)
    return loops, tuple(problems)


def _edge(edge: AbstractEdge, plane: Transform) -> tuple[Path, ...]:
    match edge:
        case LineEdge():
            start, end = (
                plane.apply((edge.start.x, edge.start.y)),
                plane.apply((edge.end.x, edge.end.y)),
            )
            return () if start == end else (Path((Line(start, end),), closed=False),)
        case ArcEdge():
            span = arc_angle_span_deg(edge.start_angle, edge.end_angle)
            if not edge.radius > 0.0 or span <= 0.0:
                return ()
            conic = circle_conic(
                (edge.center.x, edge.center.y),
                edge.radius,
                math.radians(edge.start_angle),
                math.tau if span >= 360.0 - 1e-9 else math.radians(span),
            )
            return (conic_path(conic.moved(plane)),)
        case EllipseEdge():
            return _ellipse_edge(edge, plane)
        case SplineEdge():
            return _spline_edge(edge, plane)
        case _:
            return ()


def _ellipse_edge(edge: EllipseEdge, plane: Transform) -> tuple[Path, ...]:
    ellipse = edge.construction_tool()
    major, minor = ellipse.major_axis, ellipse.minor_axis
    if not major.magnitude > 0.0:
        return ()
    span = (ellipse.end_param - ellipse.start_param) % math.tau
    if span <= 1e-9 or span >= math.tau - 1e-9:
        span = math.tau
    conic = Conic(
        (ellipse.center.x, ellipse.center.y),
        (major.x, major.y),
        (minor.x, minor.y),
        ellipse.start_param,
        span,
    )
    return (conic_path(conic.moved(plane)),)


def _spline_edge(edge: SplineEdge, plane: Transform) -> tuple[Path, ...]:
    points, degree = [(p.x, p.y) for p in edge.control_points], edge.degree
    knots, weights = [float(k) for k in edge.knot_values], [float(w) for w in edge.weights]
    if not points:
        if len(edge.fit_points) < 2:
            return ()
        tangents = None
        if edge.start_tangent and edge.end_tangent:
            tangents = (edge.start_tangent, edge.end_tangent)
        curve = fit_points_to_cad_cv(edge.fit_points, tangents=tangents)
        points, degree = [(p.x, p.y) for p in curve.control_points], curve.degree
        knots, weights = [float(k) for k in curve.knots()], []
    return (nurbs_path([plane.apply(p) for p in points], degree, knots, weights, closed=False),)
