"""A setting edited by hand, read back: stones from a drawing whose layers say what each is."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from templater.catalogue.sizes import find_size, nearest_names
from templater.geometry.flatten import flatten
from templater.geometry.measure import box_of
from templater.model.curves import Point, Ring
from templater.model.drawing import AreaShape, Drawing
from templater.model.ground import Ground
from templater.model.names import plain_name
from templater.model.problems import Problem, Problems, Severity, Source
from templater.model.setting_layers import StoneLayer, read_origin_layer, read_stone_layer
from templater.model.stones import Figures, Setting, Size, Stone, StoneKind, StoneShape
from templater.stoning.figures import counted, smallest_gap

if TYPE_CHECKING:
    from templater.job.schema import Job

_FLAT_MM = 0.002
_LIKE_SIZE = 0.1


@dataclass(frozen=True, slots=True)
class _Read:
    """A stone as it was found, before its gap is known."""

    layer: StoneLayer
    size: Size
    at: Point
    turn_deg: float


@dataclass(frozen=True, slots=True)
class Spacing:
    """What stones keep: gaps by zone and kind, and by zone the distance from its edge (None: half
    the gap).
    """

    gaps_mm: Mapping[tuple[str, StoneKind], float]
    edges_mm: Mapping[str, float | None]


def spacing_of_job(ground: Ground, job: Job) -> Spacing:
    """What the job asks for. A zone without a stoning asks for nothing."""
    gaps: dict[tuple[str, StoneKind], float] = {}
    edges: dict[str, float | None] = {}
    for zone in ground.zones:
        stoning = job.stoning_of(zone.name)
        if stoning is None:
            continue
        gaps[zone.name, StoneKind.FILL] = stoning.fill.gap
        outline = stoning.outline or None
        gaps[zone.name, StoneKind.OUTLINE] = stoning.fill.gap if outline is None else outline.gap
        edges[zone.name] = stoning.edge
    for row in ground.rows:
        asked = job.row_table(row.name).gap
        # A gap that opens along the row: moved by hand, stones keep the least of it.
        gaps[row.name, StoneKind.ROW] = min(asked) if isinstance(asked, tuple) else asked
    return Spacing(gaps, edges)


def spacing_of_settings(settings: Iterable[Setting]) -> Spacing:
    """What the stones of settings keep now."""
    gaps = {
        (setting.zone, stone.kind): stone.gap_mm for setting in settings for stone in setting.stones
    }
    return Spacing(gaps, {setting.zone: setting.edge_mm for setting in settings})


def edited_settings(
    drawing: Drawing, ground: Ground, spacing: Spacing, names: Collection[str]
) -> tuple[tuple[Setting, ...], Problems]:
    """The settings of the named zones and rows as the file has them, in the ground's order.

    Errors: a file without our layers, an unknown size, a stone whose drawn size is not that of
    its layer, a zone that the drawing lacks.
    """
    origin = next(
        (found for layer in drawing.layers if (found := read_origin_layer(layer.name))), None
    )
    if origin is None:
        return (), (_not_ours(drawing),)
    stones, problems = _stones(drawing, origin)
    known = {zone.name: zone.piece for zone in ground.zones} | {
        row.name: row.piece for row in ground.rows
    }
    problems += tuple(
        Problem(
            "edited-unknown-zone",
            Severity.ERROR,
            f'{drawing.file} has stones of "{name}", which is no zone or row of the drawing',
            f"The drawing has: {', '.join(known)}. Move the stones to a layer of one of them.",
            Source(drawing.file),
        )
        for name in dict.fromkeys(stone.layer.zone for stone in stones)
        if name not in known
    )
    wanted = {plain_name(name) for name in names}
    settings = tuple(
        edited_setting(
            name,
            ground,
            spacing,
            tuple(_stone(read, spacing) for read in stones if read.layer.zone == name),
        )
        for name in known
        if name in wanted
    )
    return settings, problems


def edited_setting(
    name: str, ground: Ground, spacing: Spacing, stones: tuple[Stone, ...]
) -> Setting:
    """The stones of one zone or row as a setting that promises nothing but to be what it is."""
    from templater.stoning.clear_shapes import open_rings
    from templater.stoning.setting import zone_field, zone_figures

    sizes = {stone.size: size for stone in stones if (size := find_size(stone.size)) is not None}
    row = next((row for row in ground.rows if row.name == name), None)
    if row is not None:
        figures = Figures(0.0, 0.0, counted(stones), smallest_gap(stones, sizes), None)
        return Setting(name, row.piece, stones, figures)
    zone = ground.zone(name)
    gap_mm = min((stone.gap_mm for stone in stones), default=0.0)
    asked = spacing.edges_mm.get(name)
    edge_mm = gap_mm / 2.0 if asked is None else asked
    field = zone_field(zone, ground, gap_mm, edge_mm, ())
    return Setting(
        name,
        zone.piece,
        stones,
        zone_figures(field, open_rings(zone, ground), stones, sizes),
        edge_mm=edge_mm,
        fill_gap_mm=gap_mm,
    )


def _stones(drawing: Drawing, origin: Point) -> tuple[list[_Read], Problems]:
    found: list[_Read] = []
    problems: list[Problem] = []
    for drawn in drawing.layers:
        layer = read_stone_layer(drawn.name)
        if layer is None:
            continue
        size = find_size(layer.size)
        if size is None:
            problems.append(_unknown_size(drawing.file, drawn.name, layer.size))
            continue
        for shape in drawn.shapes:
            if not isinstance(shape, AreaShape):
                problems.append(_no_stone(shape.source))
                continue
            ring = flatten(shape.area.outline, _FLAT_MM)
            at, turn_deg, length_mm = _lie(ring, size)
            at = (round(at[0] + origin[0], 4) + 0.0, round(at[1] + origin[1], 4) + 0.0)
            if abs(length_mm - size.length_mm) > _LIKE_SIZE * size.length_mm:
                problems.append(_other_size(shape.source, size, length_mm, at))
            found.append(_Read(layer, size, at, turn_deg))
    return found, tuple(problems)


def _lie(ring: Ring, size: Size) -> tuple[Point, float, float]:
    """Where the middle of a drawn stone lies, how it is turned, and its length."""
    if size.is_round:
        x0, y0, x1, y1 = box_of(ring)
        return ((x0 + x1) / 2.0, (y0 + y1) / 2.0), 0.0, max(x1 - x0, y1 - y0)
    angle = _axis(ring, size.shape)
    c, s = math.cos(angle), math.sin(angle)
    x0, y0, x1, y1 = box_of((c * x + s * y, -s * x + c * y) for x, y in ring)
    u, v = (x0 + x1) / 2.0, (y0 + y1) / 2.0
    return (c * u - s * v, s * u + c * v), math.degrees(angle) % 360.0, x1 - x0


def _axis(ring: Ring, shape: StoneShape) -> float:
    """The direction of a drawn stone's length, tip leading, in radians."""
    if shape in (StoneShape.RECTANGLE, StoneShape.SQUARE):
        # Drawn from a corner along its length; an editor keeps that.
        sides = list(zip(ring, (*ring[1:], ring[0]), strict=True))
        longest = max(math.dist(a, b) for a, b in sides)
        a, b = next((a, b) for a, b in sides if math.dist(a, b) >= longest - 1e-3)
        return math.atan2(b[1] - a[1], b[0] - a[0])
    cx, cy, xx, xy, yy = _moments(ring)
    angle = math.atan2(2.0 * xy, xx - yy) / 2.0
    c, s = math.cos(angle), math.sin(angle)
    along = [c * (x - cx) + s * (y - cy) for x, y in ring]
    if shape in (StoneShape.TEARDROP, StoneShape.TRIANGLE):
        leads = max(along) + min(along) > 0.0  # the tip is farther from the centroid
    else:
        leads = along[0] > 0.0  # the same both ways: as it was drawn, from its tip
    return angle if leads else angle + math.pi


