"""One zone set with stones: outline row, fill, colours and finishes, figures.

Each is set for itself, so that zones can be set side by side and unchanged ones be kept.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from templater.geometry.rng import Rng
from templater.model.curves import Point, Ring
from templater.model.ground import Ground, Zone
from templater.model.problems import Problem, Problems, Severity
from templater.model.stones import Field, Figures, Obstacle, Setting, Size, Stone, StoneKind
from templater.stoning.assortment import find_sizes
from templater.stoning.finishes import longest_run, mixed, runs_limited, shaded
from templater.stoning.zone_problems import (
    bare_regions,
    no_room_for_spread,
    nothing_fits,
    too_narrow,
)

if TYPE_CHECKING:
    from templater.job.schema import FillTable, StoningTable
    from templater.stoning.seats import Seat
    from templater.stoning.styles import FillStyle

_CONTACT_MM = 0.1
"""Stones this much farther apart than their gap still touch, to the eye."""


def set_zone(
    zone: Zone,
    ground: Ground,
    stoning: StoningTable,
    obstacles: Sequence[Obstacle],
    seed: int,
) -> tuple[Setting, Problems]:
    """The stones of one zone. `obstacles`: the stones of the rows of its piece."""
    from templater.stoning.clear_shapes import open_rings

    outline = stoning.outline or None
    fill = stoning.fill if stoning.fill.style != "none" else None
    names = [*([outline.size] if outline else []), *(fill.sizes if fill else ())]
    sizes, problems = find_sizes(names, f'zone "{zone.name}"')
    gap = fill.gap if fill else outline.gap if outline else 0.0
    if problems:
        return Setting(zone.name, zone.piece, (), Figures(0.0, 0.0, (), None, None)), problems
    found: list[Problem] = []
    seats: list[Seat] = []
    if outline:
        found += no_room_for_spread(zone, [sizes[outline.size]], outline.gap, "outline row")
        smaller = [sizes[name] for name in (fill.sizes if fill else ()) if sizes[name].is_round]
        edge = outline.gap / 2.0 if stoning.edge is None else stoning.edge
        seats, more = _outline(zone, ground, sizes[outline.size], outline, edge, smaller, obstacles)
        found += more
    row_gap = outline.gap if outline else gap
    edge = gap / 2.0 if stoning.edge is None else stoning.edge
    discs = tuple(Obstacle((s.at,), s.size.width_mm / 2.0, row_gap) for s in seats)
    field = zone_field(zone, ground, gap, edge, (*obstacles, *discs))
    placed = [(seat.x, seat.y, seat.size, StoneKind.OUTLINE, row_gap) for seat in seats]
    maximal = None
    if fill:
        found += no_room_for_spread(zone, [sizes[name] for name in fill.sizes], gap, "fill")
        rng = Rng(seed, zone.piece, zone.name, "fill")
        filled, maximal, more = _fill(zone, ground, field, fill, sizes, rng)
        found += more
        placed += [(x, y, size, StoneKind.FILL, gap) for x, y, size in filled]
    if not placed and (outline or fill) and not any(p.severity is Severity.ERROR for p in found):
        found.append(nothing_fits(zone, field, sizes))
    rng = Rng(seed, zone.piece, zone.name, "mix")
    colours, finishes = mixed(stoning.colour, stoning.finish, len(placed), rng)
    colours, is_shaded = _shaded(zone, ground, field, stoning, placed, colours, rng)
    if stoning.run is not None and placed:
        reach = max(size.width_mm for _, _, size, _, _ in placed) + max(gap, row_gap) + _CONTACT_MM
        points = [(x, y) for x, y, *_ in placed]
        if not is_shaded:
            colours, said = _in_short_runs(zone, colours, points, reach, stoning.run, rng)
            found += said
        finishes, said = _in_short_runs(zone, finishes, points, reach, stoning.run, rng)
        found += said
    stones = tuple(
        Stone(x, y, 0.0, size.name, size.length_mm, size.width_mm, colour, finish, kind, kept)
        for (x, y, size, kind, kept), colour, finish in zip(placed, colours, finishes, strict=True)
    )
    setting = Setting(
        zone.name,
        zone.piece,
        stones,
        zone_figures(
            field,
            open_rings(zone, ground),
            stones,
            {size.name: size for size in sizes.values()},
        ),
        maximal_size=maximal,
        edge_mm=edge if stoning.edge is not None else min(edge, row_gap / 2.0),
        fill_gap_mm=gap,
        fill_edge_mm=edge,
    )
    return setting, (*found, *bare_regions(zone, stones))


def _shaded(
    zone: Zone,
    ground: Ground,
    field: Field,
    stoning: StoningTable,
    placed: Sequence[tuple[float, float, Size, StoneKind, float]],
    colours: tuple[str, ...],
    rng: Rng,
) -> tuple[tuple[str, ...], bool]:
    """The colours with those of the fill shaded along it, where it asks for that, and whether it does."""
    from templater.stoning.styles import STYLES

    style = STYLES.get(stoning.fill.style)
    first = next((k for k, one in enumerate(placed) if one[3] is StoneKind.FILL), None)
    if style is None or style.shades is None or first is None or len(stoning.colour) < 2:
        return colours, False
    how_far = style.shades(field, _parameters(zone, ground, stoning.fill, style))
    if how_far is None:
        return colours, False
    import numpy as np

    at = np.array([one[:2] for one in placed[first:]], dtype=float)
    along = np.round(how_far(at[:, 0], at[:, 1]), 6).tolist()
    return (*colours[:first], *shaded(stoning.colour, along, rng.child("shade"))), True


def _in_short_runs(
    zone: Zone,
    names: tuple[str, ...],
    points: Sequence[Point],
    reach_mm: float,
    most: int,
    rng: Rng,
) -> tuple[tuple[str, ...], list[Problem]]:
    """The names dealt so that no more than `most` alike touch, or a note that this cannot be."""
    if len(set(names)) < 2:
        return names, []
    limited = runs_limited(names, points, reach_mm, most, rng.child("runs"))
    longest = longest_run(limited, points, reach_mm)
    if longest <= most:
        return limited, []
    return limited, [
        Problem(
            "run-too-long",
            Severity.NOTE,
            f'zone "{zone.name}": with these shares up to {longest} stones alike lie together, '
            f"more than run = {most}",
            "Make the shares more equal, name more kinds, or allow a longer run.",
            zone.source,
        )
    ]


def _outline(
    zone: Zone,
    ground: Ground,
    size: Size,
    outline: Any,
    edge_mm: float,
    smaller: Sequence[Size],
    obstacles: Sequence[Obstacle],
) -> tuple[list[Seat], list[Problem]]:
    from templater.stoning.facing import corners_across
    from templater.stoning.fields import make_field
    from templater.stoning.outline import outline_seats

    if not size.is_round:
        return [], [
            Problem(
                "outline-takes-rounds",
                Severity.ERROR,
                f'zone "{zone.name}": an outline row takes round stones, not {size.name}',
                "Name a round size (ss or pp); set shaped stones along a `row` line.",
                zone.source,
            )
        ]
    field = make_field(
        zone,
        ground,
        gap_mm=outline.gap,
        edge_mm=edge_mm,
        along=outline.along,
        obstacles=obstacles,
    )
    across = corners_across(zone, ground, size, outline.gap, edge_mm, outline.along, obstacles)
    seats = outline_seats(
        field, size, outline.gap, rows=outline.rows, smaller=smaller, across=across
    )
    if seats or not field.row_lines:
        return seats, []
    return [], [too_narrow(zone, field, size, edge_mm)]


def _fill(
    zone: Zone,
    ground: Ground,
    field: Field,
    fill: FillTable,
    sizes: Mapping[str, Size],
    rng: Rng,
) -> tuple[list[tuple[float, float, Size]], str | None, list[Problem]]:
    from templater.stoning.styles import STYLES
    from templater.stoning.styles import fill as set_fill

    style = STYLES.get(fill.style)
    if style is None or not fill.sizes:
        told = (
            f'there is no fill style "{fill.style}"' if style is None else "its fill has no sizes"
        )
        mend = (
            f"Choose one of {', '.join(sorted((*STYLES, 'none')))}."
            if style is None
            else 'Give it sizes, such as sizes = { ss16 = 1 }, or style = "none".'
        )
        return (
            [],
            None,
            [
                Problem(
                    "unknown-style" if style is None else "fill-without-sizes",
                    Severity.ERROR,
                    f'zone "{zone.name}": {told}',
                    mend,
                    zone.source,
                )
            ],
        )
    params = _parameters(zone, ground, fill, style)
    assortment = tuple((sizes[name], share) for name, share in fill.sizes.items())
    result = set_fill(field, fill.style, params, assortment, fill.gap, rng)
    stones = [
        (x, y, assortment[k][0])
        for x, y, k in zip(result.x_mm, result.y_mm, result.size_index, strict=True)
    ]
    smallest = min((size for size, _ in assortment), key=lambda size: size.width_mm)
    return stones, smallest.name if result.maximal else None, list(result.problems)


def _parameters(zone: Zone, ground: Ground, fill: FillTable, style: FillStyle) -> Any:
    """The fill's own keys as its style reads them."""
    from pydantic import TypeAdapter

    given = dict(fill.parameters)
    piece, known = ground.piece(zone.piece), style.parameters.__dataclass_fields__
    if piece.grain is not None and "grain_deg" in known:
        given.setdefault("grain_deg", _direction_deg(*piece.grain))
    if piece.fold is not None and "fold_deg" in known:
        given.setdefault("fold_deg", _direction_deg(piece.fold.start, piece.fold.end))
    return TypeAdapter(style.parameters).validate_python(given)


