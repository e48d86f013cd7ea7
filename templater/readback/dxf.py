"""A written DXF back to circles, paths and texts in mm. Imported only when one is read."""

from __future__ import annotations

import io
import math
from typing import TYPE_CHECKING, cast

from templater.model.curves import Point
from templater.model.facts import CircleFact, SheetFacts, TextFact
from templater.readback.faults import Unreadable
from templater.readback.marks import FLAT_MM, Found, bulge_points, cubic_points

if TYPE_CHECKING:
    from collections.abc import Iterable

    from ezdxf.document import Drawing as Document
    from ezdxf.entities import (
        Arc,
        Circle,
        DXFEntity,
        Ellipse,
        Insert,
        Line,
        LWPolyline,
        Polyline,
        Spline,
        Text,
    )
    from ezdxf.math import Vec3

_MM = {1: 25.4, 2: 304.8, 4: 1.0, 5: 10.0, 6: 1000.0}
# Source: DXF reference, header variable $INSUNITS.
_R12 = "AC1009"
_BACKWARD = 2
_DEEPEST = 32


def read_dxf(data: bytes, file: str) -> SheetFacts:
    """One sheet; its size is how far its content reaches from the origin, which DXF does not frame.

    Raises Unreadable for what is no DXF, has no unit, or holds an entity that is not read back.
    """
    document = _document(data)
    unit = document.header.get("$INSUNITS", 0)
    if document.dxfversion == _R12:
        scale = 1.0  # R12 knows no unit: ours are mm
    elif unit in _MM:
        scale = _MM[unit]
    else:
        raise Unreadable(f"its header names no unit of length ($INSUNITS {unit})")
    reader = _Reader(scale)
    for entity in document.modelspace():
        reader.read(entity, None, 0)
    found = reader.found
    xs = [x for path in found.paths for x, _ in path.points]
    ys = [y for path in found.paths for _, y in path.points]
    xs += [circle.x_mm + circle.diameter_mm / 2 for circle in found.circles]
    ys += [circle.y_mm + circle.diameter_mm / 2 for circle in found.circles]
    return found.facts(file, 1, (max(xs, default=0.0), max(ys, default=0.0)))


def _document(data: bytes) -> Document:
    import ezdxf

    try:
        head = data[:4096].decode("ascii", errors="replace")
        encoding = "cp1252" if _R12 in head else "utf-8"
        return ezdxf.read(io.StringIO(data.decode(encoding)))
    except (ezdxf.DXFError, ValueError, OSError, KeyError, IndexError) as error:
        raise Unreadable(f"is no proper DXF ({error})") from error


def _along_spline(spline: Spline, flat: float) -> Iterable[Vec3]:
    """Points along a spline: a clamped cubic one is a chain of Béziers, whose error is bounded; of
    others ezdxf only tries the middles.
    """
    from ezdxf.math import Vec3

    curve = spline.construction_tool()
    if curve.degree != 3 or curve.is_rational or not curve.is_clamped:
        return spline.flattening(flat, 8)
    points: list[complex] = []
    for four in curve.bezier_decomposition():
        a, b, c, d = (complex(point.x, point.y) for point in four)
        points += [*([] if points else [a]), *cubic_points(a, b, c, d, flat)]
    return [Vec3(point.real, point.imag) for point in points]


class _Reader:
    """Lays every entity down as facts; `inherited` is the layer that "0" stands for in a block."""

    def __init__(self, scale: float) -> None:
        self.found = Found()
        self.scale = scale

    def read(self, entity: DXFEntity, inherited: str | None, depth: int) -> None:
        layer = str(entity.dxf.get("layer", "0"))
        if inherited is not None and layer == "0":
            layer = inherited
        match entity.dxftype():
            case "CIRCLE":
                self._circle(cast("Circle", entity), layer)
            case "LINE":
                line = cast("Line", entity)
                self._path((line.dxf.start, line.dxf.end), layer, curved=False)
            case "ARC":
                self._path(cast("Arc", entity).flattening(FLAT_MM / self.scale), layer)
            case "LWPOLYLINE" | "POLYLINE":
                self._polyline(entity, layer)
            case "SPLINE":
                self._path(_along_spline(cast("Spline", entity), FLAT_MM / self.scale), layer)
            case "ELLIPSE":
                self._path(cast("Ellipse", entity).flattening(FLAT_MM / self.scale, 16), layer)
            case "TEXT":
                self._text(cast("Text", entity), layer)
            case "INSERT":
                if depth >= _DEEPEST:
                    raise Unreadable("its blocks hold one another without end")
                for inner in cast("Insert", entity).virtual_entities():
                    self.read(inner, layer, depth + 1)
            case "POINT":
                self._path((entity.dxf.location,), layer, curved=False)
            case "VIEWPORT":
                return
            case other:
                raise Unreadable(f"holds a {other} on layer {layer!r}, which is not read back")

    def _mm(self, point: Vec3) -> Point:
        x, y = point.x * self.scale, point.y * self.scale
        if not (math.isfinite(x) and math.isfinite(y)):
            raise Unreadable("holds a coordinate that is not finite")
        return (x, y)

    def _path(self, points: Iterable[Vec3], layer: str, *, curved: bool = True) -> None:
        self.found.add_path([self._mm(p) for p in points], layer, closed=False, curved=curved)

    def _circle(self, circle: Circle, layer: str) -> None:
        radius = float(circle.dxf.radius) * self.scale
        if not (math.isfinite(radius) and radius > 0):
            raise Unreadable(f"holds a CIRCLE of radius {radius}")
        centre = self._mm(circle.ocs().to_wcs(circle.dxf.center))
        self.found.circles.append(CircleFact(*centre, 2 * radius, layer))

    def _polyline(self, entity: DXFEntity, layer: str) -> None:
        from ezdxf.math import Vec3

        if entity.dxftype() == "LWPOLYLINE":
            light = cast("LWPolyline", entity)
            corners = [(complex(x, y), b) for x, y, b in light.get_points("xyb")]
            closed, frame = light.closed, light.ocs()
        else:
            heavy = cast("Polyline", entity)
            corners = [
                (complex(v.dxf.location.x, v.dxf.location.y), float(v.dxf.get("bulge", 0.0)))
                for v in heavy.vertices
            ]
            closed, frame = heavy.is_closed, heavy.ocs()
        if not corners:
            raise Unreadable(f"holds a polyline without points on layer {layer!r}")
        ends = corners[1:] + (corners[:1] if closed else [])
        points, curved = [corners[0][0]], False
        for (start, bulge), (end, _) in zip(corners, ends, strict=False):
            points.extend(bulge_points(start, end, bulge, FLAT_MM / self.scale))
            curved = curved or bulge != 0.0
        placed = [self._mm(frame.to_wcs(Vec3(p.real, p.imag))) for p in points]
        self.found.add_path(placed, layer, closed=closed, curved=curved)

    def _text(self, text: Text, layer: str) -> None:
        aligned = text.dxf.get("halign", 0) or text.dxf.get("valign", 0)
        at = text.dxf.get("align_point") if aligned else None
        frame = text.ocs()
        placed = self._mm(frame.to_wcs(at if at is not None else text.dxf.insert))
        backward = bool(int(text.dxf.get("text_generation_flag", 0)) & _BACKWARD)
        turned_over = text.dxf.extrusion.z < 0
        self.found.texts.append(
            TextFact(
                text.dxf.text,
                placed,
                float(text.dxf.height) * self.scale,
                layer,
                backward != turned_over,
            )
        )
