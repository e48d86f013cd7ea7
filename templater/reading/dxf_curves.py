"""One DXF entity as paths in mm: lines stay lines, arcs arcs, splines exact cubics.

Kept by itself from ezdxf's own `make_path`, which turns arcs into Béziers with an error of 0.027 %
of the radius. Imported late: what it handles are ezdxf's entities.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from ezdxf.math import Vec3, arc_angle_span_deg, fit_points_to_cad_cv

from templater.model.curves import Line, Path, Point, Segment, Transform
from templater.model.problems import Severity
from templater.reading.dxf_conics import Conic, circle_conic, conic_segments, moved_bulge
from templater.reading.dxf_frame import Frame, Unreadable
from templater.reading.dxf_nurbs import BadSpline, spline_segments

if TYPE_CHECKING:
    from ezdxf.entities import (
        Arc as DxfArc,
    )
    from ezdxf.entities import (
        Circle,
        DXFEntity,
        Ellipse,
        Face3d,
        LWPolyline,
        MLine,
        Polyline,
        Solid,
        Spline,
    )
    from ezdxf.entities import Line as DxfLine

Bulged = tuple[float, float, float]
"""x, y, bulge to the next vertex."""
_TAU_HAIR = 1e-9
_POINT_HAIR = 1e-9
DEGENERATE_MEND = "Delete it in the drawing, or draw it again."


def nothing_there(code: str, message: str) -> Unreadable:
    """For an entity without any extent: it is left out, with a warning."""
    return Unreadable(code, message, DEGENERATE_MEND, Severity.WARNING)


def paths_of(entity: DXFEntity, frame: Frame) -> tuple[Path, ...] | None:
    """The entity's paths, or None for a kind that is no curve. Raises Unreadable."""
    reader = _READERS.get(entity.dxftype())
    return None if reader is None else reader(entity, frame)


def bulged_path(
    vertices: Sequence[Bulged], transform: Transform, *, closed: bool
) -> tuple[Path, ...]:
    """A polyline with bulges; vertices drawn twice are skipped. Raises Unreadable."""
    _need_finite(value for vertex in vertices for value in vertex)
    segments: list[Segment] = []
    count = len(vertices)
    for i in range(count if closed else count - 1):
        x0, y0, bulge = vertices[i]
        x1, y1, _ = vertices[(i + 1) % count]
        if abs(x1 - x0) <= _POINT_HAIR and abs(y1 - y0) <= _POINT_HAIR:
            continue
        segments.extend(moved_bulge((x0, y0), (x1, y1), bulge, transform))
    if not segments:
        raise nothing_there("polyline-empty", f"it has {count} vertices, all in one place")
    return (chained(segments, closed=closed),)


def chained(segments: Sequence[Segment], *, closed: bool) -> Path:
    """Segments that meet within a rounding error, made to meet to the bit."""
    from templater.geometry.joining import ended_at, started_at

    linked = [segments[0]]
    for segment in segments[1:]:
        at = linked[-1].end
        linked.append(segment if segment.start == at else started_at(segment, at))
    if closed and linked[-1].end != linked[0].start:
        linked[-1] = ended_at(linked[-1], linked[0].start)
    return Path(tuple(linked), closed)


def nurbs_path(
    points: Sequence[Point],
    degree: int,
    knots: Sequence[float],
    weights: Sequence[float],
    *,
    closed: bool,
) -> Path:
    """A spline whose points are in mm already. Raises Unreadable for one that is no curve."""
    try:
        segments = spline_segments(points, degree, knots, weights)
    except BadSpline as error:
        raise Unreadable("spline-invalid", f"it is no curve: {error}", DEGENERATE_MEND) from error
    closes = closed and math.dist(segments[0].start, segments[-1].end) <= 1e-6
    return chained(segments, closed=closes)


def conic_path(conic: Conic) -> Path:
    """An arc or a whole turn."""
    whole = abs(abs(conic.sweep) - math.tau) <= _TAU_HAIR
    return Path(conic_segments(conic, whole=whole), closed=whole)


def _need_finite(values: object) -> None:
    for value in values:  # type: ignore[attr-defined]  # any iterable of floats
        if not math.isfinite(value):
            raise Unreadable(
                "not-a-number", "it has a coordinate that is no number", DEGENERATE_MEND
            )


def _line(entity: DxfLine, frame: Frame) -> tuple[Path, ...]:
    start, end = entity.dxf.start, entity.dxf.end
    _need_finite((*start.xyz, *end.xyz))
    frame.need_level((start.z, end.z))
    at = frame.world.apply
    return (Path((Line(at((start.x, start.y)), at((end.x, end.y))),), closed=False),)


def _circle(entity: Circle, frame: Frame) -> tuple[Path, ...]:
    return (_arc_path(entity, frame, 0.0, 360.0),)


def _arc(entity: DxfArc, frame: Frame) -> tuple[Path, ...]:
    start, end = entity.dxf.start_angle, entity.dxf.end_angle
    _need_finite((start, end))
    span = arc_angle_span_deg(start, end)
    if span <= 0.0:
        raise nothing_there("arc-empty", "it spans no angle")
    return (_arc_path(entity, frame, start, span),)


def _arc_path(entity: Circle, frame: Frame, start_deg: float, span_deg: float) -> Path:
    centre, radius = entity.dxf.center, entity.dxf.radius
    _need_finite((*centre.xyz, radius))
    if not radius > 0.0:
        raise nothing_there("no-radius", f"its radius is {radius:g}")
    sweep = math.tau if span_deg >= 360.0 - 1e-9 else math.radians(span_deg)
    conic = circle_conic((centre.x, centre.y), radius, math.radians(start_deg), sweep)
    return conic_path(conic.moved(frame.plane_of(entity)))


