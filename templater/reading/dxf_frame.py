"""Where an entity lies: from its own plane to the drawing's, in mm."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from templater.model.curves import Transform
from templater.model.problems import Severity

if TYPE_CHECKING:
    from ezdxf.entities import DXFGraphic
    from ezdxf.math import Matrix44

_FLAT = 1e-6
_SAME = 1e-12


def plane_transform(matrix: Matrix44) -> Transform | None:
    """The matrix as it moves the plane, or None if it tips the plane out of the drawing.

    ezdxf keeps points as rows: the rows of the matrix are the images of the axes.
    """
    xx, xy, xz, _ = matrix.get_row(0)
    yx, yy, yz, _ = matrix.get_row(1)
    zx, zy, _zz, _ = matrix.get_row(2)
    ox, oy, _oz, _ = matrix.get_row(3)
    scale = max(abs(xx), abs(xy), abs(yx), abs(yy))
    if max(abs(xz), abs(yz), abs(zx), abs(zy)) > _FLAT * max(scale, _SAME):
        return None
    return Transform(float(xx), float(xy), float(yx), float(yy), float(ox), float(oy))


class Unreadable(Exception):
    """An entity that cannot be taken as it is; `code`, message and mend become a Problem."""

    def __init__(
        self, code: str, message: str, mend: str, severity: Severity = Severity.ERROR
    ) -> None:
        super().__init__(message)
        self.severity = severity
        self.code = code
        self.message = message
        self.mend = mend


NOT_FLAT_MEND = "Flatten it in the drawing (seen from above), or switch its layer off."
_FLAT_MM = 1e-3


@dataclass(frozen=True, slots=True)
class Frame:
    """From an entity's coordinates to the drawing's mm.

    `world` serves entities kept in the coordinates of their layout or block, `plane_of` those kept
    in a plane of their own.
    """

    matrix: Matrix44
    mm: float
    world: Transform

    def plane_of(self, entity: DXFGraphic) -> Transform:
        """For entities with an extrusion direction. Raises Unreadable if it tips the plane."""
        ocs = entity.ocs()
        if not ocs.transform:
            return self.world
        plane = plane_transform(ocs.matrix @ self.matrix)
        if plane is None:
            raise Unreadable(
                "not-flat",
                "it lies in a plane of its own, tipped out of the drawing",
                NOT_FLAT_MEND,
            )
        return plane.then(Transform(a=self.mm, d=self.mm))

    def need_level(self, heights: Iterable[float]) -> None:
        """Raises Unreadable where the heights (z) differ by more than 0.001 mm."""
        low = high = None
        for z in heights:
            low = z if low is None or z < low else low
            high = z if high is None or z > high else high
        if low is not None and high is not None and (high - low) * self.mm > _FLAT_MM:
            raise Unreadable(
                "not-flat",
                f"it rises by {(high - low) * self.mm:.3f} mm out of the drawing's plane",
                NOT_FLAT_MEND,
            )


def seen_from_above(matrix: Matrix44, mm: float) -> Transform:
    """The matrix's part in the plane, tipped or not: good for telling a place, not for reading."""
    xx, xy, _, _ = matrix.get_row(0)
    yx, yy, _, _ = matrix.get_row(1)
    ox, oy, _, _ = matrix.get_row(3)
    flat = Transform(float(xx), float(xy), float(yx), float(yy), float(ox), float(oy))
    return flat.then(Transform(a=mm, d=mm))


def frame_of(matrix: Matrix44, mm: float) -> Frame:
    """The frame of a walk's matrix, which is flat by then."""
    world = plane_transform(matrix)
    if world is None:
        raise Unreadable("not-flat", "it is tipped out of the drawing's plane", NOT_FLAT_MEND)
    return Frame(matrix, mm, world.then(Transform(a=mm, d=mm)))
