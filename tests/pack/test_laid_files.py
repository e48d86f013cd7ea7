"""The demo's cut files, as the command wrote them, laid back together on the garment."""

from itertools import combinations

import pytest
import shapely
from laid_parts import LaidPart, away

from templater.geometry.polygons import to_polygon
from templater.geometry.walk import tape_along
from templater.model.ground import EdgeKind, Side
from templater.model.parts import MarkKind, PartKind
from templater.readback import load_plan
from templater.readback.svg import read_svg

APART_MM = 0.05
SIDES = [Side.LEFT, Side.RIGHT]


@pytest.fixture(scope="module")
def plan(demo_pack):
    return load_plan(demo_pack)


@pytest.fixture(scope="module")
def laid(plan, demo_pack):
    """Every appliqué by zone and side; one over both sides is on each."""
    parts = {part.id: part for part in plan.parts if part.kind is PartKind.APPLIQUE}
    facts, found = {}, {}
    for placed in plan.placed:
        part = parts.get(placed.part)
        if part is None:
            continue
        if placed.sheet not in facts:
            file = demo_pack / f"{placed.sheet}.svg"
            facts[placed.sheet] = read_svg(file.read_bytes(), file.name)
        one = LaidPart(part, facts[placed.sheet], placed.transform)
        for side in SIDES if part.side is Side.CENTRE else [part.side]:
            found[part.zone, side] = one
    assert {zone for zone, _ in found} == {"frond", "blade", "pod"}
    return found


def move_of(plan, side):
    (surface,) = plan.ground.surfaces
    return next(each.transform for each in surface.sides if each.side is side)


def shared_edges(plan):
    """(lower zone, upper zone, edge of the lower), each pair of zones once."""
    for lower, upper in combinations(sorted(plan.ground.zones, key=lambda z: z.level), 2):
        for region in lower.regions:
            for ring in region.rings:
                for edge in ring:
                    if edge.kind is EdgeKind.NEIGHBOUR and edge.name == upper.name:
                        yield lower.name, upper.name, edge


@pytest.mark.parametrize("side", SIDES)
def test_shared_edges_coincide(plan, laid, side):
    edges, move = list(shared_edges(plan)), move_of(plan, side)
    assert len(edges) >= 2
    for lower, upper, edge in edges:
        tape = tape_along(edge.path)
        for k in range(100):
            at = shapely.Point(move.apply(tape.at(tape.length_mm * (k + 0.5) / 100)[0]))
            for zone in (lower, upper):
                assert laid[zone, side].lines.distance(at) < APART_MM


@pytest.mark.parametrize("side", SIDES)
def test_match_marks_of_one_number_coincide(plan, laid, side):
    move, met = move_of(plan, side), 0
    for lower, upper, _ in shared_edges(plan):
        marks = {
            zone: {m.number: m.at for m in laid[zone, side].part.marks if m.kind is MarkKind.MATCH}
            for zone in (lower, upper)
        }
        # Of a part over both sides the marks of the drawn half come first.
        for number in sorted(marks[lower].keys() & marks[upper].keys()):
            at = next(
                m.at
                for zone in (lower, upper)
                for m in laid[zone, side].part.marks
                if m.number == number
            )
            place = shapely.Point(move.apply(at))
            for zone in (lower, upper):
                one = laid[zone, side]
                assert min(away(stroke, place) for stroke in one.strokes) < APART_MM
                assert str(number) in {text.text for text in one.texts}
            met += 1
    assert met >= 6


@pytest.mark.parametrize("side", SIDES)
def test_the_underlap_is_there_and_covered(plan, laid, side):
    move = move_of(plan, side)
    for lower, upper, edge in shared_edges(plan):
        assert edge.allowance_mm == 5.0
        tape = tape_along(edge.path)
        for share in (0.2, 0.35, 0.5, 0.65, 0.8):
            (x, y), (dx, dy) = tape.at(tape.length_mm * share)
            for beyond, there in ((2.5, True), (4.8, True), (5.2, False)):
                # A zone's inside lies on the left of its edges, so its neighbour on the right.
                point = shapely.Point(move.apply((x + dy * beyond, y - dx * beyond)))
                assert laid[lower, side].cut.contains(point) is there
                assert laid[upper, side].finished.contains(point)


def test_together_they_are_the_drawn_zones(plan, laid):
    drawn = shapely.union_all(
        [
            _moved(to_polygon(region.area, 0.001), move_of(plan, side))
            for zone in plan.ground.zones
            for region in zone.regions
            for side in SIDES
        ]
    )
    cut = shapely.union_all([one.finished for one in laid.values()])
    assert cut.symmetric_difference(drawn).area < APART_MM * drawn.length
    for (a, _), (b, _) in combinations(laid, 2):
        assert a == b or _overlap(laid, a, b) < APART_MM * drawn.length


def _overlap(laid, a, b):
    return max(laid[a, side].finished.intersection(laid[b, side].finished).area for side in SIDES)


def _moved(polygon, move):
    return shapely.transform(polygon, lambda x, y: move.apply((x, y)), interleaved=False)
