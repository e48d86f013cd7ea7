"""The benchmark zones, and an outline row of our own to fill them behind: shared by the tests."""

import math

import shapely

from templater.model.problems import Severity
from templater.model.stones import Field, Obstacle, Size, StoneShape, Wall

FLAT_MM = 5e-4
SS20, SS16, SS12 = (
    Size(name, StoneShape.ROUND, d, d, d - 0.1, d + 0.1, d + 0.1, 0.45 * d, "test")
    for name, d in (("ss20", 4.7), ("ss16", 3.9), ("ss12", 3.1))
)
MIX = ((SS20, 0.25), (SS16, 0.5), (SS12, 0.25))


def round_ring(radius, x=0.0, y=0.0):
    count = math.ceil(math.pi / math.acos(1.0 - FLAT_MM / radius))
    turns = [2.0 * math.pi * i / count for i in range(count)]
    return tuple((x + radius * math.cos(t), y + radius * math.sin(t)) for t in turns)


def rectangle(width=300.0, height=120.0):
    return (((0.0, 0.0), (width, 0.0), (width, height), (0.0, height)),)


def stripe(count=1500):
    ts = [i / count for i in range(count + 1)]
    low = [(400.0 * t, 10.0 + 25.0 * math.sin(6.0 * t + 0.6)) for t in ts]
    high = [(400.0 * t, 60.0 + 25.0 * math.sin(6.0 * t)) for t in reversed(ts)]
    return ((*low, *high),)


def star():
    corners = []
    for i in range(10):
        radius, turn = (70.0 if i % 2 == 0 else 32.0), math.pi / 2.0 + i * math.pi / 5.0
        corners.append((radius * math.cos(turn), radius * math.sin(turn)))
    return (tuple(corners),)


def leaf(count=900):
    xs = [150.0 * i / count for i in range(count + 1)]
    half = [25.0 * max(math.sin(math.pi * x / 150.0), 0.0) ** 1.2 for x in xs]
    low = [(x, -y) for x, y in zip(xs, half, strict=True)]
    high = [(x, y) for x, y in zip(xs, half, strict=True)][-2:0:-1]
    return ((*low, *high),)


def ring():
    return (round_ring(80.0), tuple(reversed(round_ring(45.0, 5.0, 0.0))))


def disc(radius=60.0):
    return (round_ring(radius),)


ZONES = {
    "rectangle": rectangle(),
    "stripe": stripe(),
    "star": star(),
    "leaf": leaf(),
    "ring": ring(),
    "disc": disc(),
}
STRAIGHT = {"rectangle", "star"}


def polygon_of(rings):
    shape = shapely.Polygon(rings[0])
    for hole in rings[1:]:
        shape = shape.difference(shapely.Polygon(hole))
    return shape


def walls_of(rings, clearance):
    return tuple(
        Wall(*a, *b, clearance)
        for ring_ in rings
        for a, b in zip(ring_, (*ring_[1:], ring_[0]), strict=True)
    )


def field_of(rings, obstacles=(), *, edge=0.0, flat=FLAT_MM, walls=(), lows=(), fold=None):
    return Field(
        zone="test",
        piece="main",
        rings=tuple(rings),
        walls=(*walls_of(rings, edge + flat), *walls),
        lows=tuple(lows),
        obstacles=tuple(obstacles),
        fold=fold,
        row_lines=tuple((tuple(ring_), True) for ring_ in rings),
        area_mm2=polygon_of(rings).area,
        flat_mm=flat,
    )


def zone_field(name, obstacles=()):
    return field_of(ZONES[name], obstacles, flat=0.0 if name in STRAIGHT else FLAT_MM)


def outline_row(rings, gap=0.2, *, edge=0.0, flat=FLAT_MM):
    """The row of ss16 that a zone gets, smaller sizes stepping into its points."""
    from templater.stoning.outline import outline_seats

    seats = outline_seats(field_of(rings, edge=edge, flat=flat), SS16, gap, smaller=(SS12,))
    return tuple(Obstacle((s.at,), s.size.length_mm / 2.0, gap) for s in seats)


def with_row(name):
    """A zone of ZONES behind its outline row."""
    flat = 0.0 if name in STRAIGHT else FLAT_MM
    return zone_field(name, outline_row(ZONES[name], flat=flat))


def coverage(field, result, sizes):
    """Area of all stones, the obstacles' too, over the zone's."""
    stones = sum(math.pi * o.radius_mm**2 for o in field.obstacles)
    stones += sum(math.pi * sizes[s][0].length_mm ** 2 / 4.0 for s in result.size_index)
    return stones / field.area_mm2


def assert_sound(field, result, sizes, gap):
    """No overlap, none outside, all snapped: reckoned with shapely, not with the kernels."""
    assert not [p for p in result.problems if p.severity is Severity.ERROR]
    points = list(zip(result.x_mm, result.y_mm, strict=True))
    assert all((x, y) == (round(x, 4), round(y, 4)) for x, y in points)
    radii = [sizes[s][0].length_mm / 2.0 for s in result.size_index]
    zone = polygon_of(field.rings)
    edges = shapely.STRtree([shapely.LineString([w[:2], w[2:4]]) for w in field.walls])
    centres = shapely.points(points) if points else []
    if not points:
        return
    tree = shapely.STRtree(centres)
    for i, j in tree.query(centres, "dwithin", 2.0 * max(radii) + gap + 0.01).T:
        if i < j:
            assert math.dist(points[i], points[j]) >= radii[i] + radii[j] + gap - 1e-7
    for stone in field.obstacles:
        shape = shapely.Point(stone.corners[0])
        if len(stone.corners) > 1:
            shape = shapely.Polygon(stone.corners)
        reach = stone.radius_mm + (gap + stone.gap_mm) / 2.0
        for i in tree.query(shape, "dwithin", reach + max(radii) + 0.01):
            assert shape.distance(centres[i]) >= reach + radii[i] - 1e-7
    for i, wall in (
        edges.query(centres, "dwithin", max(radii) + 20.0).T if edges.geometries.size else ()
    ):
        w = field.walls[wall]
        if w.limit_mm >= 0.0 and sizes[result.size_index[i]][0].height_mm <= w.limit_mm:
            continue
        if w.is_fold and on_fold(field, points[i]):
            continue
        apart = edges.geometries[wall].distance(centres[i])
        assert apart >= radii[i] + w.clearance_mm - 1e-7
    inside = zone.buffer(2e-4)
    assert all(shapely.contains_xy(inside, *point) for point in points)


def on_fold(field, point):
    if field.fold is None:
        return False
    (x0, y0), (x1, y1) = field.fold.start, field.fold.end
    aside = (point[0] - x0) * (y1 - y0) - (point[1] - y0) * (x1 - x0)
    return abs(aside) / math.hypot(x1 - x0, y1 - y0) < 1e-3
