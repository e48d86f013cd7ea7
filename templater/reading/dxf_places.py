"""Where an entity stands, for messages about entities that cannot be read. Imported late."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from templater.model.curves import Point
from templater.reading.dxf_frame import Frame

if TYPE_CHECKING:
    from ezdxf.entities import DXFEntity

_ANCHORS = ("insert", "location", "center", "start", "vtx0", "defpoint")
_OF_A_PLANE = {"insert", "center", "vtx0"}


def place_of(entity: DXFEntity, frame: Frame) -> Point | None:
    """A point of the entity, in mm, or None where it has none that can be told."""
    try:
        name, found = _anchor(entity)
        if name in _OF_A_PLANE and entity.dxftype() not in ("MTEXT", "ELLIPSE"):
            found = entity.ocs().to_wcs(found)  # type: ignore[attr-defined]  # graphic entities have it
        at = frame.world.apply((float(found[0]), float(found[1])))
    except Exception:  # noqa: BLE001  an entity too broken to be placed is named all the same
        return None
    return at if math.isfinite(at[0]) and math.isfinite(at[1]) else None


def _anchor(entity: Any) -> tuple[str, Any]:
    from ezdxf.math import Vec3

    for name in _ANCHORS:
        if entity.dxf.hasattr(name):
            return name, Vec3(entity.dxf.get(name))
    match entity.dxftype():
        case "LWPOLYLINE":
            x, y = entity[0][:2]
            return "insert", Vec3(x, y)
        case "POLYLINE":
            return "vertex", Vec3(entity.vertices[0].dxf.location)
        case "SPLINE":
            points = entity.control_points if len(entity.control_points) else entity.fit_points
            return "point", Vec3(points[0])
        case _:
            return "point", Vec3(entity.vertices[0])


def told(at: Point | None) -> str:
    """The place in words, to follow the entity's name; nothing where there is none."""
    return f" at x {at[0]:.2f}, y {at[1]:.2f} mm" if at is not None else ""
