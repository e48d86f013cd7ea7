"""TEXT, MTEXT, ATTRIB and POINT entities as notes and points. Imported late."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from ezdxf.math import Vec3

from templater.model.curves import Point, Transform
from templater.model.drawing import PointShape, TextShape
from templater.model.problems import Source
from templater.reading.dxf_frame import Frame, Unreadable
from templater.reading.dxf_words import decoded

if TYPE_CHECKING:
    from ezdxf.entities import DXFEntity, MText, Text


def point_of(entity: DXFEntity, frame: Frame, source: Source) -> PointShape:
    """A POINT."""
    place = entity.dxf.location
    if not all(math.isfinite(value) for value in place.xyz):
        raise Unreadable("not-a-number", "it has a coordinate that is no number", "Delete it.")
    return PointShape(frame.world.apply((place.x, place.y)), source)


def text_of(entity: DXFEntity, frame: Frame, source: Source) -> TextShape | None:
    """A TEXT, ATTRIB or MTEXT, or None for one without letters."""
    if entity.dxftype() == "MTEXT":
        return _mtext(entity, frame, source)  # type: ignore[arg-type]  # told by its type name
    return _text(entity, frame, source)  # type: ignore[arg-type]  # told by its type name


def _text(entity: Text, frame: Frame, source: Source) -> TextShape | None:
    words = decoded(str(entity.plain_text())).strip()
    if not words:
        return None
    plane = frame.plane_of(entity)
    _, first, _ = entity.get_placement()
    place = first if first is not None else entity.dxf.insert
    return _placed(words, (place.x, place.y), entity.dxf.height, entity.dxf.rotation, plane, source)


def _mtext(entity: MText, frame: Frame, source: Source) -> TextShape | None:
    words = decoded(str(entity.plain_text())).strip()
    if not words:
        return None
    if entity.dxf.hasattr("text_direction"):
        along = entity.dxf.text_direction
    else:
        along = entity.ocs().to_wcs(Vec3.from_deg_angle(entity.dxf.get("rotation", 0.0)))
    turn_deg = math.degrees(math.atan2(along.y, along.x))
    place = entity.dxf.insert
    height = entity.dxf.char_height
    return _placed(words, (place.x, place.y), height, turn_deg, frame.world, source)


def _placed(
    words: str, at: Point, height: float, turn_deg: float, plane: Transform, source: Source
) -> TextShape:
    if not all(math.isfinite(value) for value in (*at, height, turn_deg)):
        raise Unreadable(
            "not-a-number", "it has a coordinate that is no number", "Write the text again."
        )
    scale = math.sqrt(abs(plane.determinant))
    return TextShape(words, plane.apply(at), height * scale, plane.turned(turn_deg), source)
