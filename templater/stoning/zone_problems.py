"""What a maker is told of a zone whose stones do not all find room."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from templater.model.ground import Ground, Zone
from templater.model.problems import Problem, Problems, Severity
from templater.model.stones import Field, Size, Stone

if TYPE_CHECKING:
    from templater.job.schema import Job


def too_narrow(zone: Zone, field: Field, size: Size, edge_mm: float) -> Problem:
    """Not one stone of the outline row fits."""
    widest = _widest_mm(field)
    needed = size.width_mm + 2.0 * edge_mm
    return Problem(
        "zone-too-narrow",
        Severity.WARNING,
        f'zone "{zone.name}" is at most {widest:.1f} mm wide: no {size.name} of its outline row '
        f"fits ({needed:.1f} mm with its margins)",
        "Name a smaller size for the outline, a smaller `edge`, or draw the zone wider.",
        zone.source,
    )


def _widest_mm(field: Field) -> float:
    """The diameter of the largest circle inside the zone."""
    from shapely import maximum_inscribed_circle

    from templater.stoning.flat_bits import even_odd

    return 2.0 * float(maximum_inscribed_circle(even_odd(field.rings)).length)


def no_room_for_spread(
    zone: Zone, sizes: Sequence[Size], gap_mm: float, of: str
) -> tuple[Problem, ...]:
    """A gap that two stones as large as their packet may hold would not leave free."""
    if not sizes:
        return ()
    widest = max(sizes, key=lambda size: size.largest_width_mm - size.width_mm)
    needed = widest.largest_width_mm - widest.width_mm
    if gap_mm >= needed - 1e-6:
        return ()
    return (
        Problem(
            "gap-below-spread",
            Severity.WARNING,
            f'zone "{zone.name}": the {of} has a gap of {gap_mm:g} mm, but {widest.name} comes up to '
            f"{widest.largest_width_mm:g} mm wide and is planned as {widest.width_mm:g}: stones as "
            "large as that do not fit beside each other",
            f"Give the {of} a gap of {needed:.2f} mm or more; 0.2 is easier to keep by hand.",
            zone.source,
        ),
    )


def bare_regions(zone: Zone, stones: Sequence[Stone]) -> Problems:
    """Which of several regions have no stone, though others have."""
    from templater.geometry.clearance import inside_rings
    from templater.geometry.flatten import flatten
    from templater.geometry.measure import area_mm2, box_of

    if len(zone.regions) < 2 or not stones:
        return ()
    found: list[Problem] = []
    for region in zone.regions:
        rings = [flatten(path, 0.01) for path in (region.area.outline, *region.area.holes)]
        if any(inside_rings(stone.at, rings) for stone in stones):
            continue
        x0, y0, x1, y1 = box_of(rings[0])
        found.append(
            Problem(
                "region-without-stones",
                Severity.WARNING,
                f'zone "{zone.name}": one of its {len(zone.regions)} regions '
                f"({area_mm2(region.area):.0f} mm²) is too small for its stones and stays bare",
                "Name a smaller size for it on a zone of its own, or draw it larger.",
                zone.source,
                ((x0 + x1) / 2.0, (y0 + y1) / 2.0),
            )
        )
    return tuple(found)


def nothing_fits(zone: Zone, field: Field, sizes: Mapping[str, Size]) -> Problem:
    smallest = min(sizes.values(), key=lambda size: size.width_mm)
    return Problem(
        "zone-without-stones",
        Severity.WARNING,
        f'zone "{zone.name}": not one stone fits ({field.area_mm2:.0f} mm² are left of it; the '
        f"smallest size, {smallest.name}, is {smallest.width_mm:g} mm wide)",
        "Name smaller sizes, lessen `edge` or what is kept clear, or draw the zone larger.",
        zone.source,
    )


def unstoned(ground: Ground, job: Job) -> tuple[None, Problems]:
    """A note where nothing at all is stoned: the maker may have meant to."""
    zones = [zone.name for zone in ground.zones]
    if ground.rows or not zones or any(job.stoning_of(name) is not None for name in zones):
        return None, ()
    return None, (
        Problem(
            "no-stoning",
            Severity.NOTE,
            f"the job sets no stones: none of the zones {', '.join(zones)} has a stoning",
            f"Write a table [stoning.{zones[0]}] into the job if it should have stones.",
            ground.zones[0].source,
        ),
    )
