"""One zone or one row set with stones: outline row, fill, colours and finishes, figures.

Each is set for itself, so that zones can be set side by side and unchanged ones be kept.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from templater.geometry.rng import Rng
from templater.model.ground import Ground, Row, Zone
from templater.model.problems import Problem, Problems, Severity
from templater.model.stones import Field, Figures, Obstacle, Setting, Size, Stone, StoneKind
from templater.stoning.assortment import find_sizes
from templater.stoning.finishes import dealt

if TYPE_CHECKING:
    from templater.job.schema import FillTable, RowTable, Shares, StoningTable
    from templater.stoning.seats import Seat


def set_row(
    row: Row,
    ground: Ground,
    table: RowTable,
    obstacles: Sequence[Obstacle],
    seed: int,
) -> tuple[Setting, Problems]:
    """The stones of one drawn row. `obstacles`: the stones of rows set before it."""
    from templater.stoning.bodies import Body
    from templater.stoning.figures import counted, smallest_gap
    from templater.stoning.row_ground import RowGround
    from templater.stoning.rows import mirrors_itself, set_bodies

    names = (table.stone,) if isinstance(table.stone, str) else table.stone
    sizes, problems = find_sizes(names, f'row "{row.name}"')
    bodies: tuple[Body, ...] = ()
    if not problems:
        place = RowGround(row.piece, ground, obstacles, table.gap)
        found = set_bodies(row, [sizes[name] for name in names], table.turn, table.gap, place)
        bodies = found.bodies
        if found.on_fold and not all(mirrors_itself(body, place) for body in bodies):
            bodies = ()
            problems = (
                Problem(
                    "row-on-fold-turned",
                    Severity.ERROR,
                    f'row "{row.name}" lies on the fold, but its stones, turned as they are, are '
                    "not their own mirror image",
                    'Set them with turn = "along", or draw the row beside the fold.',
                    row.source,
                ),
            )
        elif not bodies:
            problems = (
                Problem(
                    "row-without-stones",
                    Severity.WARNING,
                    f'row "{row.name}": no stone fits along it',
                    "Draw it longer or farther from what is kept clear, or name a smaller stone.",
                    row.source,
                ),
            )
    rng = Rng(seed, row.piece, row.name, "row")
    colours, finishes = _dealt(table.colour, table.finish, len(bodies), rng)
    stones = tuple(
        Stone(
            *body.at,
            body.turn_deg,
            body.size.name,
            body.size.length_mm,
            body.size.width_mm,
            colour,
            finish,
            StoneKind.ROW,
            table.gap,
        )
        for body, colour, finish in zip(bodies, colours, finishes, strict=True)
    )
    gap = smallest_gap(stones, {size.name: size for size in sizes.values()})
    figures = Figures(0.0, 0.0, counted(stones), gap, None)
    return Setting(row.name, row.piece, stones, figures), problems


def row_obstacles(setting: Setting, sizes: Mapping[str, Size]) -> tuple[Obstacle, ...]:
    """A row's stones as what zones and later rows keep away from."""
    from templater.stoning.bodies import Body

    return tuple(
        Body(stone.at, stone.turn_deg, sizes[stone.size]).obstacle(stone.gap_mm)
        for stone in setting.stones
    )


def set_zone(
    zone: Zone,
    ground: Ground,
    stoning: StoningTable,
    obstacles: Sequence[Obstacle],
    seed: int,
) -> tuple[Setting, Problems]:
    """The stones of one zone. `obstacles`: the stones of the rows of its piece."""
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
        smaller = [sizes[name] for name in (fill.sizes if fill else ()) if sizes[name].is_round]
        edge = outline.gap / 2.0 if stoning.edge is None else stoning.edge
        seats, more = _outline(zone, ground, sizes[outline.size], outline, edge, smaller, obstacles)
        found += more
    row_gap = outline.gap if outline else gap
    edge = gap / 2.0 if stoning.edge is None else stoning.edge
    discs = tuple(Obstacle((s.at,), s.size.width_mm / 2.0, row_gap) for s in seats)
    field = _field(zone, ground, gap, edge, (*obstacles, *discs))
    placed = [(seat.x, seat.y, seat.size, StoneKind.OUTLINE, row_gap) for seat in seats]
    maximal = None
    if fill:
        rng = Rng(seed, zone.piece, zone.name, "fill")
        filled, maximal, more = _fill(zone, ground, field, fill, sizes, rng)
        found += more
        placed += [(x, y, size, StoneKind.FILL, gap) for x, y, size in filled]
    if not placed and (outline or fill) and not any(p.severity is Severity.ERROR for p in found):
        found.append(_nothing_fits(zone, field, sizes))
    rng = Rng(seed, zone.piece, zone.name, "mix")
    colours, finishes = _dealt(stoning.colour, stoning.finish, len(placed), rng)
    stones = tuple(
        Stone(x, y, 0.0, size.name, size.length_mm, size.width_mm, colour, finish, kind, kept)
        for (x, y, size, kind, kept), colour, finish in zip(placed, colours, finishes, strict=True)
    )
    setting = Setting(
        zone.name,
        zone.piece,
        stones,
        _figures(field, stones, {size.name: size for size in sizes.values()}),
        maximal_size=maximal,
        edge_mm=edge if stoning.edge is not None else min(edge, row_gap / 2.0),
        fill_gap_mm=gap,
    )
    return setting, tuple(found)