def _moments(ring: Ring) -> tuple[float, float, float, float, float]:
    """Centroid and second moments of a polygon about it, by Green's theorem."""
    area = sx = sy = sxx = sxy = syy = 0.0
    x0, y0 = ring[-1]
    for x1, y1 in ring:
        w = x0 * y1 - x1 * y0
        area += w
        sx += w * (x0 + x1)
        sy += w * (y0 + y1)
        sxx += w * (x0 * x0 + x0 * x1 + x1 * x1)
        syy += w * (y0 * y0 + y0 * y1 + y1 * y1)
        sxy += w * (x0 * y1 + 2.0 * x0 * y0 + 2.0 * x1 * y1 + x1 * y0)
        x0, y0 = x1, y1
    area /= 2.0
    cx, cy = sx / (6.0 * area), sy / (6.0 * area)
    return (
        cx,
        cy,
        sxx / 12.0 - area * cx * cx,
        sxy / 24.0 - area * cx * cy,
        syy / 12.0 - area * cy * cy,
    )


def _stone(read: _Read, spacing: Spacing) -> Stone:
    layer, size = read.layer, read.size
    return Stone(
        *read.at,
        0.0 if size.is_round else round(read.turn_deg, 4) % 360.0,
        size.name,
        size.length_mm,
        size.width_mm,
        layer.colour,
        layer.finish,
        layer.kind,
        spacing.gaps_mm.get((layer.zone, layer.kind), 0.0),
    )


def _not_ours(drawing: Drawing) -> Problem:
    return Problem(
        "edited-not-ours",
        Severity.ERROR,
        f"{drawing.file} is no setting that templater wrote: its layer named origin is missing",
        "Edit the setting.svg of a pack, keep its layers, and name that file under [setting] use.",
        Source(drawing.file),
    )


def _unknown_size(file: str, layer: str, size: str) -> Problem:
    return Problem(
        "unknown-size",
        Severity.ERROR,
        f'there is no stone size "{size}"',
        f"Did you mean {' or '.join(nearest_names(size)) or 'one that templater sizes lists'}?",
        Source(file, layer),
    )


def _no_stone(source: Source) -> Problem:
    return Problem(
        "edited-no-stone",
        Severity.ERROR,
        "a line that does not close lies among the stones",
        "Delete it, or move it to a layer of its own.",
        source,
    )


def _other_size(source: Source, size: Size, length_mm: float, at: Point) -> Problem:
    return Problem(
        "edited-other-size",
        Severity.ERROR,
        f"a stone on a layer of {size.name} is drawn {length_mm:.2f} mm long instead of"
        f" {size.length_mm:g} mm",
        "Do not scale stones: copy one of the size you want, or move it to the layer of its size.",
        source,
        at,
    )


def names_in(drawing: Drawing) -> Sequence[str]:
    """The zones and rows that the file has stones of."""
    found = (read_stone_layer(layer.name) for layer in drawing.layers)
    return tuple(dict.fromkeys(layer.zone for layer in found if layer is not None))
