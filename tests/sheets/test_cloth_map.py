"""The map of a cloth's lay: every part in its place, reduced, and what to buy."""

import itertools
from dataclasses import replace

import pytest
from shapely import Polygon, box

from templater.geometry.flatten import flatten
from templater.geometry.polygons import rectangle
from templater.model.curves import IDENTITY, Area, Transform
from templater.model.ground import Side
from templater.model.parts import PartKind
from templater.model.plan import ClothLine
from templater.model.sheets import Lettering, Stroke
from templater.sheets import cloth_maps, lay_cloth

FLIP = Transform(a=-1.0)


def job_of(made, width, *, folded=False, display="mm"):
    cloth = made.job.templates.cloth.model_copy(update={"width": width, "folded": folded})
    templates = made.job.templates.model_copy(update={"cloth": cloth})
    return made.job.model_copy(update={"templates": templates, "display": display})


def pairs(made, count):
    """So many mirrored pairs of 300 by 500 mm, one of them with a turned grain."""
    like = next(part for part in made.parts if part.kind is PartKind.APPLIQUE)
    return tuple(
        replace(
            like, id=f"{n}-{side}", zone=f"leaf {n}", side=side, to_side=move, fabric="mesh",
            cut=Area(rectangle(0.0, 0.0, 300.0, 500.0)), copies=1,
            grain_deg=90.0 if n else 70.0,
        )
        for n in range(count)
        for side, move in ((Side.LEFT, IDENTITY), (Side.RIGHT, FLIP))
    )  # fmt: skip


def mapped(parts, job):
    start = ClothLine("mesh", False, len(parts), 0.0, job.templates.cloth.width, 1.0, 0.0)
    cloths, problems = lay_cloth((start,), parts, job)
    assert not problems
    sheets, _ = cloth_maps(cloths, parts, job)
    return cloths[0], sheets


def layer(sheet, name):
    return next(each.items for each in sheet.layers if each.name == name)


def polygons(sheet):
    return [Polygon(flatten(item.path, 0.01)) for item in layer(sheet, "cut")]


def texts(sheet):
    return [i.text for each in sheet.layers for i in each.items if isinstance(i, Lettering)]


def test_the_parts_lie_on_the_map_as_on_the_cloth(fold_made):
    cloth, (sheet,) = mapped(pairs(fold_made, 2), job_of(fold_made, 900.0))
    scale = int(next(t for t in texts(sheet) if t.startswith("Lay on cloth")).split()[5])
    (outline,) = [i for i in layer(sheet, "cloth") if isinstance(i, Stroke) and i.path.closed]
    edges = Polygon(flatten(outline.path, 0.01))
    x0, y0, x1, y1 = edges.bounds
    assert (x1 - x0, y1 - y0) == pytest.approx((900.0 / scale, cloth.length_mm / scale))
    shapes = polygons(sheet)
    assert len(shapes) == 4
    for shape in shapes:
        assert shape.area == pytest.approx(300.0 * 500.0 / scale**2)
        assert edges.buffer(0.2 / scale).contains(shape)
    for a, b in itertools.combinations(shapes, 2):
        assert a.distance(b) >= 4.9 / scale
    page = box(0.0, 0.0, *sheet.size_mm)
    assert all(page.contains(shape) for shape in shapes)


def test_it_says_what_to_buy_and_names_every_part(fold_made):
    cloth, (sheet,) = mapped(pairs(fold_made, 2), job_of(fold_made, 900.0))
    said = texts(sheet)
    whole_cm = -(-cloth.length_mm // 10)
    assert f"{whole_cm:.0f} cm" in said
    assert "90 cm wide" in said
    assert any("NOT TRUE SIZE" in text and f"buy {whole_cm:.0f} cm" in text for text in said)
    for number, (n, side) in enumerate(itertools.product((0, 1), ("LEFT", "RIGHT")), start=1):
        assert f"{number} leaf {n} · WEARER’S {side}" in said
        assert str(number) in said
    _, (inches,) = mapped(pairs(fold_made, 2), job_of(fold_made, 900.0, display="in"))
    assert "35.4 in wide" in texts(inches)


def test_numbers_lie_on_their_parts(fold_made):
    _, (sheet,) = mapped(pairs(fold_made, 2), job_of(fold_made, 900.0))
    for shape, number in zip(polygons(sheet), layer(sheet, "names"), strict=True):
        x, y = number.at
        assert shape.contains(box(x - 1.0, y, x + 1.0, y + number.height_mm))


def test_doubled_cloth_shows_pairs_once_and_where_it_is_double(fold_made):
    parts = pairs(fold_made, 2)
    lone = replace(parts[0], id="lone", zone="lone", side=Side.CENTRE)
    cloth, (sheet,) = mapped((*parts, lone), job_of(fold_made, 1400.0, folded=True))
    assert [spot.doubled for spot in cloth.spots] == [True, True, False]
    assert 0.0 < cloth.doubled_mm < cloth.length_mm
    said = texts(sheet)
    assert "1 leaf 0 · BOTH, CUT DOUBLE" in said
    assert any("doubled" in text and "fold on the left" in text for text in said)
    assert len(polygons(sheet)) == 3


def test_the_demos_cloths_each_have_a_map_on_one_page(demo_pack):
    maps = sorted(path.name for path in (demo_pack / "print").glob("cloth-lay-*.pdf"))
    assert maps == [f"cloth-lay-{n}.pdf" for n in (1, 2, 3, 4)]