def _outline(
    zone: Zone,
    ground: Ground,
    size: Size,
    outline: Any,
    edge_mm: float,
    smaller: Sequence[Size],
    obstacles: Sequence[Obstacle],
) -> tuple[list[Seat], list[Problem]]:
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
    seats = outline_seats(field, size, outline.gap, rows=outline.rows, smaller=smaller)
    if seats or not field.row_lines:
        return seats, []
    widest = _widest_mm(field)
    needed = size.width_mm + 2.0 * edge_mm
    return [], [
        Problem(
            "zone-too-narrow",
            Severity.WARNING,
            f'zone "{zone.name}" is at most {widest:.1f} mm wide: no {size.name} of its outline row '
            f"fits ({needed:.1f} mm with its margins)",
            "Name a smaller size for the outline, a smaller `edge`, or draw the zone wider.",
            zone.source,
        )
    ]


def _fill(
    zone: Zone,
    ground: Ground,
    field: Field,
    fill: FillTable,
    sizes: Mapping[str, Size],
    rng: Rng,
) -> tuple[list[tuple[float, float, Size]], str | None, list[Problem]]:
    from pydantic import TypeAdapter

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
    given = dict(fill.parameters)
    grain = ground.piece(zone.piece).grain
    if grain is not None and "grain_deg" in style.parameters.__dataclass_fields__:
        given.setdefault("grain_deg", _direction_deg(*grain))
    params = TypeAdapter(style.parameters).validate_python(given)
    assortment = tuple((sizes[name], share) for name, share in fill.sizes.items())
    result = set_fill(field, fill.style, params, assortment, fill.gap, rng)
    stones = [
        (x, y, assortment[k][0])
        for x, y, k in zip(result.x_mm, result.y_mm, result.size_index, strict=True)
    ]
    smallest = min((size for size, _ in assortment), key=lambda size: size.width_mm)
    return stones, smallest.name if result.maximal else None, list(result.problems)


def _field(
    zone: Zone, ground: Ground, gap_mm: float, edge_mm: float, obstacles: Sequence[Obstacle]
) -> Field:
    from templater.stoning.fields import make_field

    return make_field(zone, ground, gap_mm=gap_mm, edge_mm=edge_mm, obstacles=obstacles)


def _figures(field: Field, stones: Sequence[Stone], sizes: Mapping[str, Size]) -> Figures:
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
    bare = largest_bare_mm(field.rings, sorted(rounds), [o.corners for o in shapes])
    bound = None
    if len({stone.size for stone in stones}) == 1 and fold is None:
        gap = min(stone.gap_mm for stone in stones)
        bound = most_stones(field.rings, field.walls, stones[0].width_mm / 2.0, gap)
    return figures(
        field, stones, sizes, on_fold=centred, largest_bare_mm=round(bare, 3), bound=bound
    )


def _dealt(
    colour: Shares, finish: Shares, count: int, rng: Rng
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    return dealt(colour, count, rng.child("colour")), dealt(finish, count, rng.child("finish"))


def _direction_deg(start: tuple[float, float], end: tuple[float, float]) -> float:
    import math

    return math.degrees(math.atan2(end[1] - start[1], end[0] - start[0])) % 360.0


def _widest_mm(field: Field) -> float:
    """The diameter of the largest circle inside the zone."""
    from shapely import maximum_inscribed_circle

    from templater.stoning.fields import even_odd

    return 2.0 * float(maximum_inscribed_circle(even_odd(field.rings)).length)


def _nothing_fits(zone: Zone, field: Field, sizes: Mapping[str, Size]) -> Problem:
    smallest = min(sizes.values(), key=lambda size: size.width_mm)
    return Problem(
        "zone-without-stones",
        Severity.WARNING,
        f'zone "{zone.name}": not one stone fits ({field.area_mm2:.0f} mm² are left of it; the '
        f"smallest size, {smallest.name}, is {smallest.width_mm:g} mm wide)",
        "Name smaller sizes, lessen `edge` or what is kept clear, or draw the zone larger.",
        zone.source,
    )


def names_of(settings: Iterable[Setting]) -> tuple[str, ...]:
    """Every size name that occurs in settings, sorted."""
    return tuple(sorted({stone.size for setting in settings for stone in setting.stones}))