def _ellipse(entity: Ellipse, frame: Frame) -> tuple[Path, ...]:
    centre, major = entity.dxf.center, entity.dxf.major_axis
    minor = entity.minor_axis
    start, end = entity.dxf.start_param, entity.dxf.end_param
    _need_finite((*centre.xyz, *major.xyz, *minor.xyz, start, end))
    frame.need_level((0.0, major.z, minor.z))
    if not major.magnitude > 0.0:
        raise nothing_there("no-radius", "its main axis has no length")
    span = (end - start) % math.tau
    if span <= _TAU_HAIR or span >= math.tau - _TAU_HAIR:
        span = math.tau
    conic = Conic((centre.x, centre.y), (major.x, major.y), (minor.x, minor.y), start, span)
    return (conic_path(conic.moved(frame.world)),)


def _spline(entity: Spline, frame: Frame) -> tuple[Path, ...]:
    at = frame.world.apply
    weights = [float(weight) for weight in entity.weights]
    if len(entity.control_points):
        points = [(float(x), float(y), float(z)) for x, y, z in entity.control_points]
        degree, knots = entity.dxf.degree, [float(knot) for knot in entity.knots]
        if not knots:
            raise Unreadable("spline-invalid", "it has no knots", DEGENERATE_MEND)
    elif len(entity.fit_points):
        points, degree, knots = _through(entity)
        weights = []
    else:
        raise nothing_there("spline-invalid", "it has no points")
    _need_finite(value for point in points for value in point)
    _need_finite((*knots, *weights))
    frame.need_level(z for _, _, z in points)
    path = nurbs_path(
        [at((x, y)) for x, y, _ in points], degree, knots, weights, closed=entity.closed
    )
    return (path,)


def _through(entity: Spline) -> tuple[list[tuple[float, float, float]], int, list[float]]:
    """A spline given by the points it runs through, as CAD programs interpolate them."""
    if len(entity.fit_points) < 2:
        raise nothing_there("spline-invalid", "it has one fit point")
    tangents = None
    if entity.dxf.hasattr("start_tangent") and entity.dxf.hasattr("end_tangent"):
        tangents = [entity.dxf.start_tangent, entity.dxf.end_tangent]
    points = Vec3.list(entity.fit_points)
    if entity.closed and not points[0].isclose(points[-1]):
        points.append(points[0])
    curve = fit_points_to_cad_cv(points, tangents=tangents)
    return [p.xyz for p in curve.control_points], curve.degree, [float(k) for k in curve.knots()]


def _lwpolyline(entity: LWPolyline, frame: Frame) -> tuple[Path, ...]:
    vertices = [(float(x), float(y), float(b)) for x, y, b in entity.get_points("xyb")]
    return bulged_path(vertices, frame.plane_of(entity), closed=entity.closed)


def width_of(entity: DXFEntity) -> float:
    """A polyline's width in drawing units if it is the same all along, else 0."""
    widths: set[float] = set()
    if entity.dxftype() == "LWPOLYLINE":
        if constant := float(entity.dxf.get("const_width", 0.0)):
            return constant
        points = entity.get_points("se")  # type: ignore[attr-defined]  # told by its type name
        widths = {float(width) for ends in points for width in ends}
    elif entity.dxftype() == "POLYLINE":
        widths = {float(entity.dxf.get(f"default_{end}_width", 0.0)) for end in ("start", "end")}
    return widths.pop() if len(widths) == 1 else 0.0


def _polyline(entity: Polyline, frame: Frame) -> tuple[Path, ...]:
    if entity.is_polygon_mesh or entity.is_poly_face_mesh:
        raise Unreadable(
            "not-flat", "it is a three-dimensional mesh", "Draw its outline as a polyline."
        )
    # vertices that only steer a spline-fitted polyline are not on it (flag 16)
    shown = [vertex for vertex in entity.vertices if not vertex.dxf.flags & 16]
    places = [vertex.dxf.location for vertex in shown]
    if entity.is_2d_polyline:
        bulges = [float(vertex.dxf.get("bulge", 0.0)) for vertex in shown]
        transform = frame.plane_of(entity)
    else:
        _need_finite(place.z for place in places)
        frame.need_level(place.z for place in places)
        bulges = [0.0] * len(shown)
        transform = frame.world
    vertices = [(p.x, p.y, b) for p, b in zip(places, bulges, strict=True)]
    return bulged_path(vertices, transform, closed=entity.is_closed)


def _solid(entity: Solid, frame: Frame) -> tuple[Path, ...]:
    corners = entity.vertices()  # in the order they are drawn round
    return bulged_path([(p.x, p.y, 0.0) for p in corners], frame.plane_of(entity), closed=True)


def _face(entity: Face3d, frame: Frame) -> tuple[Path, ...]:
    corners = entity.wcs_vertices()
    _need_finite(p.z for p in corners)
    frame.need_level(p.z for p in corners)
    return bulged_path([(p.x, p.y, 0.0) for p in corners], frame.world, closed=True)


def _mline(entity: MLine, frame: Frame) -> tuple[Path, ...]:
    return tuple(path for part in entity.virtual_entities() for path in paths_of(part, frame) or ())


_READERS: dict[str, Callable[..., tuple[Path, ...]]] = {
    "LINE": _line,
    "CIRCLE": _circle,
    "ARC": _arc,
    "ELLIPSE": _ellipse,
    "SPLINE": _spline,
    "LWPOLYLINE": _lwpolyline,
    "POLYLINE": _polyline,
    "SOLID": _solid,
    "TRACE": _solid,
    "3DFACE": _face,
    "MLINE": _mline,
}
