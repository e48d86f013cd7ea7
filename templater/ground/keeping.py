"""Where stones may not lie, or only low ones: clear areas, creases, unsewn seams, low areas."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from templater.geometry.polygons import circle, to_polygon
from templater.ground.shapes import Sorted, closed_areas
from templater.ground.sites import FLAT_MM, Site, line_geometry, site_for
from templater.model.curves import Area
from templater.model.drawing import AreaShape, LineShape, PointShape
from templater.model.ground import KeepClear, Low
from templater.model.problems import Problem, Problems, Severity
from templater.model.roles import Role

if TYPE_CHECKING:
    from templater.job.schema import Job


def keep_clear_of(shapes: Sorted, sites: Sequence[Site], job: Job) -> tuple[KeepClear, ...]:
    """Clear shapes, creases and seams, each with how far a stone's edge stays from it.

    A clear or crease line is a strip of the job's `clear.width`; the margin is beyond that. With
    `clear.after_sewing` stones come up to the seams, and those beside them are set later.
    """
    strip_mm = job.clear.width / 2.0 + job.clear.margin
    reach = {Role.CLEAR: strip_mm, Role.CREASE: strip_mm, Role.SEAM: job.clear.seam}
    return tuple(
        keep
        for role, line_mm in reach.items()
        for keep in _of_role(shapes, sites, job, role, line_mm)
    )


def _of_role(
    shapes: Sorted, sites: Sequence[Site], job: Job, role: Role, line_mm: float
) -> Iterator[KeepClear]:
    for item in shapes.of(role):
        match item.shape:
            case AreaShape(area, source) if role is Role.CLEAR:
                piece = site_for(sites, to_polygon(area, FLAT_MM))[0]
                yield KeepClear(role.value, piece, area, job.clear.margin, source)
            case AreaShape(area, source):
                for path in (area.outline, *area.holes):
                    piece = site_for(sites, line_geometry(path))[0]
                    yield KeepClear(role.value, piece, path, line_mm, source)
            case LineShape(path, source) if role is Role.SEAM and job.clear.after_sewing:
                piece = site_for(sites, line_geometry(path))[0]
                yield KeepClear(role.value, piece, path, 0.0, source, later_mm=line_mm)
            case LineShape(path, source):
                piece = site_for(sites, line_geometry(path))[0]
                yield KeepClear(role.value, piece, path, line_mm, source)
            case PointShape(at, source) if role is Role.CLEAR and job.clear.width > 0.0:
                spot = Area(circle(at, job.clear.width))
                piece = site_for(sites, to_polygon(spot, FLAT_MM))[0]
                yield KeepClear(role.value, piece, spot, job.clear.margin, source)
            case _:
                pass


def lows_of(shapes: Sorted, sites: Sequence[Site], job: Job) -> tuple[tuple[Low, ...], Problems]:
    areas, problems = closed_areas(shapes.of(Role.LOW), "low area")
    lows = tuple(
        Low(site_for(sites, to_polygon(area, FLAT_MM))[0], area, job.low.height, source)
        for _, area, source in areas
    )
    return lows, problems


def misplaced(shapes: Sorted) -> Problems:
    """Points where a line is wanted, which would otherwise be lost without a word."""
    return tuple(
        Problem(
            "not-a-line",
            Severity.WARNING,
            f'a point on a "{role.value}" layer has no length and is not used',
            "Draw a line there, or take the point out.",
            item.source,
            item.shape.at,
        )
        for role in (Role.ROW, Role.FOLD, Role.CREASE, Role.SEAM, Role.DART, Role.GRAIN, Role.EDGE)
        for item in shapes.of(role)
        if isinstance(item.shape, PointShape)
    )