def zone_field(
    zone: Zone, ground: Ground, gap_mm: float, edge_mm: float, obstacles: Sequence[Obstacle]
) -> Field:
    from templater.stoning.fields import make_field

    return make_field(zone, ground, gap_mm=gap_mm, edge_mm=edge_mm, obstacles=obstacles)


def zone_figures(
    field: Field,
    open_rings: Sequence[Ring],
    stones: Sequence[Stone],
    sizes: Mapping[str, Size],
) -> Figures:
    from templater.geometry.bare import largest_bare_mm, most_stones
    from templater.stoning.figures import figures
    from templater.stoning.strands import side_of

    fold = field.fold
    centred = frozenset(
        k
        for k, stone in enumerate(stones)
        if fold is not None and abs(side_of(fold, stone.at)) < 1e-3
    )
    shapes = [o for o in field.obstacles if len(o.corners) > 2]
    # Outline stones are obstacles of the fill's field: the rows' rounds among them are bare no more.
    rounds = {(*o.corners[0], o.radius_mm) for o in field.obstacles if len(o.corners) == 1}
    rounds |= {(stone.x_mm, stone.y_mm, stone.width_mm / 2.0) for stone in stones}
    bare = largest_bare_mm(open_rings, sorted(rounds), [o.corners for o in shapes])
    bound = None
    if len({stone.size for stone in stones}) == 1 and fold is None:
        gap = min(stone.gap_mm for stone in stones)
        bound = most_stones(field.rings, field.walls, stones[0].width_mm / 2.0, gap)
    return figures(
        field, stones, sizes, on_fold=centred, largest_bare_mm=round(bare, 3), bound=bound
    )


def _direction_deg(start: tuple[float, float], end: tuple[float, float]) -> float:
    import math

    return math.degrees(math.atan2(end[1] - start[1], end[0] - start[0])) % 360.0
