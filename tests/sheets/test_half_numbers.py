"""A part with closed darts says on its sheet which half is which, and whose each register mark is."""

import math

from dart_drawings import box, grounded, with_dart

from templater.applique import make_parts
from templater.geometry.flatten import flatten
from templater.geometry.polygons import to_polygon
from templater.geometry.pose import inverse
from templater.job import load_job
from templater.model.curves import shift
from templater.model.parts import MarkKind, PartKind
from templater.model.sheets import Lettering
from templater.pipeline import make_plan
from templater.session import Session
from templater.sheets.cloth_marks import cloth_marks
from templater.sheets.part_drawing import draw_part

JOB = '[zones.band]\nweb = false\n[pieces.front]\nmake = "single"\n'
AWAY = (400.0, 70.0)


def drawn(job=JOB):
    ground, read, _ = grounded(with_dart(band=box(50, 10, 250, 85)), job)
    parts, _ = make_parts(ground, read)
    (part,) = [part for part in parts if part.kind is PartKind.APPLIQUE]
    drawing = draw_part(part, ground, shift(*AWAY))
    words = [each for each in dict(drawing.layers)["text"] if isinstance(each, Lettering)]
    return part, ground, drawing, [word for word in words if word.text.startswith("half ")]


def test_every_register_mark_says_of_which_half_it_is():
    part, _, drawing, words = drawn()
    marks = [mark for mark in part.marks if mark.kind is MarkKind.REGISTER]
    assert set(drawing.register) == {
        (round(m.at[0] + AWAY[0], 4), round(m.at[1] + AWAY[1], 4)) for m in marks
    }
    for at in drawing.register:
        word = min(words, key=lambda each: math.dist(each.at, at))
        assert math.dist(word.at, at) < 8.0
        half = part.halves[[h.region for h in part.halves].index(int(word.text[-1]))]
        own = [half.to_part.apply(m.drawn_at) for m in marks]
        assert min(math.dist((x + AWAY[0], y + AWAY[1]), at) for x, y in own) < 1e-3


def test_each_half_bears_its_number_once_beside_the_closed_dart():
    import shapely

    part, ground, drawing, words = drawn()
    cloth = to_polygon(part.cut, 0.01)
    inside = {
        word.text: shapely.Point(word.at[0] - AWAY[0], word.at[1] - AWAY[1])
        for word in words
        if cloth.contains(shapely.Point(word.at[0] - AWAY[0], word.at[1] - AWAY[1]))
    }
    assert len(words) == len(drawing.register) + 2
    assert set(inside) == {"half 1", "half 2"}
    for half in part.halves:
        region = to_polygon(ground.zone("band").regions[half.region - 1].area, 0.01)
        move = half.to_part
        laid = shapely.affinity.affine_transform(
            region, [move.a, move.c, move.b, move.d, move.e, move.f]
        )
        assert laid.contains(inside[f"half {half.region}"])


def test_a_part_whose_marks_are_its_own_numbers_no_halves():
    """An allowance of 20 mm reaches over the templates' frame."""
    _, _, _, words = drawn(JOB.replace("web = false", "web = false\nallowance = 20"))
    assert words == []


SVG = b"""<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="300mm" viewBox="0 0 300 300">
<g id="piece front"><path d="M10 10H290V290H10Z"/></g>
<g id="dart bust"><path d="M140 290L150 190L160 290"/></g>
<g id="zone band"><path d="M80 210H220V275H80Z"/></g>
</svg>"""
FILM = """drawing = "dart.svg"
[zones.band]
web = false
[stoning.band]
method = "film"
outline = { size = "ss16", gap = 0.8 }
fill = { style = "staggered", sizes = { ss20 = 1 }, gap = 2.0 }
"""


def test_film_is_laid_on_the_cut_cloth_half_by_half():
    """The bits of cut line on the film lie on the cloth's edge when it is laid on that half."""
    import shapely

    job, problems = load_job(FILM, "dart.toml")
    assert job is not None, problems
    plan = make_plan(Session(), SVG, "dart.svg", job, "hash")
    seen = set()
    for (_, _, side, _), marks in cloth_marks(plan.passes, plan.parts, plan.ground.zones).items():
        (part,) = [p for p in plan.parts if p.id == f"applique-band-{side.value}"]
        edge = to_polygon(part.cut, 0.0005).boundary
        for each in marks:
            half = next(h for h in part.halves if each.name == f"band half {h.region}")
            seen.add((side.value, half.region))
            back = inverse(part.to_side).then(half.to_part)
            for at, bit in zip(each.at, each.bits, strict=True):
                for point in (at, *flatten(bit, 0.01)):
                    assert edge.distance(shapely.Point(back.apply(point))) < 0.01
    assert seen == {(side, half) for side in ("left", "right") for half in (1, 2)}
    names = {one.template for one in plan.passes}
    templates = [sheet for sheet in plan.sheets if sheet.name in names]
    assert templates
    for sheet in templates:
        assert any(layer.name == "cloth" and layer.items for layer in sheet.layers)
