"""What to buy: spares, kit, stock, packs, what is left; cloth, glue and sheets."""

from __future__ import annotations

import math

import pytest
from counting_stones import stone

from templater.catalogue.sizes import find_size
from templater.counting import count
from templater.counting.materials import GLUE_MM, LAY_SHARE, cloth_lines, glue_ml, stencil_sheets
from templater.counting.work import stone_mass_g
from templater.geometry.polygons import rectangle
from templater.job.schema import Job
from templater.model.curves import IDENTITY, Area
from templater.model.ground import Side
from templater.model.parts import CutPart, HoleKind, Label, PartKind, Pass
from templater.model.stones import StoneKind

SIZES = {n: find_size(n) for n in ("ss20", "ss16", "ss12", "ss10", "ss6", "navette 10x5")}


def many(number, size="ss16", **more):
    mm = SIZES[size].length_mm
    return [stone((5.0 * i, 0.0), i + 1, size=size, mm=mm, **more) for i in range(number)]


def line_of(stones, **job):
    (line,) = count(stones, SIZES, Job(drawing="x.svg", **job))[0].shopping
    return line


@pytest.mark.parametrize(
    ("size", "placed", "spare", "kit"),
    [
        ("ss16", 100, 10, 5),
        ("ss16", 70, 7, 4),  # a tenth of 70 is 7, also in binary
        ("ss10", 100, 15, 5),
        ("ss12", 100, 10, 5),
        ("ss16", 1000, 100, 12),
        ("ss16", 1, 1, 2),
    ],
)
def test_spares_and_repair_kit(size, placed, spare, kit):
    line = line_of(many(placed, size))
    assert (line.count, line.spare, line.kit) == (placed, spare + kit, kit)


def test_whole_gross_stock_and_what_is_left():
    """288 bought of 144 each (a gross, as sold): 100 + 10 + 5 needed, 20 in stock."""
    line = line_of(many(300), stock={"ss16 Sea  Green plain": 20})
    assert (line.spare, line.stock) == (42, 20)
    assert line.gross == math.ceil((300 + 42 - 20) / 144) == 3
    assert line.left == 20 + 3 * 144 - 300 - 42


def test_packs_and_cost():
    prices = {"currency": "GBP", "ss16 sea green plain": {"per": 100, "price": 4.20}}
    line = line_of(many(300), prices=prices)
    assert (line.packs, line.pack_of, line.cost) == (4, 100, 16.80)
    assert line.left == 400 - 342


def test_enough_in_stock():
    line = line_of(many(10), stock={"ss16 sea green plain": 500})
    assert (line.gross, line.left) == (0, 500 - line.count - line.spare)


def test_substitutes_are_named():
    line = line_of(many(10), substitute={"ss16 mint plain": "ss16 sea green plain"})
    assert line.instead_of == ("ss16 mint plain",)


@pytest.mark.parametrize(
    ("size", "finish", "care"),
    [("ss16", "plain", ""), ("navette 10x5", "plain", "stitched"), ("ss16", "claw", "sewn")],
)
def test_what_needs_more_than_glue(size, finish, care):
    assert care in line_of(many(2, size, finish=finish)).care
    assert bool(care) == bool(line_of(many(2, size, finish=finish)).care)


def test_glue_by_volume_of_the_dots():
    """Ten dots 4 mm across and 0.25 mm thick: 10 · π/4 · 16 · 0.25 mm³, by hand 31.4."""
    dots = [stone((i, 0), i, mm=4.0) for i in range(1000)]
    assert GLUE_MM == 0.25
    assert glue_ml(dots) == pytest.approx(3.14, abs=0.05)


def part(width, height, fabric="mint mesh", *, kind=PartKind.APPLIQUE, grain=90.0, copies=1):
    area = Area(rectangle(0.0, 0.0, width, height))
    label = Label((), (0.0, 0.0), 2.5)
    return CutPart("id", kind, "front", "pod", 0, Side.LEFT, IDENTITY, area, area, (), label,
                   fabric, copies, False, grain)  # fmt: skip


def test_cloth_by_area_and_by_the_longest_part():
    lines = cloth_lines(
        [part(100, 200), part(100, 200, copies=3), part(50, 900, "velvet"),
         part(100, 200, "fusible web", kind=PartKind.WEB)],
        1000.0,
    )  # fmt: skip
    mesh, velvet, web = lines
    assert (mesh.parts, mesh.area_mm2, mesh.is_web) == (4, 80000.0, False)
    assert mesh.length_mm == max(200.0, round(80000 / (1000 * LAY_SHARE), 1))
    assert velvet.length_mm == velvet.longest_mm == 900.0
    assert (web.is_web, web.area_mm2) == (True, 20000.0)


def test_sheets_of_film_are_counted_apart():
    def one(name, method, kind=HoleKind.STENCIL):
        return Pass(name, kind, "pod", "front", Side.LEFT, ("ss16",), 1, 1, method, 1.0, 0.3,
                    (10, 10), IDENTITY, False, (), ())  # fmt: skip

    passes = [
        one("a", "hand"),
        one("b", "film"),
        one("c", "film"),
        one("d", "film", HoleKind.PUNCH),
    ]
    assert stencil_sheets(passes) == (3, 2)


def test_mass_against_a_hand_calculation():
    """A frustum 0.4 D high with a table half as wide: V = π·0.4 D³·(1 + 0.5 + 0.25)/12.

    At 2.5 g/cm³ (soda-lime; the crystal classes of EU Directive 69/493/EEC begin at 2.40) a gross
    of ss16 comes to 3.9 g, of ss20 to 6.9 g, of ss6 to 0.5 g, as the shared table of the trade has it.
    """
    for name, gross_g in (("ss16", 3.9), ("ss20", 6.9), ("ss6", 0.5), ("ss10", 1.4)):
        d = SIZES[name].length_mm
        by_hand = math.pi * 0.4 * d**3 * 1.75 / 12 * 2.5 / 1000
        assert stone_mass_g(d, d) == pytest.approx(by_hand)
        assert 144 * stone_mass_g(d, d) == pytest.approx(gross_g, rel=0.06)


def test_film_rows_go_at_the_rate_of_film():
    rows = {"spine": {"stone": "ss16", "method": "film"}}
    counts, _ = count(
        many(90, zone="spine", kind=StoneKind.ROW), SIZES, Job(drawing="x.svg", rows=rows)
    )
    assert counts.zones[0].minutes == 6.0
