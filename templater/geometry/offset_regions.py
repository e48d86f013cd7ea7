"""Pieceworks joined to regions, and regions back to curves. Imports shapely inside functions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from templater.geometry.faces import Faces
from templater.geometry.offset_curves import Bend, Curve, Piecework
from templater.geometry.offset_smooth import smoothed
from templater.geometry.offset_trace import Tracer
from templater.geometry.polygons import polygons_in, rings_of, sound
from templater.geometry.slits import healed
from templater.model.curves import Area, Path, Ring

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

    from templater.geometry.faces import Mask

_FIT_SHARE = 0.05
_SMOOTH_SHARE = 0.6
"""Of the tolerance: for arcs in place of Béziers, and for few cubics in place of those arcs. The
rest is left to writers of formats that know no cubics."""
_FLAT_SHARE = 0.1
"""Decides only which curves meet where; the curves and their crossings are exact."""
_LEAST_AREA_MM2 = 1e-9


def shares(tolerance_mm: float) -> tuple[float, float]:
    """What of the tolerance fitting and flattening may take. Raises ValueError if not positive."""
    if not tolerance_mm > 0.0:
        raise ValueError("the tolerance must be positive")
    return tolerance_mm * _FIT_SHARE, tolerance_mm * _FLAT_SHARE


@dataclass(frozen=True, slots=True)
class Beneath:
    """A region and what it has beneath covers: all of it, itself, and what the covers hide."""

    whole: BaseGeometry
    plain: BaseGeometry
    hidden: BaseGeometry


def joined(work: Piecework) -> BaseGeometry:
    """The source with its strips added and taken off, as flat polygons; empty without a source.

    Of a strip whose middle is cut away nothing stays that hangs together with none of the source.
    """
    import shapely

    shapes = _shapes(work)
    faces = Faces(shapes.all)
    source = faces.within(shapes.source)
    parts = polygons_in(faces.joined(_mask(faces, shapes)))
    return shapely.MultiPolygon([part for part in parts if faces.holding(source, part)])


def joined_beneath(
    plain: Piecework, lapped: Piecework, covers: Sequence[Piecework], crack_mm: float
) -> Beneath:
    """The plain region, and of the lapped one what the covers hide and what hangs together with it.

    Cracks thinner than `crack_mm` between them, of a curve flattened twice, are filled.
    """
    import numpy as np
    import shapely

    own, more, *above = (_shapes(work) for work in (plain, lapped, *covers))
    faces = Faces([polygon for each in (own, more, *above) for polygon in each.all])
    core = _mask(faces, own)
    hidden = np.any([_mask(faces, each) for each in above], axis=0) if above else core & False
    whole = healed(faces.joined(core | (_mask(faces, more) & hidden)), crack_mm)
    parts = polygons_in(whole)
    source = faces.within(own.source)
    kept = [part for part in parts if faces.holding(source, part)]
    return Beneath(shapely.MultiPolygon(kept), faces.joined(core), faces.joined(hidden))


def areas_of(
    region: BaseGeometry, curves: Sequence[Curve], bends: Sequence[Bend], tolerance_mm: float
) -> tuple[Area, ...]:
    """A region bounded by the flattened curves as areas of the curves themselves, largest first."""
    import shapely

    polygons = [each for each in polygons_in(region) if not _sliver(each, tolerance_mm)]
    if not polygons:
        return ()
    tracer = Tracer(curves, shares(tolerance_mm)[1])

    def path(ring: Ring) -> Path:
        return smoothed(tracer.trace(ring), bends, tolerance_mm * _SMOOTH_SHARE)

    areas = []
    for polygon in polygons:
        outline, *holes = rings_of(polygon)
        kept = [hole for hole in holes if not _sliver(shapely.Polygon(hole), tolerance_mm)]
        areas.append(Area(path(outline), tuple(path(hole) for hole in kept)))
    return tuple(areas)


@dataclass(frozen=True, slots=True)
class _Shapes:
    """A piecework's polygons."""

    source: tuple[BaseGeometry, ...]
    strips: tuple[BaseGeometry, ...]
    cuts: tuple[BaseGeometry, ...]
    taken: tuple[BaseGeometry, ...]
    taken_cuts: tuple[BaseGeometry, ...]

    @property
    def all(self) -> tuple[BaseGeometry, ...]:
        return (*self.source, *self.strips, *self.cuts, *self.taken, *self.taken_cuts)


def _shapes(work: Piecework) -> _Shapes:
    import shapely

    source = (sound(shapely.Polygon(work.source[0], work.source[1:])),) if work.source else ()
    groups = (work.strips, work.cuts, work.taken, work.taken_cuts)
    return _Shapes(source, *(_polygons(rings) for rings in groups))


def _mask(faces: Faces, shapes: _Shapes) -> Mask:
    added = faces.within(shapes.strips) & ~faces.within(shapes.cuts)
    taken = faces.within(shapes.taken) & ~faces.within(shapes.taken_cuts)
    return (faces.within(shapes.source) | added) & ~taken


def _polygons(rings: Sequence[Ring]) -> tuple[BaseGeometry, ...]:
    """The rings' polygons; those without an area, such as a needle's, add nothing."""
    import shapely

    polygons = [shapely.Polygon(ring) for ring in rings]
    return tuple(sound(each) for each in polygons if each.area > _LEAST_AREA_MM2)


def _sliver(polygon: object, tolerance_mm: float) -> bool:
    import shapely

    return bool(shapely.buffer(polygon, -tolerance_mm / 2.0).is_empty)
